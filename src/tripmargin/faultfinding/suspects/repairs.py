"""What mending or replacing each part takes, and whether it is a module that is replaced whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.faultfinding.suspects.states import MINUTE
from tripmargin.ground.languages import later
from tripmargin.ground.languages.own_words import OwnWords
from tripmargin.ground.languages.phrases import Phrase, Words
from tripmargin.machine import Machine
from tripmargin.machine.check_sections import Checks, PartRepair
from tripmargin.machine.circuit_parts import CircuitPart, FusePart

PROVE_AGAIN = "prove again"
"""Id of the repair that mends nothing: the daily test alone. It suits a machine that is sound."""
HAND_OVER = "hand over"
"""Id of the way out when it is something that is not listed."""


@dataclass(frozen=True, slots=True)
class Usual:
    """Minutes, price in the currency of a machine file, whether a module, and what is done.

    The last is to be said. All invented; a machine file's `[checks.repairs]` overrides them.
    """

    minutes: float
    price: float
    module: bool
    do: str


USUAL: dict[str, Usual] = {
    "battery": Usual(15, 140, False, later("Charge or replace the battery")),
    "fuse": Usual(2, 1, False, later("Replace the fuse")),
    "wire": Usual(25, 6, False, later("Mend the wire, and replace a fuse that it has blown")),
    "connector": Usual(15, 5, False, later("Clean and mend the plug's pin")),
    "ground": Usual(15, 2, False, later("Clean and tighten the ground joint")),
    "resistor": Usual(15, 3, False, later("Replace the resistor")),
    "load": Usual(20, 40, False, later("Replace the consumer")),
    "sensor": Usual(180, 900, True, later("Replace the sensor in the roll")),
    "check winding": Usual(180, 900, True, later("Replace the sensor with its check winding")),
    "diode": Usual(15, 4, False, later("Replace the diode")),
    "lamp": Usual(4, 2, False, later("Replace the bulb")),
    "buzzer": Usual(10, 15, False, later("Replace the buzzer")),
    "led": Usual(10, 8, False, later("Replace the LED")),
    "switch": Usual(25, 25, False, later("Replace the switch")),
    "relay": Usual(5, 90, True, later("Replace the relay module")),
    "solenoid": Usual(60, 220, True, later("Replace the solenoid")),
    "clutch": Usual(120, 380, True, later("Replace the clutch's or the valve's winding")),
    "detector": Usual(30, 650, True, later("Replace the detector module")),
    "pawl springs": Usual(25, 12, False, later("Replace the pawl springs")),
    "pawl clearance": Usual(
        30, 0, False, later("Set the pawl clearance: lower first, then upper, then lower again")
    ),
    "linkage": Usual(40, 30, False, later("Mend the linkage from the plunger to the pawls")),
    "roll": Usual(60, 0, False, later("Demagnetise the roll")),
    "sensor position": Usual(90, 0, False, later("Turn the sensor back and fasten it")),
}


@dataclass(frozen=True, slots=True)
class RepairWork:
    """A repair: what is mended, what it takes, which hypotheses' causes it cures.

    `mended` holds every cause's `mended` that it cures. `doing` and `at` are the words for what is
    done and where; `do` and `place` say them.
    """

    id: str
    doing: Words
    minutes: float
    price: float
    module: bool
    mended: tuple[str, ...]
    at: Words = ""

    @property
    def do(self) -> str:
        """What is done, said now."""
        return str(self.doing)

    @property
    def short(self) -> str:
        """What is done, without what must be said beside it: for a button that asks for it."""
        work: object = self.doing
        if isinstance(self.doing, Phrase) and "rating" in self.doing.values:
            work = self.doing.values["work"]
        return str(work).rstrip(".")

    @property
    def place(self) -> str:
        """Where, said now; empty where the file does not say."""
        return str(self.at)

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
        found.append(
            RepairWork(
                f"mend {name}",
                _doing(ours.do, usual, part),
                usual.minutes if ours.minutes is None else ours.minutes.nominal / MINUTE,
                usual.price if ours.price is None else ours.price.nominal,
                usual.module if ours.module is None else ours.module == "yes",
                tuple(mended),
                _place(part),
            )
        )
    other = RepairWork(
        HAND_OVER,
        Phrase(
            later("Hand the machine over to somebody who can look further, with what was found.")
        ),
        checks.hand_over.nominal / MINUTE,
        0.0,
        False,
        (),
    )
    nothing = Phrase(later("Mend nothing: make the daily test."))
    again = RepairWork(PROVE_AGAIN, nothing, 0.0, 0.0, False, ())
    return (*found, again, other)


def _doing(own: str | None, usual: Usual, part: CircuitPart | None) -> Phrase:
    """What is done, and what must be said beside a fuse; the latter common practice, no source."""
    if own:
        work = Phrase(later("{work}."), {"work": OwnWords(own)})
    elif part is None:
        work = Phrase(later("{work}."), {"work": Phrase(usual.do)})
    else:
        named = {"work": Phrase(usual.do), "part": OwnWords(part.name)}
        work = Phrase(later("{work}: {part}."), named)
    if not isinstance(part, FusePart):
        return work
    return Phrase(
        later(
            "{work} Of the same rating, {rating:g} A, never a larger one. If it blows again, stop:"
            " there is a short, and the test has failed."
        ),
        {"work": work, "rating": part.rating.nominal},
    )


def _place(part: CircuitPart | None) -> Words:
    """Where a part is: as the machine file says, else between which nodes; empty for no part."""
    ends: tuple[str, ...] = getattr(part, "between", ())
    if part is None or part.place or len(ends) != 2:
        return "" if part is None or not part.place else OwnWords(part.place)
    return Phrase(later("{one} to {other}"), {"one": ends[0], "other": ends[1]})
