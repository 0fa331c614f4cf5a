"""The evidence behind a sign of warning, in plain sentences."""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING

from tripmargin.ground.languages import say, say_many
from tripmargin.ground.units import percent, shown
from tripmargin.records.statistics.drift import Drift
from tripmargin.records.statistics.intervals import Interval
from tripmargin.records.statistics.things import many
from tripmargin.records.statistics.trend import Crossing, Trend

if TYPE_CHECKING:
    from tripmargin.records.statistics.warning import Rate, Series, Share

HOUR, DAY, YEAR = 3600.0, 86400.0, 365.25 * 86400.0  # s
MONTH = 30 * DAY


def share_words(share: Share, chance: float) -> str:
    """What a fallen share is seen by."""
    (s0, n0), (s1, n1) = share.before, share.lately
    values = {
        "s1": s1,
        "trials": many(n1, share.trial),
        "now": percent(s1 / n1),
        "s0": s0,
        "n0": n0,
        "before": percent(s0 / n0),
        "chance": percent(chance),
    }
    if share.success == "tripped":
        return say(
            "Lately {s1} of {trials} tripped ({now}), before that {s0} of {n0} ({before}). By"
            " chance alone so low a share comes about in {chance} of cases.",
            **values,
        )
    return say(
        "Lately {s1} of {trials} {success} ({now}), before that {s0} of {n0} ({before}). By chance"
        " alone so low a share comes about in {chance} of cases.",
        success=share.success,
        **values,
    )


def rate_words(rate: Rate, ratio: Interval, chance: float) -> str:
    """What a risen rate is seen by."""
    (k0, t0), (k1, t1) = rate.before, rate.lately
    said = [
        say(
            "Lately {events} in {time} ({now}), before that {k0} in {time_before} ({before}).",
            events=many(k1, rate.event),
            time=hours(t1),
            now=per_hour(k1 / t1),
            k0=k0,
            time_before=hours(t0),
            before=per_hour(k0 / t0),
        )
    ]
    if ratio.value is not None:
        said.append(
            say(
                "That is {times} times as many ({sure} interval: {low} to {high} times).",
                times=_plainly(ratio.value),
                sure=percent(ratio.confidence),
                low=_plainly(ratio.low, 2),
                high=_plainly(ratio.high, 2),
            )
        )
    said.append(say("By chance alone so many come in {chance} of cases.", chance=percent(chance)))
    return " ".join(said)


def drift_words(series: Series, drift: Drift, place: int, us: bool) -> str:
    """What a drift is seen by."""
    above = drift.averages[place] > drift.upper[place]
    limit = (drift.upper if above else drift.lower)[place]
    ago = len(drift.averages) - 1 - place
    assert drift.target is not None
    values = {
        "name": series.name,
        "average": _of(series, drift.averages[place], us),
        "limit": _of(series, limit, us),
    }
    if above and ago:
        said = say_many(
            "The weighted average of {name} was 1 value ago {average}, above its limit of {limit}.",
            "The weighted average of {name} was {count} values ago {average}, above its limit of"
            " {limit}.",
            ago,
            **values,
        )
    elif above:
        said = say(
            "The weighted average of {name} is {average}, above its limit of {limit}.", **values
        )
    elif ago:
        said = say_many(
            "The weighted average of {name} was 1 value ago {average}, below its limit of {limit}.",
            "The weighted average of {name} was {count} values ago {average}, below its limit of"
            " {limit}.",
            ago,
            **values,
        )
    else:
        said = say(
            "The weighted average of {name} is {average}, below its limit of {limit}.", **values
        )
    usual = say(
        "Usual is {usual} ({origin}); the last value is {last}.",
        usual=_of(series, drift.target, us),
        origin=say("as given") if drift.target_from == "given" else drift.target_from,
        last=_of(series, drift.values[-1], us),
    )
    return f"{said} {usual}"


def trend_words(series: Series, trend: Trend, crossing: Crossing, us: bool) -> str:
    """What a trend towards a limit is seen by."""
    assert trend.slope is not None
    assert trend.slope.value is not None
    assert trend.now is not None
    pace = [abs(each) * MONTH for each in (trend.slope.value, trend.slope.low, trend.slope.high)]
    values = {
        # It begins the sentence; a language that begins it otherwise has its own capitals.
        "name": series.name[:1].upper() + series.name[1:],
        "pace": _of(series, pace[0], us),
        "sure": percent(trend.slope.confidence),
        "low": _of(series, min(pace[1:]), us),
        "high": _of(series, max(pace[1:]), us),
    }
    if trend.slope.value > 0:
        moves = say(
            "{name} rises by {pace} in 30 days ({sure} interval: {low} to {high}).", **values
        )
    else:
        moves = say(
            "{name} falls by {pace} in 30 days ({sure} interval: {low} to {high}).", **values
        )
    soonest, latest = crossing.soonest - trend.now, crossing.latest - trend.now
    first = span(soonest) if soonest > 0 else say("now")
    if isinf(latest):
        between = say("{first} at the soonest", first=first)
    else:
        between = say("{first} to {last}", first=first, last=span(latest))
    meets = say(
        "The line through {count} values reaches the limit of {limit} in about {time} ({sure}"
        " interval: {between}).",
        count=trend.count,
        limit=_of(series, crossing.limit, us),
        time=span(crossing.time - trend.now),
        sure=values["sure"],
        between=between,
    )
    return f"{moves} {meets}"


def beyond_words(series: Series, trend: Trend, crossing: Crossing, us: bool) -> str:
    """What a limit passed is seen by."""
    now = trend.value_now
    assert now is not None
    assert now.value is not None
    values = {
        "count": trend.count,
        "name": series.name,
        "value": _of(series, now.value, us),
        "sure": percent(now.confidence),
        "low": _of(series, now.low, us),
        "high": _of(series, now.high, us),
        "limit": _of(series, crossing.limit, us),
    }
    if now.value > crossing.limit:
        said = say(
            "The line through {count} values of {name} stands at {value} ({sure} interval: {low} to"
            " {high}), above the limit of {limit}.",
            **values,
        )
    else:
        said = say(
            "The line through {count} values of {name} stands at {value} ({sure} interval: {low} to"
            " {high}), below the limit of {limit}.",
            **values,
        )
    if now.low <= crossing.limit <= now.high:
        within = say("It may still be within it.")
        return f"{said} {within}"
    return said


def hours(seconds: float) -> str:
    """A working time as a log has it.

    >>> hours(1.25e6)
    '347 h'
    """
    return say("{hours} h", hours=_plainly(seconds / HOUR))


def per_hour(rate: float) -> str:
    """A rate a second as one an hour.

    >>> per_hour(2e-5)
    '0.072 an hour'
    """
    return say("{rate} an hour", rate=_plainly(rate * HOUR))


def span(seconds: float) -> str:
    """A stretch of the calendar, in the unit that a person would choose.

    >>> span(5400.0), span(86400.0), span(41.3 * 86400), span(9e7), span(0.0)
    ('1.5 h', '24 h', '41 days', '2.9 years', '0 h')
    """
    if seconds >= 2 * YEAR:
        return say("{years} years", years=_plainly(seconds / YEAR, 2))
    if seconds >= 2 * DAY:
        return say("{days:.0f} days", days=seconds / DAY)
    return say("{hours} h", hours=_plainly(seconds / HOUR, 2))


def _plainly(value: float, digits: int = 3) -> str:
    return shown(value, "number", digits=digits)


def _of(series: Series, value: float, us: bool) -> str:
    return shown(value, series.dimension, us=us, digits=3)
