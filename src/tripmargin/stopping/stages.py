"""The stages of the stop, each as its inputs and the times that follow from them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.machine.chain_sections import Chain, Pawl, Suppression
from tripmargin.stopping import pawl_swing, plunger, windup
from tripmargin.stopping.release import clamp, copper_resistance, release_time

Array = NDArray[np.float64]
Values = Mapping[str, Array]
_FLOOR = 1e-9  # SI; a tolerance may draw a friction or a current below nothing
_RACE = later("the race")


@dataclass(frozen=True, slots=True)
class StageModel:
    """One stage, or two that share inputs: what it depends on and how long it takes.

    Attributes
    ----------
    names : tuple of str
    inputs : tuple of (path, Quantity)
        Paths are those of the machine file.
    times : callable
        Values of the inputs by path, arrays of one shape, to one array a name, s.
    by_parts : bool
        Whether the time is computed from parts and not measured.
    besides : tuple of str and float
        What else the times follow from: two models that are equal save in `times` give the same.
    """

    names: tuple[str, ...]
    inputs: tuple[tuple[str, Quantity], ...]
    times: Callable[[Values], tuple[Array, ...]] = field(compare=False)
    by_parts: bool = False
    besides: tuple[str | float, ...] = ()

    @property
    def uncertain(self) -> tuple[tuple[str, Quantity], ...]:
        """The inputs that may be off."""
        return tuple((path, q) for path, q in self.inputs if q.uncertain)

    def at(self, values: Values) -> tuple[Array, ...]:
        """The times with some inputs set and every other at its middle."""
        full = {path: np.asarray(q.nominal) for path, q in self.inputs}
        full.update({p: np.asarray(values[p]) for p in full if p in values})
        return self.times(full)

    def nominal(self) -> tuple[float, ...]:
        """The times with every input at its middle, s."""
        return _middle_and_limits(self)[0]

    def limits(self) -> tuple[tuple[float, float], ...]:
        """Least and greatest time of each name with every input within its limits, s.

        The times rise or fall with each input alone, so the extremes stand in corners: which corner
        is found by moving one input at a time.
        """
        return _middle_and_limits(self)[1]


@lru_cache(maxsize=256)
def _middle_and_limits(
    model: StageModel,
) -> tuple[tuple[float, ...], tuple[tuple[float, float], ...]]:
    """Remembered, for most settings of a machine leave most stages alone."""
    inputs = model.uncertain
    rows = 2 * len(inputs) + 1  # the ends of each input, then all at their middles
    moved = {path: np.full(rows, q.nominal) for path, q in inputs}
    for i, (path, q) in enumerate(inputs):
        moved[path][2 * i : 2 * i + 2] = q.low, q.high
    times = [np.broadcast_to(one, (rows,)) for one in model.at(moved)]
    corners: dict[str, list[float]] = {path: [] for path, _ in inputs}
    for one in times:
        for (path, q), up in zip(inputs, one[1:-1:2] >= one[0:-1:2], strict=True):
            corners[path] += [q.low, q.high] if up else [q.high, q.low]
    at_corners = model.at({path: np.array(ends) for path, ends in corners.items()})
    limits = []
    for index, one in enumerate(times):
        pair = np.broadcast_to(at_corners[index], (2 * len(times),))[2 * index : 2 * index + 2]
        ends = np.append(pair, one[-1])
        limits.append((float(ends.min()), float(ends.max())))
    return tuple(float(one[-1]) for one in times), tuple(limits)


def _passed_on(name: str, path: str, q: Quantity) -> StageModel:
    """A stage whose time somebody gave."""
    return StageModel((name,), ((path, q),), lambda v: (np.maximum(v[path], 0.0),))


def serial_stages(machine: Machine) -> tuple[StageModel, ...]:
    """The stages that run one after another, from the crossing to the pawls' release.

    Raises
    ------
    NotKnownError
        If the machine file lacks what they need.
    """
    chain = _chain(machine)
    made = []
    if machine.detector is not None:
        (delay,) = machine.need(_RACE, "detector.decision_delay")
        made.append(_passed_on("decision_delay", "detector.decision_delay", delay))
    (relay,) = machine.need(_RACE, "chain.relay_release")
    made.append(_passed_on("relay_release", "chain.relay_release", relay))
    if chain.plunger.parts is not None and chain.hold_winding.release_time is None:
        made.append(_plunger_by_parts(machine))
        return tuple(made)
    made.append(_release(machine))
    if chain.plunger.parts is not None:
        made.append(_fall_after_measured_release(machine))
    else:
        (fall,) = machine.need(_RACE, "chain.plunger.travel_time")
        made.append(_passed_on("plunger", "chain.plunger.travel_time", fall))
    return tuple(made)


def _chain(machine: Machine) -> Chain:
    if machine.chain is None:
        raise NotKnownError(_RACE, ["chain"])
    return machine.chain


_HOLD = "chain.hold_winding."


def _suppression(fitted: Suppression, v: Values) -> dict[str, object]:
    """The suppression as `release_time` takes it, its number drawn."""
    made: dict[str, object] = {"kind": fitted.kind}
    for name in ("resistance", "voltage"):
        if getattr(fitted, name) is not None:
            made[name] = np.maximum(v[f"{_HOLD}suppression.{name}"], 0.0)
    return made


def _winding_inputs(machine: Machine, *names: str) -> tuple[tuple[str, Quantity], ...]:
    paths = [_HOLD + name for name in names] + ["chain.supply"]
    inputs = list(zip(paths, machine.need(_RACE, *paths), strict=True))
    for name in ("suppression.resistance", "suppression.voltage", "temperature"):
        if (q := machine.get(_HOLD + name)) is not None:
            inputs.append((_HOLD + name, q))
    return tuple(inputs)


def _warm_resistance(v: Values) -> Array:
    cold = np.maximum(v[_HOLD + "resistance"], _FLOOR)
    warm = v.get(_HOLD + "temperature")
    return cold if warm is None else np.asarray(copper_resistance(cold, warm - 273.15))


def _release(machine: Machine) -> StageModel:
    """The hold winding's decay, computed, or as somebody measured it."""
    hold = _chain(machine).hold_winding
    if hold.release_time is not None:
        return _passed_on("release", _HOLD + "release_time", hold.release_time)

    def times(v: Values) -> tuple[Array, ...]:
        return (
            np.asarray(
                release_time(
                    inductance=np.maximum(v[_HOLD + "inductance"], _FLOOR),
                    resistance=_warm_resistance(v),
                    supply=np.maximum(v["chain.supply"], 0.0),
                    release_current=np.maximum(v[_HOLD + "release_current"], _FLOOR),
                    suppression=_suppression(hold.suppression, v),
                )
            ),
        )

    inputs = _winding_inputs(machine, "resistance", "inductance", "release_current")
    return StageModel(("release",), inputs, times, besides=(hold.suppression.kind,))


def _plunger_parts(machine: Machine) -> tuple[tuple[str, Quantity], ...]:
    names = ("mass", "travel", "spring_force", "spring_rate", "friction", "damping", "magnet_gap")
    found = [(f"chain.plunger.parts.{n}", machine.get(f"chain.plunger.parts.{n}")) for n in names]
    return tuple((path, q) for path, q in found if q is not None)


def _fall(hold: plunger.HoldCircuit, v: Values) -> tuple[Array, Array]:
    part = {
        name: v[f"chain.plunger.parts.{name}"]
        for name in ("mass", "travel", "spring_force", "spring_rate", "friction", "magnet_gap")
    }
    parts = plunger.PlungerParts(
        mass=np.maximum(part["mass"], _FLOOR),
        travel=np.maximum(part["travel"], _FLOOR),
        spring_force=np.maximum(part["spring_force"], _FLOOR),
        spring_rate=np.maximum(part["spring_rate"], 0.0),
        friction=np.maximum(part["friction"], 0.0),
        damping=np.maximum(v.get("chain.plunger.parts.damping", np.float64(0.0)), 0.0),
        gap=np.maximum(part["magnet_gap"], _FLOOR),
    )
    decay, fall = plunger.plunger_fall(hold, parts)
    return np.asarray(decay), np.asarray(fall)


def _plunger_by_parts(machine: Machine) -> StageModel:
    """Decay and fall together: they share the flux, so their times are not independent."""
    fitted = _chain(machine).hold_winding.suppression

    def times(v: Values) -> tuple[Array, ...]:
        voltage, resistance = clamp(_suppression(fitted, v))
        return _fall(
            plunger.HoldCircuit(
                inductance=np.maximum(v[_HOLD + "inductance"], _FLOOR),
                resistance=_warm_resistance(v),
                supply=np.maximum(v["chain.supply"], 0.0),
                clamp_voltage=voltage,
                clamp_resistance=resistance,
            ),
            v,
        )

    inputs = _winding_inputs(machine, "resistance", "inductance") + _plunger_parts(machine)
    return StageModel(("release", "plunger"), inputs, times, True, (fitted.kind,))


def _fall_after_measured_release(machine: Machine) -> StageModel:
    """The fall as parts behind a measured release: the magnet's force is gone when it starts."""

    def times(v: Values) -> tuple[Array, ...]:
        circuit = plunger.HoldCircuit(
            inductance=1e-6, resistance=1e3, supply=0.0, clamp_voltage=0.0, clamp_resistance=0.0
        )
        return (_fall(circuit, v)[1],)

    return StageModel(("plunger",), _plunger_parts(machine), times, by_parts=True)


def pawls_of(machine: Machine) -> tuple[Pawl, ...]:
    """The machine's pawls.

    Raises
    ------
    NotKnownError
        If it has none.
    """
    pawls = _chain(machine).pawls
    if not pawls:
        raise NotKnownError(_RACE, ["chain.pawls"])
    return pawls


def swing_stage(machine: Machine, pawl: Pawl) -> StageModel:
    """A pawl's swing: measured at one clearance, or computed from its parts."""
    place = f"chain.pawls.{pawl.name}."
    names = ("clearance", "swing_time.time", "swing_time.at_clearance")
    if pawl.parts is not None:
        return _swing_by_parts(machine, pawl, place)
    paths = [place + name for name in names]
    inputs = tuple(zip(paths, machine.need(_RACE, *paths), strict=True))

    def times(v: Values) -> tuple[Array, ...]:
        gap, measured, at = (v[path] for path in paths)
        # Constant push from rest: the time goes with the root of the way (models page, Stopping).
        return (np.maximum(measured, 0.0) * np.sqrt(np.maximum(gap, 0.0) / np.maximum(at, _FLOOR)),)

    return StageModel((f"swing {pawl.name}",), inputs, times)


def _swing_by_parts(machine: Machine, pawl: Pawl, place: str) -> StageModel:
    names = (
        "inertia",
        "spring_torque",
        "spring_rate",
        "friction_torque",
        "damping",
        "engagement_depth",
        "tip_radius",
    )
    paths = [place + "clearance"] + [f"{place}parts.{n}" for n in names]
    inputs = tuple((path, q) for path in paths if (q := machine.get(path)) is not None)

    def times(v: Values) -> tuple[Array, ...]:
        def part(name: str, floor: float) -> Array:
            return np.maximum(v.get(f"{place}parts.{name}", np.float64(0.0)), floor)

        parts = pawl_swing.PawlParts(
            inertia=part("inertia", 1e-12),
            spring_torque=part("spring_torque", _FLOOR),
            spring_rate=part("spring_rate", 0.0),
            friction_torque=part("friction_torque", 0.0),
            damping=part("damping", 0.0),
            engagement_depth=part("engagement_depth", 0.0),
            tip_radius=part("tip_radius", _FLOOR),
        )
        gap = np.maximum(v[place + "clearance"], 0.0)
        return (np.asarray(pawl_swing.pawl_swing_time(parts, gap)),)

    return StageModel((f"swing {pawl.name}",), inputs, times, by_parts=True)


def rest_angle(machine: Machine, roll_speed: float) -> StageModel:
    """The roll's turn from the catch to rest; its `times` are angles, rad."""
    rest = _chain(machine).rest
    if rest.parts is None:
        (angle,) = machine.need(_RACE, "chain.rest.roll_angle")
        return _passed_on("rest", "chain.rest.roll_angle", angle)
    names = ("inertia", "stiffness", "slip_torque", "drag_torque")
    paths = [f"chain.rest.parts.{name}" for name in names]
    inputs = tuple(zip(paths, machine.need(_RACE, *paths), strict=True))
    (diameter,) = machine.need(_RACE, "feed.roll_diameter")

    def angles(v: Values) -> tuple[Array, ...]:
        inertia, stiffness, slip, drag = (v[path] for path in paths)
        parts = windup.WindupParts(
            inertia=np.maximum(inertia, _FLOOR),
            stiffness=np.maximum(stiffness, _FLOOR),
            slip_torque=np.maximum(slip, _FLOOR),
            drag_torque=np.maximum(drag, 0.0),
        )
        found = windup.windup_angle_and_time(parts, roll_speed, diameter.nominal / 2)
        return (np.asarray(found[0]),)

    return StageModel(("rest",), inputs, angles, True, (roll_speed, diameter.nominal))
