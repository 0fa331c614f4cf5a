"""Cells of a plate's octant: finer where the applied field changes and towards the edges."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Applied = Callable[[Floats], Floats]  # points (n, 3) in m -> fields (n, 3, K) in T
Edges = tuple[Floats, Floats, Floats]  # m, along x, y, z, from the plate's middle outwards

PANELS = 400  # on the octant's three outer faces, about: the size of the linear systems
FEWEST = 8  # cells over half the plate's width
EVEN, CHANGING, EDGE = 0.45, 0.5, 0.05  # shares of the cells along an axis; see octant_edges
SMOOTHINGS = 4  # of that change: neighbouring cells should be of like size
PROBES = (40, 12)  # places along half an axis, and across the plate, where the field is looked at


def octant_edges(size: Floats, applied: Applied, fineness: float = 1.0) -> Edges:
    """Cell edges in one octant of a plate, from its middle (0) outwards.

    Of the cells along the length and the width, `EVEN` are spread evenly, `CHANGING` by how much
    the applied field changes, `EDGE` by the nearness of the plate's edge (geometrically, from 0.4
    of the thickness). Through the thickness they are equal: one cell in half a thin plate.

    Parameters
    ----------
    size : ndarray, shape (3,), m
    applied : callable
        Applied fields; points from the plate's middle.
    fineness : float
        Multiplies the number of cells along each axis.
    """
    order = np.argsort(size, kind="stable")
    counts = _counts(size[order], fineness)
    edges: list[Floats] = [np.empty(0)] * 3
    for axis, count in zip(order, counts, strict=True):
        half = float(size[axis]) / 2
        if axis == order[0]:
            edges[axis] = np.linspace(0, half, count + 1)
            continue
        places = np.linspace(0, half, 400)
        places = np.union1d(places, half - np.geomspace(1e-4, 1, 200) * half)
        share = (
            EVEN * places / half
            + CHANGING * _changes(size, applied, int(axis), int(order[0]), places)
            + EDGE * _towards_edge(places, half, 0.4 * float(size.min()))
        )
        cells = np.interp(np.linspace(0, share[-1], count + 1), share, places)
        cells[0], cells[-1] = 0.0, half
        edges[axis] = cells
    return edges[0], edges[1], edges[2]


def _counts(lengths: Floats, fineness: float) -> tuple[int, int, int]:
    """Cells through half the thickness, half the width, half the length."""
    thickness, width, length = lengths
    faces = 1 + thickness / width + thickness / length  # areas, in that of the largest face
    across = round(max(np.sqrt(PANELS / faces * width / length), FEWEST))
    through = max(1, round(across * thickness / width / 2))
    along = round((PANELS - across * through) / (across + through))
    return (
        max(1, round(through * fineness)),
        max(2, round(across * fineness)),
        max(2, round(along * fineness)),
    )


def _changes(size: Floats, applied: Applied, axis: int, thin: int, places: Floats) -> Floats:
    """How much of all change of the applied fields along `axis` lies within each place, 0 to 1."""
    along, across = PROBES
    other = 3 - axis - thin
    points = np.zeros((2 * along + 1, across, 3))
    points[..., axis] = np.linspace(-0.5, 0.5, 2 * along + 1)[:, None] * size[axis]
    points[..., other] = ((np.arange(across) + 0.5) / across - 0.5) * size[other]
    fields = applied(points.reshape(-1, 3)).reshape(2 * along + 1, across, 3, -1)
    steps = np.sqrt((np.diff(fields, axis=0) ** 2).sum(axis=2).mean(axis=1))  # (2 along, K)
    folded = steps[along:] + steps[:along][::-1]
    for _ in range(SMOOTHINGS):
        padded = np.concatenate([folded[:1], folded, folded[-1:]])
        folded = (padded[:-2] + 2 * padded[1:-1] + padded[2:]) / 4
    change = np.sqrt(folded + 1e-12 * folded.max(axis=0) + np.finfo(float).tiny)
    change = (change / change.sum(axis=0)).mean(axis=1)
    reached = np.concatenate([[0.0], np.cumsum(change)])
    share: Floats = np.interp(places, np.linspace(0, size[axis] / 2, along + 1), reached)
    return share


def _towards_edge(places: Floats, half: float, finest: float) -> Floats:
    """Share of cells up to each place if they grow inwards from `finest`, each by some 0.6."""
    grown = finest + 0.6 * half
    spread: Floats = np.log(grown / (finest + 0.6 * (half - places))) / np.log(grown / finest)
    return spread
