"""Draws of uncertain quantities: evenly spread points instead of random ones."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Literal

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


@lru_cache(maxsize=32)
def _legendre(most: int) -> tuple[Array, Array]:
    x, w = np.polynomial.legendre.leggauss(most)
    return np.asarray(x), np.asarray(w)


@lru_cache(maxsize=32)
def _hermite(most: int) -> tuple[Array, Array]:
    x, w = np.polynomial.hermite_e.hermegauss(most)
    return np.asarray(x), np.asarray(w)


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
        x, w = _hermite(most)
        return q.nominal + q.sd * x, w / w.sum()
    x, w = _legendre(most)
    return q.nominal + (q.high - q.low) / 2 * x, w / 2


def worse_nodes(q: Quantity, most: int, *, worse: Literal["low", "high"]) -> tuple[Array, Array]:
    """Points and weights of a quantity that crowd towards its worse limit.

    For the chance of a rare event, to which only what lies near that limit may contribute, so that
    `nodes` would step over it. Between limits: Gauss points of s, where s^5 is the share of the way
    from the worse limit. Normal: three times as many even steps over 8 standard deviations either
    side. One point where it is exact.

    >>> value, weight = worse_nodes(Quantity(0.5, 0.0, 1.0, "rectangular"), 48, worse="high")
    >>> round(float(weight[value > 0.99].sum()), 2), round(float(weight @ value), 12)
    (0.01, 0.5)
    """
    if not q.uncertain:
        return np.array([q.nominal]), np.ones(1)
    if q.shape == "normal":
        z = np.linspace(-8.0, 8.0, 3 * most)
        w = np.exp(-(z**2) / 2)
        return q.nominal + q.sd * z, w / w.sum()
    x, w = _legendre(most)
    s = (1 + x) / 2
    away = (q.high - q.low) * s**5
    return (q.high - away if worse == "high" else q.low + away), w / 2 * 5 * s**4


_CROWDED = 4.0  # greatest power by which limits are approached
_SHARED = 12.0  # the more inputs, the less need each be near its limit
_SHIFT, _WIDTH = 4.0, 1.4  # of normal draws, standard deviations


def draw_late(
    inputs: Sequence[tuple[str, Quantity]], n: int, leaning: Mapping[str, float]
) -> tuple[dict[str, Array], Array]:
    """As `draw`, every other draw crowded towards the limits that make the result great.

    Parameters
    ----------
    inputs : sequence of (path, Quantity)
    n : int
        Number of draws, even; one where nothing is uncertain.
    leaning : mapping of path to float
        Above zero where the result rises with the input, below where it falls.

    Notes
    -----
    Each draw's weight is 1 over the mean of both ways' densities (the balance heuristic: Veach and
    Guibas, SIGGRAPH 1995, from memory), so no weight is more than twice the average.
    """
    uncertain = [(path, q) for path, q in inputs if q.uncertain]
    if not uncertain:
        return {}, np.ones(1)
    cube = evenly_spread(n, len(uncertain))
    crowded = np.arange(n) % 2 == 1
    shift = _SHIFT / np.sqrt(len(uncertain))
    power = min(_CROWDED, 1 + _SHARED / len(uncertain))
    values: dict[str, Array] = {}
    log_ratio = np.zeros(n)
    for column, (path, q) in zip(cube.T, uncertain, strict=True):
        side = -1.0 if leaning.get(path, 1.0) < 0 else 1.0
        if q.shape == "normal":
            from scipy.special import ndtri

            z = ndtri(column)
            z = np.where(crowded, shift + _WIDTH * z, z)
            values[path] = q.nominal + side * q.sd * z
            log_ratio += (z**2 - ((z - shift) / _WIDTH) ** 2) / 2 - np.log(_WIDTH)
        else:
            away = np.where(crowded, column**power, column)  # share of the way from the limit
            values[path] = q.high - (q.high - q.low) * away
            if side < 0:
                values[path] = q.low + (q.high - q.low) * away
            log_ratio += (1 / power - 1) * np.log(np.maximum(away, 1e-300)) - np.log(power)
    weights = 1 / (1 + np.exp(np.minimum(log_ratio, 600.0)))
    return values, weights / weights.sum()
