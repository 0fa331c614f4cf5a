"""The field of a magnet: a cuboid that is magnetised evenly, in closed form."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.languages import say

Floats = NDArray[np.float64]

CHUNK = 2048  # points at once: the arrays of one chunk stay in the processor's cache
FAR = 40.0  # half diagonals away, from where the closed form would cancel its own digits
INFINITE = 1e-15  # an edge's distance, per half diagonal, within which the field is not followed


def cuboid_field(
    points: ArrayLike, centre: ArrayLike, size: ArrayLike, polarization: ArrayLike
) -> Floats:
    """Flux density of a cuboid that is magnetised evenly, edges along the axes.

    Parameters
    ----------
    points : array_like, shape (..., 3), m
    centre : array_like, shape (3,), m
    size : array_like, shape (3,), m
        Full edge lengths, all positive.
    polarization : array_like, shape (3,), T
        J = mu0 M; for a magnet its remanence times its direction.

    Returns
    -------
    ndarray, shape (..., 3), T
        Outside and inside (there B = mu0 H + J). A point on a face counts as outside; on an edge,
        where the field is infinite, a large finite value is returned.

    Raises
    ------
    ValueError
        If an edge is not positive and finite.

    Notes
    -----
    Each pole face is a rectangle of even charge: one solid angle and two logarithms. Yang, Hull
    and Beyer 1990; Furlani, Permanent Magnet and Electromechanical Devices (2001), ch. 4. The
    point is first mirrored into the octant x, y, z >= 0, so that no logarithm's argument cancels.
    Beyond `FAR` half diagonals, 27 dipoles at Gauss points take over (error below 1e-9).

    Examples
    --------
    A magnet of 40 x 20 x 10 mm, 10 mm above its pole face:

    >>> cuboid_field([0, 0, 0.015], [0, 0, 0], [0.04, 0.02, 0.01], [0, 0, 1.0])[2].round(7)
    np.float64(0.1155365)
    """
    where = np.asarray(points, dtype=float)
    half = np.asarray(size, dtype=float) / 2
    if half.shape != (3,) or not (np.isfinite(half).all() and (half > 0).all()):
        raise ValueError(
            say("a cuboid's size must be three positive lengths in m, not {size!r}", size=size)
        )
    middle = np.asarray(centre, dtype=float)
    poles = np.asarray(polarization, dtype=float)
    flat = where.reshape(-1, 3)
    field = np.empty(flat.shape)
    reach = FAR * np.linalg.norm(half)
    for start in range(0, len(flat), CHUNK):
        offset = flat[start : start + CHUNK] - middle
        here = field[start : start + CHUNK]
        far = np.einsum("ij,ij->i", offset, offset) > reach**2
        if far.any():
            here[far] = _far_field(offset[far], half, poles)
            here[~far] = _closed_form(offset[~far], half, poles)
        else:
            here[:] = _closed_form(offset, half, poles)
    return field.reshape(where.shape)


def _closed_form(offset: Floats, half: Floats, poles: Floats) -> Floats:
    """B at offsets (n, 3) from the centre, by mirroring into the first octant."""
    mirror = np.where(offset < 0, -1.0, 1.0).T
    place = np.abs(offset).T
    near, other = place - half[:, None], place + half[:, None]  # (3, n): to either face
    sides = np.stack([near, other])  # (2, 3, n)
    squares = sides**2
    apart = np.sqrt(  # (2, 2, 2, n): distance to each corner
        squares[:, None, None, 0] + squares[None, :, None, 1] + squares[None, None, :, 2]
    )
    smallest = (INFINITE * float(np.linalg.norm(half))) ** 2
    field = np.zeros_like(place)
    for axis in map(int, np.flatnonzero(poles)):
        strength = mirror[axis] * (poles[axis] / (4 * np.pi))
        for across in range(3):
            if across == axis:
                part = _solid_angles(sides, apart, axis)
            else:
                part = _logarithms(sides, squares, apart, axis, across, smallest)
            field[across] += strength * part
    field *= mirror
    inside = (near < 0).all(axis=0)
    if inside.any():
        field[:, inside] += poles[:, None]
    return field.T


def _logarithms(
    sides: Floats, squares: Floats, apart: Floats, axis: int, across: int, smallest: float
) -> Floats:
    """4 pi B along `across` for unit poles along `axis`, summed over the four edges between.

    Along an edge at distance rho, from `near` to `other`:
    ln((other + r_other) / (near + r_near)), where near + r = rho^2 / (r - near) if near < 0.
    """
    along = 3 - axis - across
    corners = np.moveaxis(apart, (axis, across, along), (0, 1, 2))
    inward = sides[0, along] < 0
    high = corners[:, :, 1] + sides[1, along]
    low = np.maximum(corners[:, :, 0] + np.abs(sides[0, along]), smallest**0.5)
    if inward.any():
        edge = squares[:, None, axis] + squares[None, :, across]
        low = np.where(inward, np.maximum(edge, smallest) / low, low)
    ratio: Floats = np.log(
        (high[0, 0] * low[0, 1] * low[1, 0] * high[1, 1])
        / (low[0, 0] * high[0, 1] * high[1, 0] * low[1, 1])
    )
    return ratio


def _solid_angles(sides: Floats, apart: Floats, axis: int) -> Floats:
    """4 pi B along `axis` for unit poles along it: the pole faces' solid angles, with sign.

    A face's is the sum of four arctan(u v / (w r)); they are added in pairs as the argument of a
    product of complex numbers, which keeps the digits of their difference.
    """
    u, v = sides[:, (axis + 1) % 3], sides[:, (axis + 2) % 3]
    corners = np.moveaxis(apart, (axis, (axis + 1) % 3, (axis + 2) % 3), (0, 1, 2))
    total: Floats = np.zeros_like(u[0])
    for face, sign in ((0, 1.0), (1, -1.0)):
        w = sides[face, axis]
        depth = np.abs(w)
        r = corners[face]
        angle = np.zeros_like(w)
        for j, turn in ((1, 1.0), (0, -1.0)):
            other, near = u[1] * v[j], u[0] * v[j]
            angle += turn * np.arctan2(
                depth * (other * r[0, j] - near * r[1, j]),
                depth**2 * r[0, j] * r[1, j] + other * near,
            )
        total = total + sign * np.where(w < 0, -angle, angle)
    return total


def _far_field(offset: Floats, half: Floats, poles: Floats) -> Floats:
    """B far off: the cuboid as 3 x 3 x 3 dipoles at the Gauss points of its volume."""
    nodes, weights = np.polynomial.legendre.leggauss(3)
    volume = 8 * np.prod(half)
    field = np.zeros_like(offset)
    for index in np.ndindex(3, 3, 3):
        at = list(index)
        share = np.prod(weights[at]) / 8 * volume / (4 * np.pi)
        reach = offset - nodes[at] * half
        square = np.einsum("ij,ij->i", reach, reach)
        lean = 3 * (reach @ poles) / square
        field += (share / square**1.5)[:, None] * (lean[:, None] * reach - poles)
    return field
