"""Lines along which pieces travel: the fields on them, and the flux that a piece links there."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import pi

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.machine.sensing_sections import Sensor
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.sensor import SensorSources, sources, turned_fields

Array = NDArray[np.float64]
MU0 = 4e-7 * pi  # H/m; the 2019 value differs from it by parts in 1e10
REACH = 0.6  # m either side of the roll's axis on which the fields are computed
_SQUEEZE = 0.1  # m; points stand this much closer together near the axis than far from it
_STEEPNESS = np.arcsinh(REACH / _SQUEEZE)
_ORDER = 8  # points of the local polynomial between field points


@dataclass(frozen=True, slots=True)
class Grid:
    """An even grid along the flow, with the field points that feed it.

    Attributes
    ----------
    y : ndarray, (n,), m
        Even, far longer than the sensor: the piece comes from far off, and the filter settles
        behind it before the record ends.
    points : ndarray, (k,), m
        Where fields are computed: dense near the sensor, sparse far off.
    matrix : ndarray, (n, k)
        From values at `points` to values on `y` within reach; zero rows outside.
    """

    y: Array
    points: Array
    matrix: Array

    @property
    def step(self) -> float:
        """Spacing of `y`, m."""
        return float(self.y[1] - self.y[0])


def grid(*, step: float, behind: float, points: int = 81) -> Grid:
    """A grid of a given spacing (m) that goes on for `behind` (m) after the sensor."""
    least = int(np.ceil((3 * REACH + max(behind, REACH)) / step))
    return _grid(step, 1 << (least - 1).bit_length(), points)


@lru_cache(maxsize=3)  # a fine one takes 16 MB
def _grid(step: float, n: int, points: int) -> Grid:
    t = np.linspace(-1.0, 1.0, points)
    y = -2 * REACH + step * np.arange(n)
    inside = np.abs(y) <= REACH
    matrix = np.zeros((n, points))
    matrix[inside] = _polynomials(np.arcsinh(y[inside] / _SQUEEZE) / _STEEPNESS, t)
    return Grid(np.asarray(y), _field_points(points), matrix)


def _field_points(count: int) -> Array:
    return np.asarray(_SQUEEZE * np.sinh(np.linspace(-1.0, 1.0, count) * _STEEPNESS))


def _polynomials(targets: Array, evenly: Array) -> Array:
    """Weights of the polynomial through the `_ORDER` points nearest each target (Lagrange)."""
    spacing = evenly[1] - evenly[0]
    first = np.floor((targets - evenly[0]) / spacing).astype(int) - _ORDER // 2 + 1
    first = np.clip(first, 0, len(evenly) - _ORDER)
    columns = first[:, None] + np.arange(_ORDER)
    x = (targets[:, None] - evenly[columns]) / spacing
    weights = np.ones_like(x)
    for j in range(_ORDER):
        for k in range(_ORDER):
            if k != j:
                weights[:, j] *= x[:, k] / (j - k)
    matrix = np.zeros((len(targets), len(evenly)))
    np.put_along_axis(matrix, columns, weights, axis=1)
    return matrix


def line_fields(
    source: SensorSources, angle: float, places: Array, heights: Array, on: Grid, offset: Array
) -> tuple[Array, Array]:
    """B0 and b along lines at `places` (p,) and z `heights` (p,), moved by `offset` (3,).

    Returns two arrays (p, k, 3) at the grid's field points, not to be written into.
    """
    if len(places) == 1:
        place = float(places[0]), float(heights[0]), *map(float, offset)
        return _along_one(source.sensor, angle, place, len(on.points))
    return _along(source, angle, places, heights, on.points, offset)


@lru_cache(maxsize=256)  # 12 kB each, 40 of a race's: they know no speed, and a slider moves that
def _along_one(
    sensor: Sensor, angle: float, place: tuple[float, ...], points: int
) -> tuple[Array, Array]:
    """As `line_fields` along one line; `place` is x, z and the offset, m."""
    x, z, *offset = (np.array([one]) for one in place)
    lines = _along(sources(sensor), angle, x, z, _field_points(points), np.concatenate(offset))
    for field in lines:
        field.flags.writeable = False
    return lines


def _along(
    source: SensorSources, angle: float, places: Array, heights: Array, points: Array, offset: Array
) -> tuple[Array, Array]:
    at = np.empty((len(places), len(points), 3))
    at[..., 0] = places[:, None] + offset[0]
    at[..., 1] = points + offset[1]
    at[..., 2] = heights[:, None] + offset[2]
    return turned_fields(source, at, angle)


def averaged_fields(
    source: SensorSources, angle: float, piece: Piece, places: Array, heights: Array, on: Grid
) -> tuple[Array, Array]:
    """B0 and b along lines, each averaged over the piece (models page, Sensing)."""
    offsets, weights = piece.averaging_points()
    magnets: Array | float = 0.0
    windings: Array | float = 0.0
    for offset, weight in zip(offsets, weights, strict=True):
        one, other = line_fields(source, angle, places, heights, on, offset)
        magnets, windings = magnets + weight * one, windings + weight * other
    return np.asarray(magnets), np.asarray(windings)


def linkage(piece: Piece, magnets: Array, windings: Array, on: Grid) -> Array:
    """Flux linkage of a piece along lines, Wb, on the even grid: lambda = m . b (models page).

    `magnets` and `windings` are (p, k, 3), the result (p, n).
    """
    moment = magnets @ piece.moment_tensor().T / MU0 + piece.remanent_moment
    return on_grid(np.einsum("pkc,pkc->pk", moment, windings), on)


def on_grid(values: ArrayLike, on: Grid) -> Array:
    """Values at the field points (..., k) as an even trace (..., n), fading out beyond reach."""
    at_points = np.asarray(values, dtype=float)
    inside = np.flatnonzero(np.abs(on.y) <= REACH)
    within = slice(inside[0], inside[-1] + 1)
    trace = np.empty((*at_points.shape[:-1], len(on.y)))
    trace[..., within] = at_points @ on.matrix[within].T
    for end, beyond in (
        (inside[0], slice(0, inside[0])),
        (inside[-1], slice(inside[-1] + 1, None)),
    ):
        # Far off the linkage falls as a power of the distance; at least as the fourth (two dipole
        # fields of a long sensor), so that the record ends in silence and not in a step.
        ratio = np.abs(on.y[end] / on.y[beyond])
        fade = np.clip((1.6 - np.abs(on.y[beyond]) / (1.25 * REACH)) / 0.6, 0.0, 1.0)
        trace[..., beyond] = trace[..., end, None] * ratio**4 * fade
    return np.asarray(trace)
