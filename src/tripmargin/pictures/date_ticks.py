"""Dates under a plot: years, months or days, as many as there is room for."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import pairwise

from tripmargin.pictures.axes import Scale
from tripmargin.pictures.svg import text_width

DAY = 86400.0  # s
_LENGTH = {"day": DAY, "month": 30 * DAY, "year": 365 * DAY}
_FORMATS = {"day": "%m-%d", "month": "%Y-%m", "year": "%Y"}
_STEPS = (
    *(("day", step) for step in (1, 2, 7, 14)),
    *(("month", step) for step in (1, 2, 3, 6)),
    *(("year", step) for step in (1, 2, 5, 10, 50)),
)
_MOST = 40  # on any picture


def date_ticks(across: Scale, size: float) -> list[tuple[float, str]]:
    """Places and texts of the dates on a time scale, s since 1970, for letters of a size, px.

    A day stands at its noon, a month and a year at their beginning: so a value lies within half a
    day of the day that it is of.

    >>> [text for _, text in date_ticks(Scale(0.0, 400 * DAY, 40.0, 400.0), 11.0)]
    ['1970-01', '1970-03', '1970-05', '1970-07', '1970-09', '1970-11', '1971-01']
    """
    for kind, step in _STEPS:
        if (across.high - across.low) / (_LENGTH[kind] * step) > _MOST:
            continue
        found = [
            (across.at(moment.timestamp()), f"{moment:{_FORMATS[kind]}}")
            for moment in _moments(across.low, across.high, kind, step)
        ]
        half = max((text_width(text, size) for _, text in found), default=0.0) / 2
        found = [tick for tick in found if tick[0] + half <= across.end + 8]
        if found and all(b[0] - a[0] >= 2.5 * half for a, b in pairwise(found)):
            return found
    middle = (across.low + across.high) / 2
    return [(across.at(middle), f"{datetime.fromtimestamp(middle, UTC):%Y-%m-%d}")]


def _moments(low: float, high: float, kind: str, step: int) -> Iterator[datetime]:
    start, end = (datetime.fromtimestamp(edge, UTC) for edge in (low, high))
    if kind == "day":
        day = datetime(start.year, start.month, start.day, tzinfo=UTC)
        # The same days are marked whatever day a series begins on.
        day += timedelta(days=-day.toordinal() % step)
        while (noon := day + timedelta(hours=12)) <= end:
            if noon >= start:
                yield noon
            day += timedelta(days=step)
        return
    months = step * (12 if kind == "year" else 1)
    month = -(-(start.year * 12 + start.month - 1) // months) * months
    while (moment := datetime(month // 12, month % 12 + 1, 1, tzinfo=UTC)) <= end:
        if moment >= start:
            yield moment
        month += months
