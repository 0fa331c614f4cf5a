"""What mending or replacing each part takes, and whether it is a module that is replaced whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.faultfinding.suspects.states import MINUTE
from tripmargin.machine import Machine
from tripmargin.machine.check_sections import Checks, PartRepair
from tripmargin.machine.circuit_parts import FusePart

PROVE_AGAIN = "prove again"
"""Id of the repair that mends nothing: the daily test alone. It suits a machine that is sound."""
HAND_OVER = "hand over"
"""Id of the way out when it is something that is not listed."""


@dataclass(frozen=True, slots=True)
class Usual:
    """Minutes, price in the currency of a machine file, whether a module, and what is done.

    All invented; a machine file's `[checks.repairs]` overrides them.
    """

    minutes: float
    price: float
    module: bool
    do: str


USUAL: dict[str, Usual] = {
    "battery": Usual(15, 140, False, "Charge or replace the battery"),
    "fuse": Usual(2, 1, False, "Replace the fuse"),
    "wire": Usual(25, 6, False, "Mend the wire, and replace a fuse that it has blown"),
    "connector": Usual(15, 5, False, "Clean and mend the plug's pin"),
    "ground": Usual(15, 2, False, "Clean and tighten the ground joint"),
    "resistor": Usual(15, 3, False, "Replace the resistor"),
    "load": Usual(20, 40, False, "Replace the consumer"),
    "sensor": Usual(180, 900, True, "Replace the sensor in the roll"),
    "check winding": Usual(180, 900, True, "Replace the sensor with its check winding"),
    "diode": Usual(15, 4, False, "Replace the diode"),
    "lamp": Usual(4, 2, False, "Replace the bulb"),
    "buzzer": Usual(10, 15, False, "Replace the buzzer"),
    "led": Usual(10, 8, False, "Replace the LED"),
    "switch": Usual(25, 25, False, "Replace the switch"),
    "relay": Usual(5, 90, True, "Replace the relay module"),
    "solenoid": Usual(60, 220, True, "Replace the solenoid"),
    "clutch": Usual(120, 380, True, "Replace the clutch's or the valve's winding"),
    "detector": Usual(30, 650, True, "Replace the detector module"),
    "pawl springs": Usual(25, 12, False, "Replace the pawl springs"),
    "pawl clearance": Usual(
        30, 0, False, "Set the pawl clearance: lower first, then upper, then lower again"
    ),
    "linkage": Usual(40, 30, False, "Mend the linkage from the plunger to the pawls"),
    "roll": Usual(60, 0, False, "Demagnetise the roll"),
    "sensor position": Usual(90, 0, False, "Turn the sensor back and fasten it"),
}


@dataclass(frozen=True, slots=True)
class RepairWork:
    """A repair: what is mended, what it takes, which hypotheses' causes it cures.

    `mended` holds every cause's `mended` that it cures.
    """

    id: str
    do: str
    minutes: float
    price: float
    module: bool
    mended: tuple[str, ...]
    place: str = ""

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {
            "id": self.id,
            "do": self.do,
            "minutes": self.minutes,
            "price": self.price,
            "module": self.module,
            "mends": list(self.mended),
        }


def repairs_of(
    machine: Machine, checks: Checks, hypotheses: Sequence[Hypothesis]
) -> tuple[RepairWork, ...]:
    """A repair for everything that may have to be mended; 'prove again' and 'hand over' last."""
    own = {repair.name: repair for repair in checks.repairs}
    parts = {part.name: part for part in machine.circuit.parts} if machine.circuit else {}
    groups: dict[str, list[str]] = {}
    for hypothesis in hypotheses:
        for cause in hypothesis.causes:
            with_it = own.get(cause.mended, PartRepair()).together_with
            mended = groups.setdefault(with_it or cause.mended, [])
            if cause.mended not in mended:
                mended.append(cause.mended)
    found = []
    for name, mended in groups.items():
        part = parts.get(name)
        usual = USUAL[part.kind if part is not None else name]
        ours = own.get(name, PartRepair())
        what = f"{usual.do}: {name}" if part is not None else usual.do
        found.append(
            RepairWork(
                f"mend {name}",
                f"{ours.do or what}.{_fuse_words(part)}",
                usual.minutes if ours.minutes is None else ours.minutes.nominal / MINUTE,
                usual.price if ours.price is None else ours.price.nominal,
                usual.module if ours.module is None else ours.module == "yes",
                tuple(mended),
                "" if part is None else part.place or " to ".join(getattr(part, "between", ())),
            )
        )
    other = RepairWork(
        HAND_OVER,
        "Hand the machine over to somebody who can look further, with what was found.",
        checks.hand_over.nominal / MINUTE,
        0.0,
        False,
        (),
    )
    again = RepairWork(PROVE_AGAIN, "Mend nothing: make the daily test.", 0.0, 0.0, False, ())
    return (*found, again, other)


def _fuse_words(part: object) -> str:
    """What must be said beside a fuse; common practice, no source. Empty for another part."""
    if not isinstance(part, FusePart):
        return ""
    return (
        f" Of the same rating, {part.rating.nominal:g} A, never a larger one. If it blows again,"
        " stop: there is a short, and the test has failed."
    )
