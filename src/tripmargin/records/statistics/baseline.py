"""The first values of a series, which say what is usual."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from tripmargin.records.statistics.figures import FigureError, counts

LEAST_BASELINE = 5
SPREADS = ("moving range", "sample")


@dataclass(frozen=True, slots=True)
class Baseline:
    """The first values of a series, from which target and spread are taken where not given.

    Attributes
    ----------
    count : int
        How many of the first values; 5 at least. The chart judges only what comes after them.
    spread : "moving range" or "sample"
        From the steps between neighbours, which a slow drift within the baseline hardly swells;
        or the sample standard deviation, which makes more of few values but swallows such a drift.
    """

    count: int = 10
    spread: str = "moving range"

    def __post_init__(self) -> None:
        if counts(self.count, "baseline") < LEAST_BASELINE:
            raise FigureError(
                "baseline", self.count, f"a whole number of values, {LEAST_BASELINE} or more"
            )
        if self.spread not in SPREADS:
            raise FigureError("spread", self.spread, " or ".join(f'"{s}"' for s in SPREADS))

    def sd_of(self, first: NDArray[np.float64]) -> tuple[float, float]:
        """Spread of the first values, and its degrees of freedom."""
        if self.spread == "sample":
            return float(first.std(ddof=1)), first.size - 1.0
        return moving_range_sd(first)


def moving_range_sd(values: NDArray[np.float64]) -> tuple[float, float]:
    """Spread from the steps between neighbours, and its degrees of freedom.

    Notes
    -----
    A step of independent normal values has the mean 2 / sqrt(pi) sd. The mean of m steps, over
    that, has the relative variance v = [(pi/2 - 1) m + 2 (sqrt(3)/2 + pi/12 - 1) (m - 1)] / m^2:
    each step's own, and that of neighbours, whose signed steps are correlated by -1/2. Degrees of
    freedom 1 / (2 v), as v = 1 / (2 (n - 1)) nearly holds for the sample. Moments of absolute
    normal values from memory; the tests hold them against brute force.
    """
    steps = np.abs(np.diff(values))
    m = steps.size
    own = pi / 2 - 1
    shared = sqrt(3) / 2 + pi / 12 - 1
    v = (own * m + 2 * shared * (m - 1)) / m**2
    return float(steps.mean() * sqrt(pi) / 2), 1 / (2 * v)
