"""The field of many evenly charged rectangles, fast where they are far and exact where near."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

CHUNK = 32  # points at once: their distances to 4000 panels, 1 MB, stay in the cache
LONGEST = 0.020  # m, no side of a panel is longer once split
NEAR = 1.5  # longest sides: closer than this a panel is taken exactly, else as a point


def split_panels(centres: Floats, halves: Floats, charges: Floats) -> tuple[Floats, Floats, Floats]:
    """The same panels with those longer than `LONGEST` cut into equal parts.

    `centres`, `halves` (panels, 3) in m, `charges` (panels, K): so in, so out.
    """
    parts = np.maximum(np.ceil(2 * halves / LONGEST - 1e-9), 1).astype(int)
    copies = parts.prod(axis=1)
    owner = np.repeat(np.arange(len(centres)), copies)
    rank = np.arange(len(owner)) - np.repeat(np.cumsum(copies) - copies, copies)
    split = parts[owner]
    index = np.stack(
        [rank % split[:, 0], rank // split[:, 0] % split[:, 1], rank // split[:, :2].prod(axis=1)],
        axis=1,
    )
    place = centres[owner] + halves[owner] * ((2 * index + 1) / split - 1)
    return place, halves[owner] / split, charges[owner] / copies[owner, None]


def charges_field(points: Floats, centres: Floats, halves: Floats, charges: Floats) -> Floats:
    """Flux density of evenly charged rectangles, T.

    Parameters
    ----------
    points : ndarray, shape (n, 3), m
    centres, halves : ndarray, shape (panels, 3), m
        A panel's half lengths are 0 along its normal.
    charges : ndarray, shape (panels, K), T m^2
        A charge's field at distance r is q / (4 pi r^2).

    Returns
    -------
    ndarray, shape (n, 3, K), T

    Notes
    -----
    Distances come from one matrix product per chunk (|p|^2 + |s|^2 - 2 p.s, good to some
    nanometres after rounding), and the sums over panels from another. Panels nearer than `NEAR`
    of their longest sides are then exchanged for the exact rectangle.
    """
    middle = centres.mean(axis=0)
    at, sources = points - middle, centres - middle
    columns = charges.shape[1]
    left = np.column_stack([-2 * sources, np.ones(len(sources)), (sources**2).sum(axis=1)])
    moments = np.concatenate(
        [charges, *(charges * sources[:, i : i + 1] for i in range(3))], axis=1
    )
    limits = (NEAR * 2 * halves.max(axis=1)) ** 2
    extent = np.abs(sources).max(axis=0)
    field = np.empty((len(points), 3, columns))
    held = np.empty((2, CHUNK, len(sources)))  # fresh arrays in each turn would cost half the time
    for start in range(0, len(points), CHUNK):
        here = at[start : start + CHUNK]
        right = np.column_stack([here, (here**2).sum(axis=1), np.ones(len(here))])
        squares, weights = held[:, : len(here)]
        np.matmul(right, left.T, out=squares)
        beyond = np.maximum(np.abs(here) - extent, 0)
        touching = bool(((beyond**2).sum(axis=1) < limits.max()).any())
        pairs = np.nonzero(squares < limits) if touching else None
        if pairs is not None:
            squares[pairs] = np.inf
        np.sqrt(squares, out=weights)
        weights *= squares
        np.divide(1 / (4 * np.pi), weights, out=weights)
        sums = (weights @ moments).reshape(len(here), 4, columns)
        part = here[:, :, None] * sums[:, :1] - sums[:, 1:]
        if pairs is not None and len(pairs[0]):
            rows, panels = pairs
            exact = rectangle_field(here[rows] - sources[panels], halves[panels])
            np.add.at(part, rows, exact[:, :, None] * charges[panels, None])
        field[start : start + CHUNK] = part
    return field


def rectangle_field(offsets: Floats, halves: Floats) -> Floats:
    """Field per charge of evenly charged rectangles, 1/m^2.

    Parameters
    ----------
    offsets : ndarray, shape (n, 3), m
        From the rectangle's middle to the point.
    halves : ndarray, shape (n, 3), m
        Half lengths, 0 along the normal.

    Notes
    -----
    As for a magnet's pole face (see `cuboid_field`). In the rectangle's own plane the field of its
    upper side is given; on its edges, where it is infinite, a large finite one.
    """
    normal = halves.argmin(axis=1)
    order = np.stack([(normal + 1) % 3, (normal + 2) % 3, normal], axis=1)
    u, v, w = np.take_along_axis(offsets, order, axis=1).T
    a, b, _ = np.take_along_axis(halves, order, axis=1).T
    tiny = (1e-12 * (a + b)) ** 2
    us, vs = (u + a, u - a), (v + b, v - b)
    result = np.zeros((3, len(u)))
    for i, sign in ((0, 1.0), (1, -1.0)):
        across_u = np.sqrt(np.maximum(us[i] ** 2 + w**2, tiny))
        across_v = np.sqrt(np.maximum(vs[i] ** 2 + w**2, tiny))
        result[0] -= sign * (np.arcsinh(vs[0] / across_u) - np.arcsinh(vs[1] / across_u))
        result[1] -= sign * (np.arcsinh(us[0] / across_v) - np.arcsinh(us[1] / across_v))
        for j, turn in ((0, 1.0), (1, -1.0)):
            r = np.sqrt(us[i] ** 2 + vs[j] ** 2 + w**2)
            result[2] += sign * turn * np.arctan2(us[i] * vs[j], np.abs(w) * r)
    result[2] = np.where(w < 0, -result[2], result[2])
    field = np.empty_like(offsets)
    np.put_along_axis(field, order, (result / (16 * np.pi * a * b)).T, axis=1)
    return field
