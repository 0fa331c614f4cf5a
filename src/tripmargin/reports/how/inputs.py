"""What a played stop is worked out from: the machine's values at their middles, or as drawn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import inf

from tripmargin.ground.languages import later, say
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.stopping.stages import StageModel, pawls_of, serial_stages, swing_stage

_SPEED = ("feed.knives", "feed.cutterhead_speed", "feed.slip")
_REST = (
    "chain.rest.roll_angle",
    "chain.rest.parts.inertia",
    "chain.rest.parts.stiffness",
    "chain.rest.parts.slip_torque",
    "chain.rest.parts.drag_torque",
)
_SEEN = ("detector.gain", "detector.low_cut", "detector.high_cut", "detector.threshold")
_MADE = ("magnet.remanence", "coil.turns")
WORDS = {"given": later("file"), "assumed": later("assumed")}


@dataclass(frozen=True, slots=True)
class Values:
    """A machine's values by their paths: some drawn, all others at their middles."""

    machine: Machine
    drawn: Mapping[str, float] = field(default_factory=dict)

    def __call__(self, path: str, missing: float = inf) -> float:
        """The value at a path, SI; `missing` where the file does not give it."""
        if path in self.drawn:
            return self.drawn[path]
        found = self.machine.get(path)
        return missing if found is None else float(found.nominal)

    def knows(self, *paths: str) -> bool:
        """Whether the file gives all of these."""
        return all(self.machine.get(path) is not None for path in paths)


def models_of(machine: Machine) -> tuple[StageModel, ...]:
    """The stages before coming to rest, as inputs and times; they owe nothing to the cut.

    Raises
    ------
    NotKnownError
        If the machine file lacks what they need.
    """
    swings = (swing_stage(machine, pawl) for pawl in pawls_of(machine))
    return (*serial_stages(machine), *swings)


def sources_of(machine: Machine) -> dict[str, list[str]]:
    """Which fields of the machine file each stage comes from, by the stage's name."""
    count = 0 if machine.sensor is None else len(machine.sensor.assemblies)
    made = [f"sensor.assemblies.{k}.{field}" for k in range(count) for field in _MADE]
    found: dict[str, list[str]] = {
        "signal": _told(machine, (*_SEEN, *made)),
        "speed": _told(machine, _SPEED),
    }
    for model in models_of(machine):
        words = [source_words(machine, path, q) for path, q in model.inputs]
        for name in model.names:
            found[name] = words
    for pawl in pawls_of(machine):
        place = f"chain.pawls.{pawl.name}"
        paths = (f"{place}.ratchet_teeth", f"{place}.ratchet_turns_per_roll_turn")
        found[f"tooth {pawl.name}"] = _told(machine, (*paths, "feed.roll_diameter", *_SPEED[:2]))
    found["through"] = _told(machine, (*_SPEED, "feed.sensor_to_shear_bar"))
    found["rest"] = _told(machine, (*_REST, "feed.roll_diameter"))
    return found


def _told(machine: Machine, paths: tuple[str, ...]) -> list[str]:
    pairs = ((path, machine.get(path)) for path in paths)
    return [source_words(machine, path, q) for path, q in pairs if q is not None]


def source_words(machine: Machine, path: str, q: Quantity) -> str:
    """A field, its value as written, and where that came from.

    >>> import tripmargin
    >>> machine = tripmargin.load_machine("dunlin")
    >>> source_words(machine, "chain.supply", machine.get("chain.supply"))
    'chain.supply = 13.2 V +- 0.8 V (file)'
    """
    where = say("set for this page") if path in machine.changed else say(WORDS[q.source])
    return f"{path} = {q.text or f'{q.nominal:g}'} ({where})"
