"""The field of a winding, per ampere: a rectangular coil with a build of its own."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.languages import say
from tripmargin.sensing.magnets import cuboid_field

Floats = NDArray[np.float64]

MU0 = 1.25663706127e-6  # H/m, CODATA 2022
# Shells by distance from the winding, in builds: (from this far, so many). The nearer, the more.
SHELLS_BY_DISTANCE = ((8.0, 3), (3.0, 4), (1.2, 6), (0.4, 10), (0.0, 16))


def winding_field(
    points: ArrayLike,
    centre: ArrayLike,
    inner: ArrayLike,
    outer: ArrayLike,
    height: float,
    turns: float,
    sense: float,
    shells: int | None = None,
) -> Floats:
    """Flux density per ampere of a rectangular winding, axis along z.

    Parameters
    ----------
    points : array_like, shape (..., 3), m
    centre : array_like, shape (3,), m
        Middle of the winding.
    inner, outer : array_like, shape (2,), m
        Full lengths along x and y of the hole, and of the outside. The turns fill the space
        between, evenly, over the height.
    height : float, m
    turns : float
    sense : float
        +1: current right-handed about +z; -1: left-handed.
    shells : int, optional
        Gauss points over the build. Default: by distance, see Notes.

    Returns
    -------
    ndarray, shape (..., 3), T/A

    Raises
    ------
    ValueError
        If a length is not positive, the outside is smaller than the hole, or shells < 1.

    Notes
    -----
    A thin rectangular solenoid has, everywhere, the flux density of a cuboid magnetised along its
    axis with J = mu0 N I / height (its surface current). The build is a Gauss-Legendre sum over
    such shells, inner to outer rectangle. By default each point gets as many shells as its
    distance asks for: better than 1e-6 from 1.2 builds (15 mm for a build of 12 mm) outwards,
    about 1e-3 at a tenth of a build, no better than some per cent inside the copper itself.

    Examples
    --------
    A square winding so thin and flat that it is a square loop of 1 m: 2 sqrt(2) mu0 / (pi a).

    >>> loop = winding_field([0, 0, 0], [0, 0, 0], [1, 1], [1, 1], 1e-6, 1, 1)
    >>> (loop * 1e6).round(5)
    array([0.     , 0.     , 1.13137])
    """
    hole, outside = np.asarray(inner, dtype=float), np.asarray(outer, dtype=float)
    if not ((hole > 0).all() and (outside >= hole).all() and height > 0):
        raise ValueError(
            say("a winding needs positive lengths, and an outside no smaller than its hole")
        )
    if shells is not None and shells < 1:
        raise ValueError(say("shells must be 1 or more, not {shells}", shells=shells))
    where = np.asarray(points, dtype=float)
    flat = where.reshape(-1, 3)
    middle = np.asarray(centre, dtype=float)
    counts = _shells_for(flat - middle, hole, outside, height, shells)
    field = np.zeros_like(flat)
    for count in np.unique(counts):
        mine = counts == count
        near = flat[mine]
        nodes, weights = np.polynomial.legendre.leggauss(int(count))
        for node, weight in zip(nodes, weights, strict=True):
            sides = hole + (node + 1) / 2 * (outside - hole)
            poles = [0.0, 0.0, weight / 2 * sense * MU0 * turns / height]
            field[mine] += cuboid_field(near, middle, [*sides, height], poles)
    return field.reshape(where.shape)


def _shells_for(
    offset: Floats, hole: Floats, outside: Floats, height: float, shells: int | None
) -> NDArray[np.int64]:
    """How many shells each point needs, from its distance to the copper in builds."""
    build = float((outside - hole).max()) / 2
    if shells is not None or build == 0:
        return np.full(len(offset), shells or 1)
    reach = np.abs(offset)
    over = np.maximum(reach - np.array([*outside, height]) / 2, 0)
    inward = np.maximum((hole / 2 - reach[:, :2]).min(axis=1), 0)  # in the hole: to its wall
    distance = np.sqrt((over**2).sum(axis=1) + inward**2) / build
    counts = np.full(len(offset), SHELLS_BY_DISTANCE[-1][1])
    for start, count in reversed(SHELLS_BY_DISTANCE):
        counts[distance >= start] = count
    return counts
