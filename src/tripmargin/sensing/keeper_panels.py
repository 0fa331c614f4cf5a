"""Potentials between even charges on the faces of a plate, in closed form.

The plate is halved three times by its mirror planes; what remains is one octant with panels on
three faces: `top` (normal z), `end` (normal x) and `side` (normal y). A charge on a panel has seven
mirror images. All lengths in m; the unit is a potential per charge, times 4 pi.
"""

from __future__ import annotations

from itertools import product

import numpy as np
from numpy.typing import NDArray

from tripmargin.sensing.keeper_mesh import Edges

Floats = NDArray[np.float64]
Signs = tuple[int, int, int]

# Of the mirror images along x, y, z; also of the parity classes about these planes.
SIGNS: tuple[Signs, ...] = tuple((a, b, c) for a, b, c in product((1, -1), repeat=3))
FACES = ((2, 0, 1), (0, 1, 2), (1, 0, 2))  # (normal, first, second axis): top, end, side


def image_potentials(edges: Edges) -> dict[Signs, Floats]:
    """Mean potential over each panel from an even unit charge on each panel's mirror image.

    Parameters
    ----------
    edges : three arrays, m
        Edges of the cells along x, y, z in the octant, from 0 to half the plate's length.

    Returns
    -------
    dict from image signs to ndarray, shape (panels, panels), 1/m
        Panels in the order top, end, side, each with its first axis slowest.

    Notes
    -----
    The fourfold integrals of 1/r over two rectangles are second differences of Newell's f (the
    rectangles parallel) and g (at right angles). Newell, Williams and Dunlop, J. Geophys. Res. 98
    (1993) 9551. The differences keep about 1e-9 of a panel's own potential.
    """
    areas = np.concatenate([panel_areas(edges, face) for face in FACES])
    counts = [len(panel_areas(edges, face)) for face in FACES]
    starts = np.concatenate([[0], np.cumsum(counts)])
    images = {}
    for signs in SIGNS:
        whole = np.empty((len(areas), len(areas)))
        for i, target in enumerate(FACES):
            for j, source in enumerate(FACES):
                rows, columns = slice(*starts[i : i + 2]), slice(*starts[j : j + 2])
                if i == j:
                    whole[rows, columns] = _parallel(edges, target, signs)
                elif i < j:
                    whole[rows, columns] = _crossed(edges, target, source, signs)
                else:  # mirroring source or target is the same
                    whole[rows, columns] = whole[columns, rows].T
        images[signs] = whole / (areas[:, None] * areas)
    return images


def image_sign(parity: Signs, signs: Signs) -> int:
    """+1 or -1: what a field of this parity is multiplied by in the image of these signs."""
    return int(np.prod([even for even, sign in zip(parity, signs, strict=True) if sign < 0]))


def panel_areas(edges: Edges, face: tuple[int, int, int]) -> Floats:
    """Areas of a face's panels, m^2, first axis slowest."""
    _, first, second = face
    return np.outer(np.diff(edges[first]), np.diff(edges[second])).ravel()


def _parallel(edges: Edges, face: tuple[int, int, int], signs: Signs) -> Floats:
    """Integrals of 1/r between the panels of one face and their images."""
    normal, first, second = face
    apart = edges[normal][-1] * (1 - signs[normal])
    u = edges[first][:, None] - signs[first] * edges[first]
    v = edges[second][:, None] - signs[second] * edges[second]
    primitive = newell_f(apart, u[:, :, None, None], v[None, None])
    sums = _differences(primitive) * (signs[first] * signs[second])
    panels = sums.shape[0] * sums.shape[2]
    return sums.transpose(0, 2, 1, 3).reshape(panels, panels)


def _crossed(
    edges: Edges,
    target: tuple[int, int, int],
    source: tuple[int, int, int],
    signs: Signs,
) -> Floats:
    """Integrals of 1/r between the panels of two faces at right angles (source mirrored)."""
    shared = 3 - target[0] - source[0]
    along, across = source[0], target[0]  # the target's and the source's own direction
    u = edges[along] - signs[along] * edges[along][-1]
    v = edges[across][-1] - signs[across] * edges[across]
    w = edges[shared][:, None] - signs[shared] * edges[shared]
    primitive = newell_g(u[:, None, None, None], v[:, None, None], w)
    sums = _differences(primitive) * (signs[across] * signs[shared])  # u, v, w, w'
    order = [0, 2] if target[1] == along else [2, 0]
    order += [1, 3] if source[1] == across else [3, 1]
    turned = sums.transpose(order)
    return turned.reshape(turned.shape[0] * turned.shape[1], -1)


def _differences(primitive: Floats) -> Floats:
    """First difference along each of four axes."""
    for axis in range(4):
        primitive = np.diff(primitive, axis=axis)
    return primitive


def newell_f(x: Floats | float, y: Floats, z: Floats) -> Floats:
    """Newell's f: d4 f / dy2 dz2 = 1/r."""
    xx, yy, zz = np.square(x), np.square(y), np.square(z)
    r = np.sqrt(xx + yy + zz)
    value: Floats = (2 * xx - yy - zz) * r / 6
    value += y / 2 * (zz - xx) * np.arcsinh(y / _root(xx + zz))
    value += z / 2 * (yy - xx) * np.arcsinh(z / _root(xx + yy))
    if np.any(x):
        value -= x * y * z * np.arctan2(y * z, x * r)
    return value


def newell_g(x: Floats, y: Floats, z: Floats) -> Floats:
    """Newell's g: d4 g / dx dy dz2 = 1/r."""
    xx, yy, zz = np.square(x), np.square(y), np.square(z)
    r = np.sqrt(xx + yy + zz)
    value: Floats = -x * y * r / 3
    value += x * y * z * np.arcsinh(z / _root(xx + yy))
    value += y / 6 * (3 * zz - yy) * np.arcsinh(x / _root(yy + zz))
    value += x / 6 * (3 * zz - xx) * np.arcsinh(y / _root(xx + zz))
    value -= z * zz / 6 * _angle(x * y, z * r)
    value -= z * yy / 2 * _angle(x * z, y * r)
    value -= z * xx / 2 * _angle(y * z, x * r)
    return value


def _root(square: Floats) -> Floats:
    """Square root, kept off zero: where it would be zero its logarithm's factor is."""
    return np.sqrt(np.maximum(square, 1e-60))


def _angle(over: Floats, under: Floats) -> Floats:
    """arctan(over / under) without dividing by zero: its factor is zero there."""
    return np.arctan(over / np.where(under == 0, 1.0, under))
