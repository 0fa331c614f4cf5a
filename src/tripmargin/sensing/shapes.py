"""Balls, rods and plates: the ellipsoid that stands for each, and where fields are averaged."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later, say

__all__ = ["DIMENSIONS", "averaging_points", "equivalent_semi_axes", "length"]

# What each shape is measured by, in this order. An ellipsoid is measured by its three diameters.
DIMENSIONS: dict[str, tuple[str, ...]] = {
    "ball": ("diameter",),
    "rod": ("diameter", "length"),
    "plate": ("length", "width", "thickness"),
    "ellipsoid": ("diameter", "diameter", "diameter"),
}


_LENGTHS = {
    "diameter": later("diameter"),
    "length": later("length"),
    "width": later("width"),
    "thickness": later("thickness"),
    "factor": later("factor"),
}


def said_length(name: str) -> str:
    """What a length of a piece is called; an argument's name as it is."""
    return say(_LENGTHS[name]) if name in _LENGTHS else name


def length(name: str, value: float, unit: str = " m") -> float:
    """Check that a length is positive and finite.

    Raises
    ------
    ValueError
        If it is not; with its name and the value seen.
    """
    number = float(value)
    if not (math.isfinite(number) and number > 0.0):
        raise ValueError(
            say(
                "{name} = {number:g}{unit}: must be positive and finite.",
                name=said_length(name),
                number=number,
                unit=unit,
            )
        )
    return number


def equivalent_semi_axes(kind: str, dimensions: tuple[float, ...]) -> NDArray[np.float64]:
    """Semi-axes of the ellipsoid of the same proportions and volume, its length first.

    Parameters
    ----------
    kind : str
        "ball", "rod", "plate" or "ellipsoid".
    dimensions : tuple of float, m
        As named in `DIMENSIONS`.

    Returns
    -------
    ndarray, shape (3,), m

    Examples
    --------
    >>> equivalent_semi_axes("ball", (0.02,))
    array([0.01, 0.01, 0.01])
    """
    if kind == "ball":
        sides, scale = (*dimensions, *dimensions, *dimensions), 1.0
    elif kind == "rod":  # pi d^2 L / 4 = (4/3) pi s^3 d^2 L / 8: s^3 = 3/2
        diameter, long = dimensions
        sides, scale = (long, diameter, diameter), 1.5 ** (1 / 3)
    elif kind == "plate":  # L w t = (4/3) pi s^3 L w t / 8: s^3 = 6 / pi
        sides, scale = dimensions, (6.0 / math.pi) ** (1 / 3)
    else:
        sides, scale = dimensions, 1.0
    return np.array([0.5 * scale * side for side in sides])


def averaging_points(
    kind: str, dimensions: tuple[float, ...], n: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Gauss-Legendre points of a rod's length or a plate's face; one point for the rest.

    Parameters
    ----------
    kind : str
        "ball", "rod", "plate" or "ellipsoid".
    dimensions : tuple of float, m
        As named in `DIMENSIONS`.
    n : int
        Points along the length, 1 or more. A plate takes as many across its width as keep the same
        spacing, and at least two where `n` is.

    Returns
    -------
    offsets : ndarray, shape (k, 3), m
        From the centre, along the body axes (length, width, thin side).
    weights : ndarray, shape (k,)
        They sum to 1.

    Raises
    ------
    ValueError
        If `n` is below 1.

    Examples
    --------
    >>> offsets, weights = averaging_points("rod", (0.01, 0.1), 3)
    >>> offsets[:, 0].round(4), weights.round(4)
    (array([-0.0387,  0.    ,  0.0387]), array([0.2778, 0.4444, 0.2778]))
    """
    if n < 1:
        raise ValueError(say("n = {n}: at least one point along the piece is needed.", n=n))
    if kind == "rod":
        u, weights = _gauss(n, dimensions[1])
        return np.stack([u, 0 * u, 0 * u], axis=-1), weights
    if kind == "plate":
        long, wide, _ = dimensions
        across = min(n, max(math.ceil(n * wide / long), 2))
        u, along_weights = _gauss(n, long)
        v, across_weights = _gauss(across, wide)
        uu, vv = (grid.ravel() for grid in np.meshgrid(u, v, indexing="ij"))
        return np.stack([uu, vv, 0 * uu], axis=-1), np.outer(along_weights, across_weights).ravel()
    return np.zeros((1, 3)), np.ones(1)


def _gauss(n: int, over: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Points and weights over a length about its middle; the weights sum to 1."""
    places, weights = np.polynomial.legendre.leggauss(n)
    return 0.5 * over * places, 0.5 * weights
