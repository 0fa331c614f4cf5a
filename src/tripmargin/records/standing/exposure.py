"""How long a machine was watched: hours of its meter, or else days of the calendar."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from tripmargin.ground.languages import say, say_many
from tripmargin.records.standing.log_rows import Log

HOUR, DAY = 3600.0, 86400.0  # s


@dataclass(frozen=True, slots=True)
class Exposure:
    """The clock by which events are counted.

    Attributes
    ----------
    times : tuple of float, s since 1970
    clock : tuple of float, s
        Running hours, or the calendar, at these times; never falling.
    by_meter : bool
        Whether it is the hour meter.
    notes : tuple of str
    """

    times: tuple[float, ...]
    clock: tuple[float, ...]
    by_meter: bool
    notes: tuple[str, ...] = ()

    @property
    def unit(self) -> tuple[str, float]:
        """What a rate is told by: its name, and how many s it is."""
        return ("running hour", HOUR) if self.by_meter else ("day", DAY)

    @property
    def total(self) -> float:
        """From the first to the last time, s by this clock."""
        return self.clock[-1] - self.clock[0] if self.clock else 0.0

    def at(self, time: float) -> float:
        """The clock at a time, s; even between two readings, still before and after them."""
        if not self.times:
            return 0.0
        place = bisect_right(self.times, time)
        if place == 0:
            return self.clock[0]
        if place == len(self.times):
            return self.clock[-1]
        t0, t1 = self.times[place - 1 : place + 1]
        c0, c1 = self.clock[place - 1 : place + 1]
        return c0 + (c1 - c0) * (time - t0) / (t1 - t0)

    def between(self, start: float, end: float) -> float:
        """How long was watched between two times, s by this clock."""
        return max(0.0, self.at(end) - self.at(start))

    def watched(self, times: Sequence[float]) -> list[float]:
        """Those of some times, in order, that fall within what was watched."""
        if not self.times:
            return []
        first = bisect_left(times, self.times[0])
        return list(times[first : bisect_right(times, self.times[-1])])


def exposure_of(log: Log) -> Exposure:
    """The hour meter's readings as a clock; without two of them, the calendar.

    A reading below the one before it starts the count anew from there: the meter was changed, or
    one of the two is a slip. What ran in between is not known and not counted.
    """
    readings = [
        (row.time, float(row.values["hours_s"])) for row in log.rows if "hours_s" in row.values
    ]
    times: list[float] = []
    clock: list[float] = []
    backwards = 0
    for (time, hours), before in zip(readings, [None, *readings], strict=False):
        gained = 0.0 if before is None else hours - before[1]
        backwards += gained < 0
        if times and time == times[-1]:
            clock[-1] += max(gained, 0.0)
            continue
        times.append(time)
        clock.append((clock[-1] if clock else 0.0) + max(gained, 0.0))
    note = say_many(
        "The hour meter went backwards once; the hours over that step are not counted.",
        "The hour meter went backwards {count} times; the hours over those steps are not counted.",
        backwards,
    )
    went_back = (note,) if backwards else ()
    if len(times) >= 2 and clock[-1] > 0:
        return Exposure(tuple(times), tuple(clock), True, went_back)
    all_times = [row.time for row in log.rows]
    said = (*went_back, _why_by_calendar(len(readings)))
    if not all_times or all_times[0] == all_times[-1]:
        return Exposure((), (), False, said)
    ends = (all_times[0], all_times[-1])
    return Exposure(ends, (0.0, ends[1] - ends[0]), False, said)


def _why_by_calendar(readings: int) -> str:
    """Why the hour meter is no clock here."""
    if not readings:
        return say(
            "No hour-meter readings yet: counted by days of the calendar, idle ones as well."
        )
    if readings == 1:
        return say(
            "Only one hour-meter reading yet: counted by days of the calendar, idle ones as well."
        )
    return say(
        "The hour-meter readings show no hours gained: counted by days of the calendar, idle ones"
        " as well."
    )
