"""The wiring in the machine file: its parts, operating steps, test points, rates of faults."""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.circuit_devices import PARTS
from tripmargin.machine.circuit_parts import CircuitPart, Named, Words
from tripmargin.machine.fields import measured, named, number, other, table

Q = Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitStep:
    """A state that a person brings the machine into."""

    name: str = other("text", later("what a person calls it"), required=True)
    switches: Words = other(
        "words", later('position of each switch; one that is not named is "off"')
    )
    voltage: Q = measured(
        later("of the battery; without it the battery's own"), "voltage", 0.0, 100.0
    )
    engine: bool = other("flag", later("the engine drives the rolls"), usual=False)
    metal: bool = other("flag", later("metal passes the sensor"), usual=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuringPoint(Named):
    """A node that a person can reach with a meter."""

    node: str = other("text", later("the node"), required=True)
    place: str | None = other("text", later("where to reach it"))


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultRate(Named):
    """How often a fault comes on this machine; with `between`, a fault of this machine's own."""

    rate: Quantity = number(later("per 1000 operating hours"), 0.0, 1e6, required=True)
    source: str = other("text", later("who says so"), required=True)
    between: tuple[str, ...] = other(
        "texts",
        later("two nodes that touch where they should not: chafed wires, a sneak path"),
        count=2,
    )
    resistance: Quantity = measured(
        later("between the nodes that touch"), "resistance", 1e-6, 1e9, usual="0.05 ohm"
    )
    text: str | None = other("text", later("what a person calls it"))
    parts: tuple[str, ...] = other("texts", later("the parts that are mended for it"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """The wiring, and what is done with it."""

    shift: str = other("text", later("name of the switch that shifts the feed"), usual="shift")
    lock: str = other(
        "text", later("name of the switch that locks the protection out"), usual="lock"
    )
    lock_holds: str = other(
        "choice",
        later(
            "what the lock holds: the pawls out (the feed runs unprotected) or the plunger out (the"
            " feed stays stopped)"
        ),
        choices=("pawls out", "plunger out"),
        usual="pawls out",
    )
    parts: tuple[CircuitPart, ...] = named(PARTS, later("the parts of the wiring"), required=True)
    steps: tuple[CircuitStep, ...] = table(
        CircuitStep,
        later("operating steps, in the order in which a person goes through them"),
        many=True,
    )
    test_points: tuple[MeasuringPoint, ...] = named(
        MeasuringPoint, later("where a person can measure")
    )
    faults: tuple[FaultRate, ...] = named(
        FaultRate,
        later(
            "rates of this machine, in place of the invented ones, by the fault's name; and"
            " faults of its own"
        ),
    )
