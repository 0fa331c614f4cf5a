"""A straight line through readings, with what it says at a place and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from tripmargin.recordings.uncertainty.inputs import Input, normal


@dataclass(frozen=True, slots=True)
class Line:
    """y = intercept + slope (x - origin), fitted by least squares.

    Attributes
    ----------
    intercept, slope
        With their standard uncertainties and n - 2 degrees of freedom.
    correlation
        Of intercept and slope.
    scatter
        Standard deviation of the readings about the line, y's unit.
    origin
        The x at which the intercept stands.
    """

    intercept: Input
    slope: Input
    correlation: float
    scatter: float
    origin: float

    def at(self, x: float) -> Input:
        """The line's value at x, not that of one more reading (GUM H.3.4)."""
        away = x - self.origin
        cross = 2 * away * self.correlation * self.intercept.u * self.slope.u
        u2 = self.intercept.u**2 + (away * self.slope.u) ** 2 + cross
        value = self.intercept.value + away * self.slope.value
        return normal(value, float(np.sqrt(max(u2, 0.0))), dof=self.slope.dof)


def straight_line(x: ArrayLike, y: ArrayLike, *, origin: float = 0.0) -> Line:
    """Least squares through readings of equal weight; x is taken as exact (GUM H.3).

    Parameters
    ----------
    x, y : array_like, (n,)
        Any units; n is 3 or more.
    origin : float
        Where the intercept is wanted, x's unit.

    Raises
    ------
    ValueError
        With fewer than three readings, or all at one x.

    Notes
    -----
    Worked about the mean of x, so that far-off origins lose no digits.
    """
    seen_x, seen_y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    if seen_x.shape != seen_y.shape or seen_x.ndim != 1 or len(seen_x) < 3:
        raise ValueError(f"a line with its doubt needs three readings or more, not {seen_x.size}.")
    middle = seen_x.mean()
    away = seen_x - middle
    spread = float(away @ away)
    if spread == 0:
        raise ValueError(f"all readings stand at {middle:g}; a slope needs different places.")
    slope = float(away @ seen_y) / spread
    level = float(seen_y.mean())
    left = seen_y - level - slope * away
    dof = len(seen_x) - 2
    variance = float(left @ left) / dof
    back = origin - middle
    u_slope = np.sqrt(variance / spread)
    u_intercept = np.sqrt(variance * (1 / len(seen_x) + back**2 / spread))
    together = back / spread * variance
    product = float(u_slope * u_intercept)
    return Line(
        normal(level + slope * back, float(u_intercept), dof=dof),
        normal(slope, float(u_slope), dof=dof),
        together / product if product else 0.0,
        float(np.sqrt(variance)),
        float(origin),
    )
