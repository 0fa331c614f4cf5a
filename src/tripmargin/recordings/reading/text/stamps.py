"""Date-time stamps, a column at a time: 2026-05-03T10:11:12.345, 12-Mar-2026 14:03, 10:11:12."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from math import nan

import numpy as np
from numpy.typing import NDArray

from tripmargin.recordings.reading.text.cells import PAD, Cells

Floats = NDArray[np.float64]
DAY = 86400.0
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
_NAMED = "|".join(f"{each[:3]}(?:{each[3:]})?" if each[3:] else each for each in _MONTHS)
_NAMED = _NAMED.replace("sep(?:tember)?", "sep(?:t(?:ember)?)?")
_DATE = (
    r"(?:(?P<year>\d{4})(?P<s1>[-/.])(?P<month>\d{1,2})(?P=s1)(?P<day>\d{1,2})"
    r"|(?P<first>\d{1,2})(?P<s2>[-/.])(?P<second_>\d{1,2})(?P=s2)(?P<late>\d{4}|\d{2})"
    rf"|(?P<nday>\d{{1,2}})\.?[-/ ]?(?P<nmonth>{_NAMED})\.?[-/, ] ?(?P<nyear>\d{{4}}|\d{{2}})"
    rf"|(?P<umonth>{_NAMED})\.?[-/ ](?P<uday>\d{{1,2}}),?[-/ ](?P<uyear>\d{{4}})"
    r"|(?P<cyear>\d{4})(?P<cmonth>\d{2})(?P<cday>\d{2})(?=[T ]))"
)
_CLOCK = (
    r"(?:(?P<hour>\d{1,2}):(?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,:](?P<part>\d{1,9}))?)?"
    r"|(?P<chour>\d{2})(?P<cminute>\d{2})(?P<csecond>\d{2})(?:[.,](?P<cpart>\d{1,9}))?)"
    r"(?:\s?(?P<half>[AaPp])\.?[Mm]\.?)?"
)
_ZONE = r"(?:\s?(?:Z|UTC|[+-]\d{2}:?\d{2}))?"
_HOW = re.ASCII | re.IGNORECASE
_WHOLE = re.compile(rf"{_DATE}[T ,;_-]?\s?{_CLOCK}{_ZONE}", _HOW)
_DATE_ALONE = re.compile(_DATE.replace("(?=[T ])", "") + r"(?:[T ]00:00:00(?:[.,]0+)?)?", _HOW)
_CLOCK_ALONE = re.compile(
    r"(?P<hour>\d{1,3}):(?P<minute>\d{2}):(?P<second>\d{2})(?:[.,:](?P<part>\d{1,9}))?"
    r"(?:\s?(?P<half>[AaPp])\.?[Mm]\.?)?|(?P<m>\d{1,3}):(?P<s>\d{2})[.,](?P<p>\d{1,9})",
    re.ASCII,
)
_SHORT = {month[:3]: number for number, month in enumerate(_MONTHS, start=1)}
_FORMS = {"stamp": _WHOLE, "date": _DATE_ALONE, "clock": _CLOCK_ALONE}


def form_of(text: str) -> str | None:
    """Which form a cell has: "stamp", "date", "clock", or None for none of them.

    >>> [form_of(each) for each in ("2026-05-03T10:11:12.5", "03.05.2026", "10:11:12", "12.5")]
    ['stamp', 'date', 'clock', None]
    """
    found = (name for name, form in _FORMS.items() if form.fullmatch(text.strip()))
    return next(found, None)


def may_be_stamp(text: str) -> bool:
    """Whether a cell begins as a stamp may: with a figure, or with the name of a month."""
    return text[:1].isdigit() or text[:3].lower() in _SHORT


def names_month(line: str) -> bool:
    """Whether one of a line's words is the name of a month."""
    return any(word[:3].lower() in _SHORT and word.isalpha() for word in line.split())


def date_order(first: str, last: str) -> str | None:
    """Whether 3/5/2026 has the day first, from a recording's first and last stamp.

    None where a stamp does not leave it open. Where both would do, the shorter recording wins.
    """
    spans = {}
    for order in ("day first", "month first"):
        ends = [seconds_of(each, order) for each in (first, last)]
        if ends[0] == ends[0] and ends[1] == ends[1]:
            spans[order] = abs(ends[1] - ends[0])
    if seconds_of(first, "day first") == seconds_of(first, "month first") and len(spans) == 2:
        matched = _matched(first)
        if matched is None or matched.groupdict().get("first") is None:
            return None
    return min(spans, key=lambda each: spans[each]) if spans else None


def seconds_of(text: str, order: str = "day first") -> float:
    """One stamp, s since 1970-01-01 without regard to zones, or s of the day; nan where it is none.

    >>> seconds_of("01.01.1970 00:00:01,5"), seconds_of("00:01:00")
    (1.5, 60.0)
    """
    matched = _matched(text.strip())
    if matched is None:
        return nan
    return _days(matched, order) * DAY + _seconds(matched)


def _matched(text: str) -> re.Match[str] | None:
    found = (form.fullmatch(text) for form in _FORMS.values())
    return next((each for each in found if each), None)


def _days(matched: re.Match[str], order: str) -> float:
    got = matched.groupdict()
    if got.get("year") or got.get("cyear"):
        parts = [got.get(n) or got.get(f"c{n}") for n in ("year", "month", "day")]
    elif got.get("nmonth") or got.get("umonth"):
        day, month, year = (got.get(f"n{n}") or got.get(f"u{n}") for n in ("day", "month", "year"))
        year = f"20{year}" if len(year or "") == 2 else year
        parts = [year, str(_SHORT[str(month)[:3].lower()]), day]
    elif got.get("late"):
        day, month = (got["first"], got["second_"])
        if order == "month first":
            day, month = month, day
        year = got["late"] if len(got["late"]) == 4 else f"20{got['late']}"
        parts = [year, month, day]
    else:
        return 0.0
    try:
        return float(date(*(int(each or 0) for each in parts)).toordinal() - _EPOCH)
    except ValueError:
        return nan


_EPOCH = date(1970, 1, 1).toordinal()


def _seconds(matched: re.Match[str]) -> float:
    got = matched.groupdict()
    if got.get("m"):
        return int(got["m"]) * 60 + int(got["s"]) + float(f"0.{got['p']}")
    hour, minute, second = (got.get(n) or got.get(f"c{n}") for n in ("hour", "minute", "second"))
    if hour is None or minute is None:
        return 0.0
    hours = int(hour)
    if got.get("half"):
        hours = hours % 12 + (12 if got["half"] in "pP" else 0)
    if int(minute) > 59 or int(second or 0) > 60:
        return nan
    part = got.get("part") or got.get("cpart") or "0"
    return hours * 3600 + int(minute) * 60 + int(second or 0) + float(f"0.{part}")


@dataclass(frozen=True)
class _Template:
    """Where the figures stand in stamps of one width, learned from one of them."""

    origin: float  # of the first stamp, without the clock: s
    clock: tuple[tuple[int, int, float], ...]  # begin, end, s a unit
    fixed: NDArray[np.intp]  # letters that are alike in all


def stamps_of(cells: Cells, column: int, order: str, origin: float) -> Floats:
    """A column of stamps, s from `origin` (s since 1970, or of the day); nan where there is none.

    Whole seconds are taken from the origin before the parts are added, so that no microsecond is
    lost in the size of the number.
    """
    starts, ends = cells.starts[:, column], cells.ends[:, column]
    made = np.full(len(starts), nan)
    widths = ends - starts
    for width in np.unique(widths):
        rows = np.flatnonzero(widths == width)
        if width == 0:
            continue
        places = PAD + starts[rows][:, None] + np.arange(width)
        _alike(cells.letters[places], rows, made, order, origin)
    return made


def _alike(letters: NDArray[np.uint8], rows: NDArray[np.intp], made: Floats, order: str,
           origin: float) -> None:  # fmt: skip
    """Stamps of one width: those of one day are read at once, the first of each day by itself."""
    left = np.arange(len(rows))
    for _ in range(64):  # days in a piece; what is left then is read one by one
        if not len(left):
            return
        text = letters[left[0]].tobytes().decode("utf-8", "replace")
        matched = _matched(text)
        if matched is None:
            left = left[1:]
            continue
        template = _template(matched, order, letters.shape[1])
        same = (letters[left][:, template.fixed] == letters[left[0], template.fixed]).all(axis=1)
        chosen = letters[left[same]]
        value = np.full(len(chosen), template.origin - np.floor(origin))
        good = np.ones(len(chosen), np.bool_)
        fraction = np.zeros(len(chosen))
        for begin, end, unit in template.clock:
            figures = chosen[:, begin:end].astype(np.int64) - 48
            good &= ((figures >= 0) & (figures <= 9)).all(axis=1)
            number = figures @ (10 ** np.arange(end - begin - 1, -1, -1))
            if unit >= 1:
                value += number * unit
                good &= (number < 61) | (unit == 3600.0)
            else:
                fraction = number / round(1 / unit)
        value += fraction - (origin - np.floor(origin))
        # Nanoseconds are the finest that a stamp has; what lies below is the arithmetic's.
        made[rows[left[same]]] = np.where(good, value.round(9), nan)
        left = left[~same]
    for each in left:
        text = letters[each].tobytes().decode("utf-8", "replace")
        made[rows[each]] = seconds_of(text, order) - origin


def _template(matched: re.Match[str], order: str, width: int) -> _Template:
    spans = []
    half = matched.groupdict().get("half")
    units = {"hour": 3600.0, "minute": 60.0, "second": 1.0}
    for name, unit in [*units.items(), *((f"c{n}", u) for n, u in units.items())]:
        if name in matched.groupdict() and matched[name] and not (half and "hour" in name):
            spans.append((*matched.span(name), unit))
    for name, unit in (("m", 60.0), ("s", 1.0)):
        if name in matched.groupdict() and matched[name]:
            spans.append((*matched.span(name), unit))
    for name in ("part", "cpart", "p"):
        if name in matched.groupdict() and matched[name]:
            spans.append((*matched.span(name), 10.0 ** -len(matched[name])))
    moving = {place for begin, end, _ in spans for place in range(begin, end)}
    fixed = np.array([place for place in range(width) if place not in moving], np.intp)
    origin = _days(matched, order) * DAY
    if half:  # the hour stays among the letters that are alike
        hour = int(matched["hour"]) % 12 + (12 if half in "pP" else 0)
        origin += hour * 3600.0
    return _Template(origin, tuple(spans), fixed)
