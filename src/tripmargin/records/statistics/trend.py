"""Trend: the straight line through a series, and when it leaves the limits."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.languages import say, say_many
from tripmargin.ground.results import plain
from tripmargin.records.statistics.figures import (
    FigureError,
    inner_share,
    number,
    series,
    uncertainties,
)
from tripmargin.records.statistics.intervals import Interval
from tripmargin.records.statistics.line import Line

LEAST_POINTS = 5
_ALIKE = 1e-12  # of the largest value: a scatter below it is the rounding of the arithmetic


@dataclass(frozen=True, slots=True)
class Crossing:
    """When a line is at a limit, s; infinite: never. A time of `now` says: already.

    `soonest` and `latest` are when the band's nearer and farther edges are there.
    """

    limit: float
    time: float
    soonest: float
    latest: float

    def to_dict(self, unit: str = "") -> dict[str, Any]:
        """JSON-ready; null: never."""
        made: dict[str, Any] = plain(
            {
                f"limit_{unit}" if unit else "limit": self.limit,
                "time_s": self.time,
                "soonest_s": self.soonest,
                "latest_s": self.latest,
            }
        )
        return made


@dataclass(frozen=True, slots=True)
class Trend:
    """The straight line through a series.

    Attributes
    ----------
    count : int
        Of the values.
    now : float or None, s
    slope : Interval or None, per s
    value_now : Interval or None
        The line at `now`, with its band.
    falls_below, rises_above : Crossing or None
        When the line leaves the lower and the upper limit; None where no limit was given.
    chance : float or None
        That a slope as steep, or steeper in the same direction, comes about by scatter alone.
    residual_sd : float or None
        About the line; with uncertainties given: in units of them.
    line : Line or None
    because : str or None
        Why there is nothing to say, as a sentence.
    """

    count: int
    now: float | None = None
    slope: Interval | None = None
    value_now: Interval | None = None
    falls_below: Crossing | None = None
    rises_above: Crossing | None = None
    chance: float | None = None
    residual_sd: float | None = None
    line: Line | None = None
    because: str | None = None

    @property
    def known(self) -> bool:
        """Whether there was enough to judge."""
        return self.because is None

    def to_dict(self, unit: str = "") -> dict[str, Any]:
        """JSON-ready; `unit` is the values' SI unit and ends the keys that hold them."""
        end = f"_{unit}" if unit else ""
        made: dict[str, Any] = plain(
            {
                "count": self.count,
                "now_s": self.now,
                f"slope{end}_per_s": self.slope,
                f"value_now{end}": self.value_now,
                "falls_below": self.falls_below and self.falls_below.to_dict(unit),
                "rises_above": self.rises_above and self.rises_above.to_dict(unit),
                "chance": self.chance,
                f"residual_sd{end}": self.residual_sd,
                "because": self.because,
            }
        )
        return made


def trend(
    times: ArrayLike,
    values: ArrayLike,
    *,
    limits: tuple[float | None, float | None] = (None, None),
    confidence: float = 0.95,
    now: float | None = None,
    uncertainty: ArrayLike | None = None,
) -> Trend:
    """Straight line through a series, its slope and when it leaves its limits.

    Parameters
    ----------
    times : array_like, shape (n,), s
        From any start, in any order.
    values : array_like, shape (n,)
        In one unit (SI).
    limits : (low, high)
        What the values should keep within; None: no limit on that side.
    confidence : float
        Of all intervals.
    now : float, optional, s
        From when on a limit may be reached; the last time by default.
    uncertainty : float or array_like, shape (n,), optional
        Standard measuring uncertainty: weighs the values, and their scatter is taken to be no
        smaller.

    Raises
    ------
    FigureError
        If a figure is missing or infinite, times and values differ in number, or limits cross.

    Notes
    -----
    Least squares, weights 1/u^2 where u is given; slope +- t s / sqrt(S) with n - 2 degrees of
    freedom, s the residual standard deviation; with u given s is at least 1 (Birge, Phys. Rev. 40
    (1932) 207, from memory). When a limit is reached: see `Line.rises_to`.

    Simplified: wear follows a straight line on to the limit, and values scatter independently about
    it. After an adjustment or a new part a new series begins: give only what came after.

    Examples
    --------
    >>> day = 86400.0
    >>> times, values = [0, day, 2 * day, 3 * day, 4 * day], [1.0, 1.1, 1.3, 1.4, 1.5]
    >>> round(trend(times, values, limits=(None, 2.0)).rises_above.time / day, 2)
    7.69
    """
    t, y = series(times, "times"), series(values, "values")
    if t.size != y.size:
        raise FigureError(
            "times",
            f"{t.size} for {y.size} values",
            "one time for each value",
        )
    low, high = _limits(limits)
    tail = (1 - inner_share(confidence, "confidence")) / 2
    u = uncertainties(uncertainty, y)
    if t.size < LEAST_POINTS:
        said = say_many(
            "Too few to say: {count} value, at least {least} needed.",
            "Too few to say: {count} values, at least {least} needed.",
            int(t.size),
            least=LEAST_POINTS,
        )
        return Trend(t.size, because=said)
    if np.ptp(t) == 0:
        return Trend(t.size, because=say("Too few to say: all values are from one moment."))
    line, residual_sd = _fitted(t, y, u, tail)
    if line.scale <= _ALIKE * np.abs(y).max() and u is None:
        said = say(
            "All values lie on one line, so how much they scatter is not known: give the"
            " measuring uncertainty."
        )
        return Trend(t.size, because=said, line=line)
    now = float(t.max()) if now is None else number(now, "now", "a time, s")
    return Trend(
        count=t.size,
        now=now,
        slope=_about(line.slope, line.quantile * line.scale / sqrt(line.spread), confidence),
        value_now=_about(line.at(now), line.half_width(now), confidence),
        falls_below=None if low is None else _fall(line, low, now),
        rises_above=None if high is None else _rise(line, high, now),
        chance=line.chance_of_slope(),
        residual_sd=residual_sd,
        line=line,
    )


def _limits(limits: tuple[float | None, float | None]) -> tuple[float | None, float | None]:
    allowed = "two numbers (low, high), low below high; None where there is no limit"
    try:
        low, high = limits
    except (TypeError, ValueError):
        raise FigureError("limits", limits, allowed) from None
    low = None if low is None else number(low, "limits", allowed)
    high = None if high is None else number(high, "limits", allowed)
    if low is not None and high is not None and low >= high:
        raise FigureError("limits", limits, allowed)
    return low, high


def _fitted(
    t: NDArray[np.float64], y: NDArray[np.float64], u: NDArray[np.float64] | None, tail: float
) -> tuple[Line, float]:
    from scipy.special import stdtrit

    w = np.ones_like(y) if u is None else 1 / u**2
    centre, mean = float(np.average(t, weights=w)), float(np.average(y, weights=w))
    d = t - centre
    spread = float((w * d * d).sum())
    slope = float((w * d * (y - mean)).sum()) / spread
    left = y - mean - slope * d
    residual_sd = sqrt(float((w * left * left).sum()) / (y.size - 2))
    scale = residual_sd if u is None else max(1.0, residual_sd)
    freedom = y.size - 2
    quantile = float(-stdtrit(freedom, tail))
    line = Line(centre, mean, slope, scale, float(w.sum()), spread, freedom, quantile)
    return line, residual_sd


def _about(value: float, half: float, confidence: float) -> Interval:
    return Interval(value, value - half, value + half, confidence)


def _rise(line: Line, limit: float, now: float) -> Crossing:
    soonest, time, latest = (line.rises_to(limit, now, edge) for edge in (1, 0, -1))
    return Crossing(limit, time, soonest, latest)


def _fall(line: Line, limit: float, now: float) -> Crossing:
    found = _rise(line.mirrored(), -limit, now)
    return Crossing(limit, found.time, found.soonest, found.latest)
