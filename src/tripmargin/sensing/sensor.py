"""The sensor of a machine: what its magnets do to the space above the roll, and its windings."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later, say
from tripmargin.machine import Machine
from tripmargin.machine.sensing_sections import Assembly, Sensor
from tripmargin.sensing.keeper import (
    KeeperSources,
    keeper_field,
    rotate_about_x,
    solve_keeper,
)
from tripmargin.sensing.magnets import cuboid_field
from tripmargin.sensing.windings import winding_field

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SensorSources:
    """A sensor with its keeper solved, in its own frame: unturned, as the file writes it."""

    sensor: Sensor
    keeper: KeeperSources | None

    def fields(self, points: Array) -> tuple[Array, Array]:
        """B0 (T) and b (T/A) at points of the sensor's own frame, both shaped as `points`."""
        flat = points.reshape(-1, 3)
        magnets, windings = _bare(self.sensor, flat)
        if self.keeper is not None:
            added = keeper_field(self.keeper, flat)
            magnets, windings = magnets + added[..., 0], windings + added[..., 1]
        return magnets.reshape(points.shape), windings.reshape(points.shape)


def sensor_fields(machine: Machine, points: ArrayLike) -> tuple[Array, Array]:
    """Flux density of the magnets, and of the windings per ampere, keeper included.

    Parameters
    ----------
    machine : Machine
    points : array_like, shape (..., 3), m
        x across the roll from its middle, y with the crop, z up, from the roll's axis.

    Returns
    -------
    B0 : ndarray, shape (..., 3), T
    b : ndarray, shape (..., 3), T/A
        All windings in series, each with its sense.

    Raises
    ------
    NotKnownError
        If the machine file has no sensor.
    ValueError
        If the points do not end in three coordinates.

    Notes
    -----
    Models page. The whole sensor is turned by `sensor.rotation` about the roll's axis, so the
    points are turned back, and the fields forth.

    Examples
    --------
    >>> import tripmargin
    >>> B0, b = sensor_fields(tripmargin.load_machine("curlew"), [[0.1, 0.0, 0.15]])
    >>> B0.shape, b.shape
    ((1, 3), (1, 3))
    """
    at = np.asarray(points, dtype=float)
    if at.shape[-1:] != (3,):
        raise ValueError(say("points: shape {shape}. Allowed: (..., 3), metres.", shape=at.shape))
    sensor = sensor_of(machine)
    angle = 0.0 if sensor.rotation is None else sensor.rotation.nominal
    return turned_fields(sources(sensor), at, angle)


def turned_fields(source: SensorSources, points: Array, angle: float) -> tuple[Array, Array]:
    """The fields of a sensor turned by an angle about the roll's axis, rad."""
    if angle == 0.0:
        return source.fields(points)
    magnets, windings = source.fields(rotate_about_x(points, -angle))
    return rotate_about_x(magnets, angle), rotate_about_x(windings, angle)


_ANSWER = later("what the sensor sees")


def sensor_of(machine: Machine, answer: str = _ANSWER) -> Sensor:
    """The machine's sensor.

    Raises
    ------
    NotKnownError
        If the file has none, or one without a magnet or without a winding.
    """
    if machine.sensor is None:
        raise NotKnownError(answer, ["sensor"])
    assemblies = machine.sensor.assemblies
    missing = [
        f"sensor.assemblies.{part}"
        for part in ("magnet", "coil")
        if not any(getattr(a, part) is not None for a in assemblies)
    ]
    if missing:
        raise NotKnownError(answer, missing)
    return machine.sensor


def sources(sensor: Sensor) -> SensorSources:
    """The sensor with its keeper solved; solved once for each geometry."""
    return _solved(replace(sensor, rotation=None, coil_resistance=None))


@lru_cache(maxsize=32)
def _solved(sensor: Sensor) -> SensorSources:
    plate = sensor.keeper
    if plate is None or plate.relative_permeability.nominal <= 1.0:
        return SensorSources(sensor, None)

    def applied(points: Array) -> Array:
        return np.stack(_bare(sensor, points), axis=-1)

    solved = solve_keeper(
        np.array([q.nominal for q in plate.centre]),
        np.array([q.nominal for q in plate.size]),
        plate.relative_permeability.nominal,
        applied,
    )
    return SensorSources(sensor, solved)


def _bare(sensor: Sensor, points: Array) -> tuple[Array, Array]:
    """B0 and b of magnets and windings alone, without the keeper; points (n, 3)."""
    magnets, windings = np.zeros_like(points), np.zeros_like(points)
    for assembly in sensor.assemblies:
        if assembly.magnet is not None:
            magnets += cuboid_field(points, *_magnet(assembly))
        if assembly.coil is not None:
            coil = assembly.coil
            windings += winding_field(
                points,
                _numbers(assembly.centre),
                _numbers(coil.inner),
                _numbers(coil.outer),
                coil.height.nominal,
                coil.turns.nominal,
                coil.sense,
            )
    return magnets, windings


def _magnet(assembly: Assembly) -> tuple[Array, Array, Array]:
    """Centre, size and polarization of an assembly's magnet."""
    magnet = assembly.magnet
    assert magnet is not None
    direction = np.asarray(magnet.direction)
    polarization = magnet.remanence.nominal * direction / np.linalg.norm(direction)
    return _numbers(assembly.centre), _numbers(magnet.size), polarization


def _numbers(vector: tuple[object, ...]) -> Array:
    return np.array([getattr(q, "nominal", q) for q in vector], dtype=float)
