"""Names and units as headers write them, and which column is the time."""

from __future__ import annotations

import re
from dataclasses import dataclass

TIME_UNITS = {
    "s": 1.0, "sec": 1.0, "secs": 1.0, "second": 1.0, "seconds": 1.0, "sek": 1.0, "sekunden": 1.0,
    "ms": 1e-3, "msec": 1e-3, "millisecond": 1e-3, "milliseconds": 1e-3, "millisekunden": 1e-3,
    "us": 1e-6, "µs": 1e-6, "μs": 1e-6, "usec": 1e-6, "microseconds": 1e-6, "mikrosekunden": 1e-6,
    "ns": 1e-9, "nsec": 1e-9, "nanoseconds": 1e-9,
    "min": 60.0, "mins": 60.0, "minutes": 60.0, "minuten": 60.0,
    "h": 3600.0, "hr": 3600.0, "hrs": 3600.0, "hours": 3600.0, "std": 3600.0,
    "d": 86400.0, "days": 86400.0,
}  # fmt: skip
_OTHER_UNITS = (
    "v", "mv", "uv", "µv", "kv", "volt", "volts", "a", "ma", "ua", "µa", "ampere", "amp", "amps",
    "w", "kw", "ohm", "kohm", "mohm", "Ω", "hz", "khz", "mhz", "rpm", "1/min", "u/min", "min-1",
    "1/s", "g", "m/s", "m/s2", "m/s²", "m/s^2", "km/h", "mph", "mm", "cm", "m", "in", "inch",
    "ft", "ft/s", "ft/min", "um", "µm", "deg", "°", "rad", "°c", "degc", "c", "°f", "degf", "f",
    "k", "bar", "mbar", "pa", "kpa", "mpa", "psi", "n", "kn", "nm", "lbf", "%", "t", "mt", "ut",
    "µt", "gauss", "db", "dba", "db(a)", "pc", "counts", "count", "digit", "lsb", "bit", "raw",
    "n/a", "-", "--", "bool", "l", "l/min", "l/h", "kg", "lb",
)  # fmt: skip
UNITS = frozenset((*_OTHER_UNITS, *TIME_UNITS))
_TIME_NAMES = (
    "time", "times", "t", "timestamp", "timestamps", "datetime", "zeit", "zeitstempel",
    "zeitpunkt", "uhrzeit", "messzeit", "temps", "tiempo", "tempo", "tid", "tijd", "aika", "czas",
    "elapsed", "elapsed_time", "abs_time", "abstime", "abszeit", "rel_time", "relative_time",
    "sampletime", "sample_time", "date", "datum", "date_time", "datetime_utc", "seconds", "secs",
    "milliseconds", "millis", "micros", "t_rel", "t_abs", "time_s", "time_ms", "time_us",
)  # fmt: skip
_COUNT_NAMES = (
    "n", "no", "nr", "#", "index", "idx", "sample", "samples", "row", "line", "count", "counter",
    "id",
)  # fmt: skip
_BRACKETS = re.compile(r"(?P<name>.*?)\s*[\[(<{](?P<unit>[^\[\](){}<>]*)[\])>}]\s*")


@dataclass(frozen=True)
class Named:
    """A column's name and unit; "" for what is not said."""

    name: str
    unit: str = ""


def named(text: str) -> Named:
    """Name and unit in one heading.

    >>> named("Trip [V]"), named("Zeit (ms)"), named("t/s"), named("U in mV"), named("Lamp")
    (Named(name='Trip', unit='V'), Named(name='Zeit', unit='ms'), Named(name='t', unit='s'), \
Named(name='U', unit='mV'), Named(name='Lamp', unit=''))
    """
    text = text.strip().strip("\"'").strip()
    if found := _BRACKETS.fullmatch(text):
        return Named(found["name"].strip() or text, found["unit"].strip())
    for sign in (" / ", "/", " in ", ", ", ",", "_", " "):
        name, _, unit = text.rpartition(sign)
        strict = sign in ("_", " ")
        if name and is_unit(unit) and (not strict or unit in _SURE):
            return Named(name.strip(), unit.strip())
    return Named(text)


_SURE = ("ms", "us", "µs", "mV", "V", "mA", "Hz", "kHz", "rpm")


def is_unit(text: str) -> bool:
    """Whether a text is a unit by itself, in brackets or not.

    >>> is_unit("[ms]"), is_unit("V"), is_unit("Trip")
    (True, True, False)
    """
    bare = text.strip().strip("\"'").strip()
    if bare[:1] in "[(<{" and bare[-1:] in "])>}" and len(bare) > 1:
        return len(bare) < 16
    return bare.lower() in UNITS


_BASES = ("V", "A", "Hz", "W", "m", "s", "g", "Pa", "ohm", "Ω", "T", "N", "bar")
_PREFIXES = {"": 1.0, "k": 1e3, "M": 1e6, "m": 1e-3, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "n": 1e-9}
_NO_CELL = ("-", "--", "n/a", "raw", "k", "t", "c", "f", "d", "n", "bool")


def cell_unit(text: str) -> bool:
    """Whether a word behind a number in its cell is surely its unit.

    >>> cell_unit("V"), cell_unit("mV"), cell_unit("k"), cell_unit("volts or so")
    (True, True, False, False)
    """
    return text.lower() in UNITS and text.lower() not in _NO_CELL


def unit_factor(unit: str, wanted: str) -> float | None:
    """By what a number in one unit is multiplied to be in another; None where that is not known.

    >>> unit_factor("mV", "V"), unit_factor("V", "V"), unit_factor("min", "in")
    (0.001, 1.0, None)
    """
    if unit == wanted:
        return 1.0
    ends = [
        {base: factor for base in _BASES for prefix, factor in _PREFIXES.items()
         if each == prefix + base}
        for each in (unit, wanted)
    ]  # fmt: skip
    return next((ends[0][base] / ends[1][base] for base in ends[0] if base in ends[1]), None)


def bare_unit(text: str) -> str:
    """A unit without its brackets."""
    return text.strip().strip("\"'").strip().strip("[](){}<>").strip()


def time_unit(unit: str) -> float | None:
    """Seconds in a unit of time, None where it is none."""
    return TIME_UNITS.get(unit.strip().lower())


def names_time(name: str) -> bool:
    """Whether a name means time in one of the languages that loggers speak."""
    word = re.sub(r"[^\w#]+", "_", name.strip().lower()).strip("_")
    return word in _TIME_NAMES or any(
        word.startswith(each) for each in ("time_", "zeit_", "timestamp_", "time0", "t_")
    )


def names_count(name: str) -> bool:
    """Whether a name means a running number."""
    return name.strip().lower().rstrip(".") in _COUNT_NAMES
