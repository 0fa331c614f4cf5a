"""The evidence behind a sign of warning, in plain sentences."""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING

from tripmargin.ground.units import percent, shown
from tripmargin.records.statistics.drift import Drift
from tripmargin.records.statistics.intervals import Interval
from tripmargin.records.statistics.trend import Crossing, Trend

if TYPE_CHECKING:
    from tripmargin.records.statistics.warning import Rate, Series, Share

HOUR, DAY, YEAR = 3600.0, 86400.0, 365.25 * 86400.0  # s
MONTH = 30 * DAY


def share_words(share: Share, chance: float) -> str:
    """What a fallen share is seen by."""
    (s0, n0), (s1, n1) = share.before, share.lately
    return (
        f"Lately {s1} of {many(n1, share.trial)} {share.success} ({percent(s1 / n1)}), before that"
        f" {s0} of {n0} ({percent(s0 / n0)})."
        f" By chance alone so low a share comes about in {percent(chance)} of cases."
    )


def rate_words(rate: Rate, ratio: Interval, chance: float) -> str:
    """What a risen rate is seen by."""
    (k0, t0), (k1, t1) = rate.before, rate.lately
    said = (
        f"Lately {many(k1, rate.event)} in {hours(t1)} ({per_hour(k1 / t1)}), before that {k0} in"
        f" {hours(t0)} ({per_hour(k0 / t0)})."
    )
    if ratio.value is not None:
        said += (
            f" That is {_plainly(ratio.value)} times as many ({percent(ratio.confidence)} interval:"
            f" {_plainly(ratio.low, 2)} to {_plainly(ratio.high, 2)} times)."
        )
    return f"{said} By chance alone so many come in {percent(chance)} of cases."


def drift_words(series: Series, drift: Drift, place: int, us: bool) -> str:
    """What a drift is seen by."""
    above = drift.averages[place] > drift.upper[place]
    limit = (drift.upper if above else drift.lower)[place]
    ago = len(drift.averages) - 1 - place
    when = "is" if not ago else f"was {many(ago, 'value')} ago"
    assert drift.target is not None
    usual = _of(series, drift.target, us)
    origin = "as given" if drift.target_from == "given" else drift.target_from
    return (
        f"The weighted average of {series.name} {when} {_of(series, drift.averages[place], us)},"
        f" {'above' if above else 'below'} its limit of {_of(series, limit, us)}."
        f" Usual is {usual} ({origin}); the last value is {_of(series, drift.values[-1], us)}."
    )


def trend_words(series: Series, trend: Trend, crossing: Crossing, us: bool) -> str:
    """What a trend towards a limit is seen by."""
    assert trend.slope is not None
    assert trend.slope.value is not None
    assert trend.now is not None
    way = "rises" if trend.slope.value > 0 else "falls"
    pace = [abs(each) * MONTH for each in (trend.slope.value, trend.slope.low, trend.slope.high)]
    sure = percent(trend.slope.confidence)
    soonest, latest = crossing.soonest - trend.now, crossing.latest - trend.now
    between = span(soonest) if soonest > 0 else "now"
    between += " at the soonest" if isinf(latest) else f" to {span(latest)}"
    return (
        f"{series.name[:1].upper()}{series.name[1:]} {way} by {_of(series, pace[0], us)} in 30 days"
        f" ({sure} interval: {_of(series, min(pace[1:]), us)} to {_of(series, max(pace[1:]), us)})."
        f" The line through {trend.count} values reaches the limit of"
        f" {_of(series, crossing.limit, us)} in about {span(crossing.time - trend.now)}"
        f" ({sure} interval: {between})."
    )


def beyond_words(series: Series, trend: Trend, crossing: Crossing, us: bool) -> str:
    """What a limit passed is seen by."""
    now = trend.value_now
    assert now is not None
    assert now.value is not None
    side = "above" if now.value > crossing.limit else "below"
    doubt = "" if not now.low <= crossing.limit <= now.high else " It may still be within it."
    return (
        f"The line through {trend.count} values of {series.name} stands at"
        f" {_of(series, now.value, us)} ({percent(now.confidence)} interval:"
        f" {_of(series, now.low, us)} to {_of(series, now.high, us)}), {side} the limit of"
        f" {_of(series, crossing.limit, us)}.{doubt}"
    )


def many(count: int, word: str) -> str:
    """A count with its noun.

    >>> many(1, "false trip"), many(3, "false trip")
    ('1 false trip', '3 false trips')
    """
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def hours(seconds: float) -> str:
    """A working time as a log has it.

    >>> hours(1.25e6)
    '347 h'
    """
    return f"{_plainly(seconds / HOUR)} h"


def per_hour(rate: float) -> str:
    """A rate a second as one an hour.

    >>> per_hour(2e-5)
    '0.072 an hour'
    """
    return f"{_plainly(rate * HOUR)} an hour"


def span(seconds: float) -> str:
    """A stretch of the calendar, in the unit that a person would choose.

    >>> span(5400.0), span(86400.0), span(41.3 * 86400), span(9e7), span(0.0)
    ('1.5 h', '24 h', '41 days', '2.9 years', '0 h')
    """
    if seconds >= 2 * YEAR:
        return f"{_plainly(seconds / YEAR, 2)} years"
    return f"{seconds / DAY:.0f} days" if seconds >= 2 * DAY else f"{_plainly(seconds / HOUR, 2)} h"


def _plainly(value: float, digits: int = 3) -> str:
    return shown(value, "number", digits=digits)


def _of(series: Series, value: float, us: bool) -> str:
    return shown(value, series.dimension, us=us, digits=3)
