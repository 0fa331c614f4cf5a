"""Draws of uncertain quantities: evenly spread points instead of random ones."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.quantities import Quantity

Array = NDArray[np.float64]


def evenly_spread(n: int, dimensions: int, *, offset: float = 0.5) -> Array:
    """Points that fill the unit cube evenly, (n, dimensions).

    An additive recurrence with the powers of the generalised golden ratio, the root of
    x^(d+1) = x + 1; the midpoints of n equal steps for one dimension. Weyl's equidistribution;
    the choice of the ratio is common practice, no source.

    >>> evenly_spread(4, 1).ravel()
    array([0.125, 0.375, 0.625, 0.875])
    """
    if dimensions == 1:
        return ((np.arange(n) + 0.5) / n)[:, None]
    ratio = 2.0
    for _ in range(60):
        ratio = (1 + ratio) ** (1 / (dimensions + 1))
    steps = ratio ** -np.arange(1.0, dimensions + 1)
    return np.asarray((offset + np.arange(1, n + 1)[:, None] * steps) % 1.0)


def draw(
    inputs: Sequence[tuple[str, Quantity]],
    n: int,
    *,
    widened: float = 1.0,
    points: Array | None = None,
) -> tuple[dict[str, Array], Array]:
    """Values of the uncertain inputs and the weight of each draw.

    Parameters
    ----------
    inputs : sequence of (path, Quantity)
        Those without limits are left out.
    n : int
        Number of draws; one where nothing is uncertain.
    widened : float
        Normal quantities are drawn this many times wider and the draws weighted back, so that their
        tails are reached with few draws. 1: plain draws of equal weight.
    points : ndarray, (n, number of uncertain inputs), optional
        Points in the unit cube to use instead of evenly spread ones.

    Returns
    -------
    values : dict of path to ndarray, (n,), SI
    weights : ndarray, (n,), sum 1
    """
    uncertain = [(path, q) for path, q in inputs if q.uncertain]
    if not uncertain:
        return {}, np.ones(1)
    cube = evenly_spread(n, len(uncertain)) if points is None else points
    values: dict[str, Array] = {}
    log_weight = np.zeros(len(cube))
    for column, (path, q) in zip(cube.T, uncertain, strict=True):
        if q.shape == "normal" and widened > 1:
            from scipy.special import ndtri

            z = widened * ndtri(column)
            values[path] = q.nominal + q.sd * z
            log_weight += 0.5 * z**2 * (1 / widened**2 - 1)
        else:
            values[path] = q.ppf(column)
    weights = np.exp(log_weight - log_weight.max())
    return values, weights / weights.sum()


def nodes(q: Quantity, most: int) -> tuple[Array, Array]:
    """Gauss points and weights of a quantity's distribution; one point where it is exact.

    Legendre between limits, Hermite for a normal distribution: an expectation over the quantity is
    the weighted sum (Abramowitz and Stegun 25.4.29 and 25.4.46).

    >>> value, weight = nodes(Quantity(0.5, 0.0, 1.0, "rectangular"), 3)
    >>> round(float((weight * value**4).sum()), 12)
    0.2
    """
    if not q.uncertain:
        return np.array([q.nominal]), np.ones(1)
    if q.shape == "normal":
        x, w = np.polynomial.hermite_e.hermegauss(most)
        return q.nominal + q.sd * x, w / w.sum()
    x, w = np.polynomial.legendre.leggauss(most)
    return q.nominal + (q.high - q.low) / 2 * x, w / 2
