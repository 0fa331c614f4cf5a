"""Early warning: the signs that a machine's protection is going, and the evidence for each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from math import inf
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.ground.results import plain
from tripmargin.ground.units import DIMENSIONS
from tripmargin.records.statistics.comparing import rate_change, share_fell
from tripmargin.records.statistics.drift import Drift
from tripmargin.records.statistics.figures import FigureError, counts, inner_share, positive
from tripmargin.records.statistics.trend import Crossing, Trend
from tripmargin.records.statistics.warning_words import (
    beyond_words,
    drift_words,
    rate_words,
    share_words,
    trend_words,
)

DAY = 86400.0  # s
URGENCIES = ("now", "soon", "watch")
DIRECTIONS = ("up", "down", "either")


@dataclass(frozen=True, slots=True)
class Share:
    """A share that should not fall, such as tests that trip: before and lately.

    `before`, `lately` : (successes, trials); `trial`, `success` : words, such as "test", "tripped".
    """

    name: str
    before: tuple[int, int]
    lately: tuple[int, int]
    trial: str = "test"
    success: str = "tripped"


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate that should not rise, such as false trips: before and lately.

    `before`, `lately` : (events, exposure s); `event` : a word, such as "false trip".
    """

    name: str
    before: tuple[int, float]
    lately: tuple[int, float]
    event: str = "false trip"


@dataclass(frozen=True, slots=True)
class Series:
    """A measured quantity in the course of time, such as the stop time.

    `dimension` names its kind ("time", "length", ...) and so its unit on the page. `worse` says
    which way it goes wrong: "up", "down" or "either".
    """

    name: str
    dimension: str
    drift: Drift | None = None
    trend: Trend | None = None
    worse: str = "up"

    def __post_init__(self) -> None:
        for name, value, allowed in (
            ("worse", self.worse, DIRECTIONS),
            ("dimension", self.dimension, [d for d in DIMENSIONS if d != "temperature"]),
        ):
            if value not in allowed:
                raise FigureError(name, value, ", ".join(f'"{each}"' for each in allowed))


@dataclass(frozen=True, slots=True)
class Thresholds:
    """From when on something is a sign.

    Attributes
    ----------
    chance : float
        A share, a rate or a slope is a sign where it would come about by chance more rarely than
        this. 0.01 by default: of a hundred looks at something sound, one is a false alarm at most.
        A slope with two limits has half of it for each.
    looks : int
        How many things are looked at together, such as machines x figures. The chance is divided by
        it (Bonferroni), so that it holds for all of them together. 1 by default.
    recent : int
        A drift is a sign while one of so many last averages is outside its limits. 3 by default.
        Its false alarms follow from the chart's width: at 3, at most 1 in 150 looks at a sound
        series (by simulation in the tests), not divided by `looks`.
    horizon : float, s
        A trend is a sign where its line reaches a limit within this time. 60 days by default.
    """

    chance: float = 0.01
    looks: int = 1
    recent: int = 3
    horizon: float = 60 * DAY

    def __post_init__(self) -> None:
        inner_share(self.chance, "chance")
        positive(self.horizon, "horizon", "s")
        for name, value in (("looks", self.looks), ("recent", self.recent)):
            if counts(value, name) < 1:
                raise FigureError(name, value, "a whole number, 1 or more")

    @property
    def for_each(self) -> float:
        """The chance that one look may err with."""
        return self.chance / self.looks


@dataclass(frozen=True, slots=True)
class Sign:
    """One sign that protection is going.

    Attributes
    ----------
    what : str
        The name of the share, the rate or the series.
    kind : "share", "rate", "drift", "trend" or "limit"
        "limit": the fitted line is beyond its limit already.
    urgency : "now", "soon" or "watch"
        "now": protection is hurt (a share of trips has fallen, a limit is passed). "soon": a limit
        will be reached within the horizon. "watch": something has changed.
    evidence : str
        Plain sentences with numbers and units.
    chance : float
        That as much would be seen at this look if nothing had changed.
    due : float, s
        When the limit is reached, from now; 0: already, infinite: no limit spoken of.
    """

    what: str
    kind: str
    urgency: str
    evidence: str
    chance: float
    due: float = inf

    @property
    def what_said(self) -> str:
        """The share, the rate or the series, for people; a series has its name from people."""
        words = {
            "daily check": say("daily check"),
            "trips": say("trips"),
            "false trips": say("false trips"),
        }
        return words.get(self.what, self.what)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "what": self.what,
                "kind": self.kind,
                "urgency": self.urgency,
                "evidence": self.evidence,
                "chance": self.chance,
                "due_in_s": self.due,
            }
        )
        return made


def signs(
    *,
    shares: Iterable[Share] = (),
    rates: Iterable[Rate] = (),
    series: Iterable[Series] = (),
    thresholds: Thresholds | None = None,
    us: bool = False,
) -> tuple[Sign, ...]:
    """Signs that protection is going, the most urgent first.

    Parameters
    ----------
    shares, rates, series : iterable of Share, Rate, Series
        What is known of one machine.
    thresholds : Thresholds, optional
    us : bool
        US units in the evidence instead of metric.

    Returns
    -------
    tuple of Sign
        By urgency, then by when a limit is reached, then by how unlikely chance is. Where little is
        known there are few signs: an empty answer does not say that the machine is sound.

    Raises
    ------
    FigureError
        If a count or an exposure is out of its range.

    Examples
    --------
    >>> found = signs(shares=[Share("daily test", before=(57, 60), lately=(18, 30))])
    >>> print(found[0].evidence)
    Lately 18 of 30 tests tripped (60 %), before that 57 of 60 (95 %).
    By chance alone so low a share comes about in 0.007 % of cases.
    """
    asked = thresholds or Thresholds()
    found = [
        *(s for each in shares for s in _share_signs(each, asked)),
        *(s for each in rates for s in _rate_signs(each, asked)),
        *(s for each in series for s in _drift_signs(each, asked, us)),
        *(s for each in series for s in _trend_signs(each, asked, us)),
    ]
    return tuple(sorted(found, key=lambda s: (URGENCIES.index(s.urgency), s.due, s.chance)))


def _share_signs(share: Share, asked: Thresholds) -> Iterator[Sign]:
    chance = share_fell(share.before, share.lately)
    if chance <= asked.for_each:
        yield Sign(share.name, "share", "now", share_words(share, chance), chance)


def _rate_signs(rate: Rate, asked: Thresholds) -> Iterator[Sign]:
    change = rate_change(rate.before, rate.lately)
    if change.chance <= asked.for_each:
        words = rate_words(rate, change.ratio, change.chance)
        yield Sign(rate.name, "rate", "watch", words, change.chance)


def _drift_signs(series: Series, asked: Thresholds, us: bool) -> Iterator[Sign]:
    from scipy.special import ndtr

    drift = series.drift
    if drift is None:
        return
    first = len(drift.averages) - asked.recent
    for place in reversed(drift.signals):
        if place < first:
            return
        distance = drift.distance(place)
        if series.worse == "either" or (distance > 0) == (series.worse == "up"):
            sides = 2 if series.worse == "either" else 1
            chance = float(sides * ndtr(-abs(distance)))
            yield Sign(series.name, "drift", "watch", drift_words(series, drift, place, us), chance)
            return


def _trend_signs(series: Series, asked: Thresholds, us: bool) -> Iterator[Sign]:
    trend = series.trend
    if trend is None or not trend.known:
        return
    sides = [each for each in (trend.falls_below, trend.rises_above) if each is not None]
    for crossing in sides:
        share = replace(asked, looks=asked.looks * len(sides))
        yield from _limit_signs(series, trend, crossing, share, us)


def _limit_signs(
    series: Series, trend: Trend, crossing: Crossing, asked: Thresholds, us: bool
) -> Iterator[Sign]:
    """The sign that a line gives of one limit, which it is beyond or on its way to."""
    assert trend.line is not None
    assert trend.now is not None
    assert trend.chance is not None
    due = crossing.time - trend.now
    if due <= 0:
        chance = trend.line.chance_beyond(crossing.limit, trend.now)
        urgency = "now" if chance <= asked.for_each else "soon"
        words = beyond_words(series, trend, crossing, us)
        yield Sign(series.name, "limit", urgency, words, chance, 0.0)
    elif due <= asked.horizon and trend.chance <= asked.for_each:
        words = trend_words(series, trend, crossing, us)
        yield Sign(series.name, "trend", "soon", words, trend.chance, due)
