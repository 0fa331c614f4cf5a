"""Drift: an average that remembers, and the limits that a sound machine keeps it within."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import accumulate
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.languages import later, say, say_many
from tripmargin.ground.results import plain
from tripmargin.records.statistics.baseline import Baseline
from tripmargin.records.statistics.figures import (
    FigureError,
    number,
    positive,
    series,
    uncertainties,
)

_ALIKE = 1e-12  # of the largest value: a spread below it is the rounding of the arithmetic
_ALL_ALIKE = later(
    "The first {taken} values are all alike, so how much scatter is usual is not known: give"
    " the spread or the measuring uncertainty."
)


@dataclass(frozen=True, slots=True)
class Drift:
    """A series with its weighted average and limits.

    Attributes
    ----------
    values, averages, lower, upper : tuple of float
        One a value, in the values' unit. Empty averages and limits: not known, see `because`.
    signals : tuple of int
        Places in the series, from 0, where the average is outside its limits.
    target, sd : float or None
    target_from, sd_from : str
        "given", or which values they were taken from and how.
    judged_from : int
        The first place that is judged; those before it set target or spread.
    weight, width : float
        Of the newest value; of the limits, in standard deviations.
    because : str or None
        Why there is nothing to say, as a sentence.
    """

    values: tuple[float, ...]
    averages: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    signals: tuple[int, ...]
    target: float | None
    sd: float | None
    target_from: str
    sd_from: str
    judged_from: int
    weight: float
    width: float
    because: str | None = None

    @property
    def known(self) -> bool:
        """Whether there was enough to judge."""
        return self.because is None

    def distance(self, place: int = -1) -> float:
        """How far an average lies from the target, in standard deviations: beyond +-width signals.

        Where the baseline is short, a distance counts less, as its limits are wider.
        """
        if self.target is None or not self.averages:
            return 0.0
        half = self.upper[place] - self.target
        return self.width * (self.averages[place] - self.target) / half

    def to_dict(self, unit: str = "") -> dict[str, Any]:
        """JSON-ready; `unit` is the values' SI unit and ends the keys: {'averages_s': [...]}."""
        end = f"_{unit}" if unit else ""
        made: dict[str, Any] = plain(
            {
                f"values{end}": self.values,
                f"averages{end}": self.averages,
                f"lower{end}": self.lower,
                f"upper{end}": self.upper,
                "signals": self.signals,
                f"target{end}": self.target,
                f"sd{end}": self.sd,
                "target_from": self.target_from,
                "sd_from": self.sd_from,
                "judged_from": self.judged_from,
                "weight": self.weight,
                "width": self.width,
                "because": self.because,
            }
        )
        return made


def ewma(
    values: ArrayLike,
    *,
    target: float | None = None,
    sd: float | None = None,
    weight: float = 0.3,
    width: float = 3.0,
    baseline: Baseline | int | None = None,
    settled: bool = False,
    uncertainty: ArrayLike | None = None,
) -> Drift:
    """Exponentially weighted moving average of a series, with its limits.

    Parameters
    ----------
    values : array_like, shape (n,)
        In the order of time, in one unit (SI).
    target, sd : float, optional
        What a sound machine keeps to, and how single values scatter about it. Where one is not
        given it is taken from the first values.
    weight : float
        Of the newest value, above 0 and up to 1. A small one finds small drifts, later.
    width : float
        Of the limits, in standard deviations of the average.
    baseline : Baseline or int, optional
        How many of the first values, and how. Ten by default, spread by moving range.
    settled : bool
        Limits of an average that has run long, the same for all values, as handbooks print them.
        Otherwise each average has its own limits, narrow at the start.
    uncertainty : float or array_like, shape (n,), optional
        Standard measuring uncertainty. A value is taken to scatter by it at least.

    Raises
    ------
    FigureError
        If a figure is missing, infinite or out of its range.

    Notes
    -----
    z_i = w x_i + (1 - w) z_(i-1), z_0 = target. Given target and sd, its standard deviation is
    sd sqrt[w / (2 - w) (1 - (1 - w)^(2i))], settled: the same without the last bracket (NIST
    e-Handbook of Statistical Methods 6.3.2.4; Roberts, Technometrics 1 (1959) 239).

    A target from the mean of n values is itself in doubt: then z_i - target is a sum of all
    values, and its own variance is used (for late values: 1/n more in the root). An sd from few
    values is in doubt too: the width becomes the quantile of Student's t that a normal value passes
    as rarely. Degrees of freedom: n - 1 for the sample; for the moving range, sd = mean |x_i -
    x_(i-1)| / (2 / sqrt(pi)), those of its own variance. So a chart on a short baseline gives
    hardly more false alarms than one on a long one; it is blunter.

    Simplified: values count alike however far apart in time they are, and they scatter
    independently about the target.

    Examples
    --------
    >>> drift = ewma([52.0, 47.0, 53.0, 49.3], target=50.0, sd=2.0539)
    >>> [round(average, 2) for average in drift.averages], drift.signals
    ([50.6, 49.52, 50.56, 50.18], ())
    """
    x = series(values, "values")
    if not 0 < (weight := number(weight, "weight")) <= 1:
        raise FigureError("weight", weight, "a number above 0, up to 1, such as 0.3")
    width = positive(width, "width", "in standard deviations")
    u = uncertainties(uncertainty, x)
    if settled and u is not None:
        raise FigureError(
            "settled",
            settled,
            "limits of their own for each value where uncertainties are given",
        )
    chart = _Chart(x, weight, width, settled, u, _as_baseline(baseline))
    return chart.drawn(
        None if target is None else number(target, "target"),
        None if sd is None else positive(sd, "sd"),
    )


def _as_baseline(asked: Baseline | int | None) -> Baseline:
    if asked is None:
        return Baseline()
    return asked if isinstance(asked, Baseline) else Baseline(asked)


@dataclass(frozen=True, slots=True)
class _Usual:
    """What a sound machine keeps to, and where that is from."""

    target: float | None
    sd: float | None
    target_from: str
    sd_from: str


@dataclass(frozen=True, slots=True)
class _Chart:
    """A series and how it is asked to be charted."""

    x: NDArray[np.float64]
    weight: float
    width: float
    settled: bool
    u: NDArray[np.float64] | None
    baseline: Baseline

    def drawn(self, target: float | None, sd: float | None) -> Drift:
        taken = 0 if target is not None and sd is not None else self.baseline.count
        usual = _Usual(target, sd, *("not known" if v is None else "given" for v in (target, sd)))
        if self.x.size <= taken or not self.x.size:
            return self._result(usual, taken, because=self._too_few(taken))
        first, width, n = self.x[:taken], self.width, 0
        if target is None:
            target, n = float(first.mean()), taken
            usual = replace(
                usual,
                target=target,
                target_from=say("mean of the first {taken} values", taken=taken),
            )
        if sd is None:
            sd, freedom = self.baseline.sd_of(first)
            if sd <= _ALIKE * np.abs(first).max() and self.u is None:
                return self._result(usual, taken, because=say(_ALL_ALIKE, taken=taken))
            sd_from = (
                say("sample of the first {taken} values", taken=taken)
                if self.baseline.spread == "sample"
                else say("moving range of the first {taken} values", taken=taken)
            )
            usual = replace(usual, sd=sd, sd_from=sd_from)
            width = _widened(width, freedom)
        half = width * self._deviation(sd, n)
        z = np.fromiter(self._averages(target), float, self.x.size)
        return self._result(usual, taken, z=z, lower=target - half, upper=target + half)

    def _result(
        self, usual: _Usual, taken: int, because: str | None = None, **rows: NDArray[np.float64]
    ) -> Drift:
        z, lower, upper = (rows.get(each, np.empty(0)) for each in ("z", "lower", "upper"))
        out = (z < lower) | (z > upper)
        out[:taken] = False
        return Drift(
            values=tuple(self.x.tolist()),
            averages=tuple(z.tolist()),
            lower=tuple(lower.tolist()),
            upper=tuple(upper.tolist()),
            signals=tuple(np.flatnonzero(out).tolist()),
            target=usual.target,
            sd=usual.sd,
            target_from=usual.target_from,
            sd_from=usual.sd_from,
            judged_from=taken,
            weight=self.weight,
            width=self.width,
            because=because,
        )

    def _too_few(self, taken: int) -> str:
        if not taken:
            return say("Too few to say: no value yet.")
        return say_many(
            "Too few to say: 1 value, and the first {taken} only set what is usual.",
            "Too few to say: {count} values, and the first {taken} only set what is usual.",
            self.x.size,
            taken=taken,
        )

    def _averages(self, target: float) -> Iterator[float]:
        w = self.weight
        run = accumulate(self.x.tolist(), lambda z, x: w * x + (1 - w) * z, initial=target)
        next(run)  # the target itself
        return run

    def _deviation(self, sd: float, n: int) -> NDArray[np.float64]:
        """Standard deviation of each average less the target; n: values that the target is from.

        With q = 1 - w the value j counts w q^(i-j), less (1 - q^i) / n where it is one of the n.
        """
        w, q = self.weight, 1 - self.weight
        if self.settled:
            return np.full(self.x.size, sd * sqrt(w / (2 - w) + (1 / n if n else 0.0)))
        s2 = np.full(self.x.size, sd**2)
        if self.u is not None:
            s2 = np.maximum(s2, self.u**2)
        variance = _summed(w**2 * s2, q**2)
        if n:
            part = (1 - q ** np.arange(1, self.x.size + 1)) / n
            of_baseline = np.where(np.arange(self.x.size) < n, s2, 0.0)
            variance += part**2 * of_baseline.sum() - 2 * part * _summed(w * of_baseline, q)
        return np.sqrt(np.maximum(variance, 0.0))


def _summed(parts: NDArray[np.float64], keep: float) -> NDArray[np.float64]:
    """Running sum in which all that is older is scaled down by `keep` at each step."""
    run = accumulate(parts.tolist(), lambda total, part: keep * total + part)
    return np.fromiter(run, float, parts.size)


def _widened(width: float, freedom: float) -> float:
    """Student's quantile that is passed as rarely as the width by a normal value."""
    from scipy.special import ndtr, stdtrit

    return float(-stdtrit(freedom, ndtr(-width)))
