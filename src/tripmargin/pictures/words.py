"""Numbers and plain words for pictures: lengths, times, chances."""

from __future__ import annotations

from math import isfinite

from tripmargin.ground.languages import later, numeral, say, say_as
from tripmargin.ground.units import percent
from tripmargin.pictures.axes import INCH

NEVER = later("never")
MACHINE_NOT_PEOPLE = later("This protects the machine, not people.")
SAFETY = later(
    "This protects the machine, not people."
    " The operator's manual, local codes and licensed practice come first."
)


def said(words: str) -> str:
    """A word or a sentence that is kept in English until it is shown; a person's own as it is."""
    return say(words) if words else ""


def length_unit(us: bool) -> tuple[str, float]:
    """Name of the unit that lengths are shown in, and how many metres it is."""
    return (say_as("unit", "in"), INCH) if us else ("mm", 1e-3)


def plain_number(value: float, digits: int = 3) -> str:
    """A number without an exponent, to a few significant digits.

    >>> plain_number(12.345), plain_number(1234.5), plain_number(0.05), plain_number(20.0)
    ('12.3', '1234', '0.05', '20')
    """
    if not isfinite(value):
        return say_as("number", "none")
    rounded = float(f"{value:.{digits}g}") if abs(value) < 10**digits else float(round(value))
    if abs(rounded) < 1e-9:
        return "0"
    behind = len(f"{rounded:.9f}".rstrip("0").partition(".")[2])
    text = numeral(rounded, f".{behind}f")
    return text.replace("-", "\N{MINUS SIGN}")


def length(value: float, us: bool, digits: int = 3) -> str:
    """A length in m, as shown, with its unit.

    >>> length(0.0163, False), length(0.0254, True)
    ('16.3 mm', '1 in')
    """
    name, unit = length_unit(us)
    return f"{plain_number(value / unit, digits)} {name}"


def time_ms(value: float) -> str:
    """A time in s, as shown, without its unit; "never" for what does not come about.

    >>> time_ms(0.00652), time_ms(float("inf"))
    ('6.5', 'never')
    """
    if not isfinite(value):
        return say(NEVER)
    return plain_number(value * 1e3, 2 if abs(value) < 0.01 else 3)


def in_ms(value: float) -> str:
    """A time in s, as shown, with its unit.

    >>> in_ms(0.00652), in_ms(float("inf"))
    ('6.5 ms', 'never')
    """
    return f"{time_ms(value)} ms" if isfinite(value) else say(NEVER)


def measured_ms(value: float, low: float, high: float) -> tuple[str, str, str]:
    """A measured time and the ends of its interval, s, each no finer than the interval deserves.

    Two figures of half the interval's width count (JCGM 100:2008, 7.2.6), and no more than one
    behind the point.

    >>> measured_ms(0.07371, 0.04459, 0.07618), measured_ms(0.06011, 0.05914, 0.06059)
    (('74 ms', '45 ms', '76 ms'), ('60.1 ms', '59.1 ms', '60.6 ms'))
    """
    half = 1e3 * (high - low) / 2
    behind = 0 if half >= 10 else 1
    first, *ends = (f"{numeral(1e3 * one, f'.{behind}f')} ms" for one in (value, low, high))
    return first, ends[0], ends[1]


def speed(value: float, us: bool) -> str:
    """A speed in m/s, as shown, with its unit.

    >>> speed(1.7, False), speed(1.7, True)
    ('1.7 m/s', '335 ft/min')
    """
    return f"{plain_number(value / 0.3048 * 60)} ft/min" if us else f"{plain_number(value)} m/s"


def chance(value: float) -> str:
    """A probability in words: per cent while it can be pictured, one in so many below that.

    >>> chance(0.25), chance(3e-4), chance(0.0), chance(0.9999)
    ('25 %', '1 in 3300', 'less than 1 in a thousand million', '99.99 %')
    """
    if value < 1e-9:
        return say("less than 1 in a thousand million")
    if value >= 1:
        return say("certain")
    if value >= 0.01:
        return percent(value)
    return say("1 in {count}", count=plain_number(float(f"{1 / value:.2g}"), 12))


def assumed_words(assumed: tuple[str, ...], most: int = 6) -> str:
    """The fields that were assumed, in one sentence; empty when all were given.

    >>> assumed_words(("feed.slip",))
    'Assumed, as the machine file does not say: feed.slip.'
    """
    if not assumed:
        return ""
    fields = ", ".join(map(said, assumed[:most]))
    if len(assumed) <= most:
        return say("Assumed, as the machine file does not say: {fields}.", fields=fields)
    return say(
        "Assumed, as the machine file does not say: {fields} and {more} more.",
        fields=fields,
        more=len(assumed) - most,
    )
