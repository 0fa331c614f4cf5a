"""The figures of a machine's drift as a person reads them: value, interval, where it is from."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, isinf

from tripmargin.ground.units import percent, shown
from tripmargin.records.standing.counted import Counted
from tripmargin.records.standing.demand import Demand
from tripmargin.records.standing.drift import Drifting
from tripmargin.records.standing.exposure import DAY, HOUR, Exposure
from tripmargin.records.standing.measured import Measured
from tripmargin.records.statistics import Crossing, Interval

NOT_KNOWN = "not known yet"
MONTH, TEN_YEARS = 30 * DAY, 3652.5 * DAY


def plain(value: float) -> str:
    """A number to four digits, never as a power of ten.

    >>> plain(11112.3), plain(12.34567), plain(0.5)
    ('11112', '12.35', '0.5')
    """
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def counted(number: float, thing: str) -> str:
    """So many of a thing: "1 check", "2 checks"."""
    return f"{number:.0f} {thing}{'' if number == 1 else 's'}"


@dataclass(frozen=True, slots=True)
class Told:
    """One figure in words: its name, value with unit, interval, source, what is assumed."""

    name: str
    value: str
    interval: str
    source: str
    notes: tuple[str, ...] = ()


def figures(of: Drifting, us: bool = False) -> tuple[Told, ...]:
    """Every figure of a machine's drift."""
    return (
        share_told(of.checks),
        rate_told(of.trips, of.exposure, "Trips"),
        rate_told(of.false_trips, of.exposure, "False trips"),
        *(measured_told(one, us) for one in of.measured),
        demand_told(of.demand),
    )


def share_told(of: Counted) -> Told:
    """The share of checks that tripped."""
    name = "Daily checks that tripped"
    if of.since is None:
        return Told(name, NOT_KNOWN, "", "No daily check has been entered.")
    source = f"from {counted(of.tried, 'check')} since {_day(of.since)}, {of.seen} tripped"
    assert of.interval.value is not None
    return Told(name, percent(of.interval.value), share_words(of.interval), source)


def rate_told(of: Counted, exposure: Exposure, name: str) -> Told:
    """A rate by running hours or days."""
    if of.since is None or of.interval.value is None:
        return Told(name, NOT_KNOWN, "", "Nothing was watched yet.", of.notes)
    unit, size = exposure.unit
    ran = f"{plain(of.tried / size)} {unit}s"
    return Told(
        name, f"{_number(of.interval.value * size)} per {unit}",
        rate_words(of.interval, size, unit),
        f"from {of.seen} {name.lower()} in {ran} since {_day(of.since)}",
        of.notes,
    )  # fmt: skip


def measured_told(of: Measured, us: bool = False) -> Told:
    """A measured quantity: the line through it now, or else its last value."""
    name = of.name.removeprefix("the ")
    name = name[:1].upper() + name[1:]
    if not of.values:
        return Told(name, NOT_KNOWN, "", "Nothing was entered yet.", of.notes)
    source = f"{of.source}, since {_day(of.times[0])}"
    now = of.trend.value_now
    if now is not None and now.value is not None:
        low, high = (shown(v, of.dimension, us=us, digits=3) for v in (now.low, now.high))
        interval = f"{percent(now.confidence)} interval of the line: {low} to {high}"
        value = shown(now.value, of.dimension, us=us, digits=3)
        newest = f"the line through the newest {of.trend.count} values"
        return Told(name, value, interval, f"{newest}, {source}", of.notes)
    last, sd = of.values[-1], of.sds[-1]
    low, high = (shown(last + k * sd, of.dimension, us=us, digits=3) for k in (-1.96, 1.96))
    interval = f"95 % by the measuring uncertainty alone: {low} to {high}"
    value = shown(last, of.dimension, us=us, digits=3)
    return Told(name, value, interval, f"the last value, {source}", of.notes)


def trend_words(of: Measured, us: bool = False) -> str:
    """Where the line goes and when it meets its limit, in a sentence or two."""
    trend = of.trend
    slope = trend.slope
    since = f" since it was last changed on {_day(of.trend_since)}" if of.trend_since else ""
    if slope is None or slope.value is None or trend.now is None:
        return trend.because or ""
    low, value, high = (
        shown(v * MONTH, of.dimension, us=us, digits=2)
        for v in (slope.low, slope.value, slope.high)
    )
    said = (
        f"The line{since} changes by {value} in 30 days ({percent(slope.confidence)} interval:"
        f" {low} to {high})."
    )
    met = [
        _meets(crossing, side, trend.now, of.dimension, us)
        for crossing, side in ((trend.falls_below, "lower"), (trend.rises_above, "upper"))
        if crossing and crossing.time - trend.now < TEN_YEARS
    ]
    if not met and (trend.falls_below or trend.rises_above):
        met = ["It meets no limit within ten years."]
    return " ".join((said, *met))


def _meets(crossing: Crossing, side: str, now: float, dimension: str, us: bool) -> str:
    limit = f"the {side} limit of {shown(crossing.limit, dimension, us=us, digits=3)}"
    if crossing.time <= now:
        return f"It is beyond {limit} already."
    soonest = f"{(crossing.soonest - now) / DAY:.0f} days"
    latest = "never" if isinf(crossing.latest) else f"{(crossing.latest - now) / DAY:.0f} days"
    return (
        f"It meets {limit} in about {(crossing.time - now) / DAY:.0f} days (between {soonest} and"
        f" {latest})."
    )


def demand_told(of: Demand) -> Told:
    """Failure on demand."""
    name = "Failure on demand"
    if of.found is None:
        return Told(name, NOT_KNOWN, "", of.because or "")
    average, interval = of.found.average, of.found.check_interval
    assert average.value is not None
    every = f"{interval / HOUR:.3g} running hours" if of.by_meter else f"{interval / DAY:.3g} days"
    exposure = of.failures / of.found.rate.value if of.found.rate.value else None
    over = f" in {_clocked(exposure, of.by_meter)}" if exposure else ""
    # No failure seen is no proof that none comes: then the upper limit is the answer.
    value = percent(average.value) if of.failures else f"under {percent(average.high)}"
    return Told(
        name, value, share_words(average),
        f"from {of.failures or 'no'} failure{'' if of.failures == 1 else 's'} seen{over} and"
        f" {counted(of.checks, 'check')}, one every {every}",
        of.notes,
    )  # fmt: skip


def _clocked(seconds: float, by_meter: bool) -> str:
    return f"{plain(seconds / HOUR)} running hours" if by_meter else f"{plain(seconds / DAY)} days"


def share_words(of: Interval) -> str:
    """The limits of a share."""
    return f"{percent(of.confidence)} interval: {percent(of.low)} to {percent(of.high)}"


def rate_words(of: Interval, size: float, unit: str) -> str:
    """The limits of a rate."""
    high = f"{_number(of.high * size)}" if isfinite(of.high) else "no bound"
    return f"{percent(of.confidence)} interval: {_number(of.low * size)} to {high} per {unit}"


def _number(value: float) -> str:
    return shown(value, "number", digits=2)


def _day(time: float) -> str:
    from datetime import UTC, datetime

    return f"{datetime.fromtimestamp(time, UTC):%Y-%m-%d}"
