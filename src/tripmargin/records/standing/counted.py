"""Shares and rates over time: checks that tripped, trips and false trips."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import pairwise

from tripmargin.ground.languages import later, say
from tripmargin.records.standing.exposure import Exposure
from tripmargin.records.standing.log_rows import Log
from tripmargin.records.statistics import Interval, Rate, Share, rate_interval, share_interval

LATELY_CHECKS = 30
LATELY = 30 * 86400.0  # s
MOST_BINS = 24


@dataclass(frozen=True, slots=True)
class Bin:
    """A stretch of time with its estimate; `seen` of `tried` (checks, or s of exposure).

    From `start` to `end`, s since 1970, something was watched; of a month that has just begun, or
    in which the log begins, that is not all of it.
    """

    start: float
    end: float
    seen: int
    tried: float
    interval: Interval

    @property
    def middle(self) -> float:
        """The middle of what was watched, s since 1970."""
        return (self.start + self.end) / 2


@dataclass(frozen=True, slots=True)
class Counted:
    """A share or a rate.

    Attributes
    ----------
    key : "tripped", "trips" or "false trips"
    seen : int
    tried : float
        Checks, or exposure, s.
    interval : Interval
        Over all; of a rate: per s.
    bins : tuple of Bin
        By calendar months, several together where there are many.
    since : float or None, s since 1970
    lately : Share or Rate or None
        For the signs; None where there is nothing to compare.
    notes : tuple of str
    """

    key: str
    seen: int
    tried: float
    interval: Interval
    bins: tuple[Bin, ...]
    since: float | None
    lately: Share | Rate | None
    notes: tuple[str, ...] = field(default=())


def tripped_share(log: Log) -> Counted:
    """Share of daily checks that tripped, over all and by month.

    Lately are the last 30 checks against all before them; with fewer than 60, the later half.
    """
    checks = [(row.time, row.values.get("tripped") is True) for row in log.of("daily check")]
    bins = []
    times = [time for time, _ in checks]
    for start, end in months(times[0], times[-1]) if checks else ():
        within = checks[bisect_left(times, start) : bisect_left(times, end)]
        if within:
            inside = [tripped for _, tripped in within]
            interval = share_interval(sum(inside), len(inside))
            first, last = within[0][0], within[-1][0]
            bins.append(Bin(first, last, sum(inside), len(inside), interval))
    all_of = [tripped for _, tripped in checks]
    cut = len(all_of) - min(LATELY_CHECKS, len(all_of) // 2)
    before, after = all_of[:cut], all_of[cut:]
    lately = (
        Share("daily check", (sum(before), len(before)), (sum(after), len(after)), "check")
        if after
        else None
    )
    return Counted(
        "tripped", sum(all_of), len(all_of), share_interval(sum(all_of), len(all_of)),
        tuple(bins), checks[0][0] if checks else None, lately,
    )  # fmt: skip


_OUTSIDE = {
    "trip": later(
        "Trips: {outside} of {count} came outside the first and last reading of the hour meter and"
        " are not counted."
    ),
    "false trip": later(
        "False trips: {outside} of {count} came outside the first and last reading of the hour"
        " meter and are not counted."
    ),
}


def event_rate(log: Log, exposure: Exposure, kind: str, now: float) -> Counted:
    """Events of one kind by running hours, or by days of the calendar.

    Events before the first and after the last reading of the meter are not counted, for how long
    the machine ran then is not known.
    """
    all_times = [row.time for row in log.of(kind)]
    times = exposure.watched(all_times)
    bins = []
    if exposure.total > 0:
        for start, end in months(exposure.times[0], exposure.times[-1]):
            ran = exposure.between(start, end)
            inside = sum(start <= time < end for time in times)
            first, last = max(start, exposure.times[0]), min(end, exposure.times[-1])
            if ran > 0:
                bins.append(Bin(first, last, inside, ran, rate_interval(inside, ran)))
    notes = list(exposure.notes)
    if len(times) < len(all_times):
        notes.append(
            say(
                _OUTSIDE[kind],
                outside=len(all_times) - len(times),
                count=len(all_times),
            )
        )
    total = exposure.total
    # Several events at the ends of a log of one moment have no exposure: nothing can be said.
    seen = len(times) if total > 0 else 0
    return Counted(
        f"{kind}s",
        seen,
        total,
        rate_interval(seen, total),
        tuple(bins),
        exposure.times[0] if exposure.times else None,
        _lately(times, exposure, kind, now),
        tuple(notes),
    )


def _lately(times: Sequence[float], exposure: Exposure, kind: str, now: float) -> Rate | None:
    if not exposure.times:
        return None
    first, last = exposure.times[0], exposure.times[-1]
    cut = max(first, min(now, last) - LATELY)
    before, after = exposure.between(first, cut), exposure.between(cut, last)
    if before <= 0 or after <= 0:
        return None
    old = sum(time < cut for time in times)
    return Rate(f"{kind}s", (old, before), (len(times) - old, after), kind)


def months(first: float, last: float) -> list[tuple[float, float]]:
    """Stretches of one or more whole months, UTC, that hold two times; at most 24.

    >>> len(months(0.0, 86400.0 * 200)), len(months(0.0, 86400.0 * 3000))
    (7, 17)
    """
    start = datetime.fromtimestamp(first, UTC)
    count = (
        (end := datetime.fromtimestamp(last, UTC)).year * 12 + end.month
        - start.year * 12 - start.month + 1
    )  # fmt: skip
    step = next(s for s in (1, 2, 3, 6, 12, 24, 60, 120, 1200) if count <= MOST_BINS * s)
    step = step if count > MOST_BINS else 1
    month = start.year * 12 + start.month - 1
    month -= month % step
    edges = [month]
    while edges[-1] <= end.year * 12 + end.month - 1:
        edges.append(edges[-1] + step)
    stamps = [datetime(edge // 12, edge % 12 + 1, 1, tzinfo=UTC).timestamp() for edge in edges]
    return list(pairwise(stamps))
