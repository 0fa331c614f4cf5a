"""The figures of a machine's drift as a person reads them: value, interval, where it is from."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, isinf

from tripmargin.ground.languages import later, numeral, say, say_many
from tripmargin.ground.units import percent, shown
from tripmargin.records.standing.counted import Counted
from tripmargin.records.standing.demand import Demand
from tripmargin.records.standing.drift import Drifting
from tripmargin.records.standing.exposure import DAY, HOUR, Exposure
from tripmargin.records.standing.measured import Measured
from tripmargin.records.statistics import Crossing, Interval
from tripmargin.records.statistics.things import many

NOT_KNOWN = later("not known yet")
MONTH, TEN_YEARS = 30 * DAY, 3652.5 * DAY


def plain(value: float) -> str:
    """A number to four digits, never as a power of ten.

    >>> plain(11112.3), plain(12.34567), plain(0.5)
    ('11112', '12.35', '0.5')
    """
    return numeral(value, ".0f" if abs(value) >= 1000 else ".4g")


def counted(number: float, thing: str) -> str:
    """So many of a thing: "1 check", "2 checks"."""
    return many(round(number), thing)


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
        rate_told(of.trips, of.exposure, say("Trips")),
        rate_told(of.false_trips, of.exposure, say("False trips")),
        *(measured_told(one, us) for one in of.measured),
        demand_told(of.demand),
    )


def share_told(of: Counted) -> Told:
    """The share of checks that tripped."""
    name = say("Daily checks that tripped")
    if of.since is None:
        return Told(name, say(NOT_KNOWN), "", say("No daily check has been entered."))
    source = say(
        "from {checks} since {day}, {tripped} tripped",
        checks=counted(of.tried, "check"),
        day=_day(of.since),
        tripped=of.seen,
    )
    assert of.interval.value is not None
    return Told(name, percent(of.interval.value), share_words(of.interval), source)


def rate_told(of: Counted, exposure: Exposure, name: str) -> Told:
    """A rate by running hours or days."""
    if of.since is None or of.interval.value is None:
        return Told(name, say(NOT_KNOWN), "", say("Nothing was watched yet."), of.notes)
    unit, size = exposure.unit
    source = say(
        "from {events} in {time} since {day}",
        events=many(of.seen, of.key.removesuffix("s")),
        time=_clocked(of.tried, exposure.by_meter),
        day=_day(of.since),
    )
    return Told(
        name,
        _per(_number(of.interval.value * size), unit),
        rate_words(of.interval, size, unit),
        source,
        of.notes,
    )


def measured_told(of: Measured, us: bool = False) -> Told:
    """A measured quantity: the line through it now, or else its last value."""
    name = of.title
    if not of.values:
        return Told(name, say(NOT_KNOWN), "", say("Nothing was entered yet."), of.notes)
    since = {"source": of.source, "day": _day(of.times[0])}
    now = of.trend.value_now
    if now is not None and now.value is not None:
        low, high = (shown(v, of.dimension, us=us, digits=3) for v in (now.low, now.high))
        interval = say(
            "{sure} interval of the line: {low} to {high}",
            sure=percent(now.confidence),
            low=low,
            high=high,
        )
        value = shown(now.value, of.dimension, us=us, digits=3)
        newest = say(
            "the line through the newest {count} values, {source}, since {day}",
            count=of.trend.count,
            **since,
        )
        return Told(name, value, interval, newest, of.notes)
    last, sd = of.values[-1], of.sds[-1]
    low, high = (shown(last + k * sd, of.dimension, us=us, digits=3) for k in (-1.96, 1.96))
    interval = say("95 % by the measuring uncertainty alone: {low} to {high}", low=low, high=high)
    value = shown(last, of.dimension, us=us, digits=3)
    newest = say("the last value, {source}, since {day}", **since)
    return Told(name, value, interval, newest, of.notes)


def trend_words(of: Measured, us: bool = False) -> str:
    """Where the line goes and when it meets its limit, in a sentence or two."""
    trend = of.trend
    slope = trend.slope
    if slope is None or slope.value is None or trend.now is None:
        return trend.because or ""
    low, value, high = (
        shown(v * MONTH, of.dimension, us=us, digits=2)
        for v in (slope.low, slope.value, slope.high)
    )
    values = {"value": value, "sure": percent(slope.confidence), "low": low, "high": high}
    if of.trend_since:
        said = say(
            "The line since it was last changed on {day} changes by {value} in 30 days ({sure}"
            " interval: {low} to {high}).",
            day=_day(of.trend_since),
            **values,
        )
    else:
        said = say(
            "The line changes by {value} in 30 days ({sure} interval: {low} to {high}).", **values
        )
    met = [
        _meets(crossing, side, trend.now, of.dimension, us)
        for crossing, side in ((trend.falls_below, "lower"), (trend.rises_above, "upper"))
        if crossing and crossing.time - trend.now < TEN_YEARS
    ]
    if not met and (trend.falls_below or trend.rises_above):
        met = [say("It meets no limit within ten years.")]
    return " ".join((said, *met))


def _meets(crossing: Crossing, side: str, now: float, dimension: str, us: bool) -> str:
    values = {"limit": shown(crossing.limit, dimension, us=us, digits=3)}
    if crossing.time <= now:
        if side == "lower":
            return say("It is beyond the lower limit of {limit} already.", **values)
        return say("It is beyond the upper limit of {limit} already.", **values)
    days = [(each - now) / DAY for each in (crossing.time, crossing.soonest, crossing.latest)]
    middle, soonest, latest = (
        say("never") if isinf(each) else say("{days:.0f} days", days=each) for each in days
    )
    values |= {"time": middle, "soonest": soonest, "latest": latest}
    if side == "lower":
        return say(
            "It meets the lower limit of {limit} in about {time} (between {soonest} and {latest}).",
            **values,
        )
    return say(
        "It meets the upper limit of {limit} in about {time} (between {soonest} and {latest}).",
        **values,
    )


def demand_told(of: Demand) -> Told:
    """Failure on demand."""
    name = say("Failure on demand")
    if of.found is None:
        return Told(name, say(NOT_KNOWN), "", of.because or "")
    average, interval = of.found.average, of.found.check_interval
    assert average.value is not None
    every = (
        say("{hours:.3g} running hours", hours=interval / HOUR)
        if of.by_meter
        else say("{days:.3g} days", days=interval / DAY)
    )
    exposure = of.failures / of.found.rate.value if of.found.rate.value else None
    # No failure seen is no proof that none comes: then the upper limit is the answer.
    value = percent(average.value)
    if not of.failures:
        value = say("under {high}", high=percent(average.high))
    return Told(
        name,
        value,
        share_words(average),
        _failures(
            of.failures, _clocked(exposure, of.by_meter) if exposure else None, of.checks, every
        ),
        of.notes,
    )


def _clocked(seconds: float, by_meter: bool) -> str:
    if by_meter:
        return say("{hours} running hours", hours=plain(seconds / HOUR))
    return say("{days} days", days=plain(seconds / DAY))


def _failures(failures: int, over: str | None, checks: int, every: str) -> str:
    """What failure on demand is told from."""
    values = {"over": over, "checks": counted(checks, "check"), "every": every}
    if not failures:
        return say("from no failures seen and {checks}, one every {every}", **values)
    if over:
        return say_many(
            "from 1 failure seen in {over} and {checks}, one every {every}",
            "from {count} failures seen in {over} and {checks}, one every {every}",
            failures,
            **values,
        )
    return say_many(
        "from 1 failure seen and {checks}, one every {every}",
        "from {count} failures seen and {checks}, one every {every}",
        failures,
        **values,
    )


def _per(number: str, unit: str) -> str:
    if unit == "day":
        return say("{number} per day", number=number)
    return say("{number} per running hour", number=number)


def share_words(of: Interval) -> str:
    """The limits of a share."""
    return say(
        "{sure} interval: {low} to {high}",
        sure=percent(of.confidence),
        low=percent(of.low),
        high=percent(of.high),
    )


def rate_words(of: Interval, size: float, unit: str) -> str:
    """The limits of a rate."""
    low = _number(of.low * size)
    high = _number(of.high * size) if isfinite(of.high) else say("no bound")
    within = say("{low} to {high}", low=low, high=high)
    return say("{sure} interval: {within}", sure=percent(of.confidence), within=_per(within, unit))


def _number(value: float) -> str:
    return shown(value, "number", digits=2)


def _day(time: float) -> str:
    from datetime import UTC, datetime

    return f"{datetime.fromtimestamp(time, UTC):%Y-%m-%d}"
