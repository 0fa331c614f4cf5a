"""What can be checked on a machine: states, looks, paths that prove something, repairs, costs."""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.circuit_parts import Named
from tripmargin.machine.fields import measured, named, number, other

Q = Quantity | None
DAY = 24 * 3600.0

LOOKS: dict[str, str] = {
    "volts": later("voltage between two nodes"),
    "ohms": later("resistance between two nodes, battery disconnected"),
    "fuse": later("a fuse, looked at"),
    "relay": later("a relay pulled from its socket and fed by a battery"),
    "pawl clearance": later("the clearance of both pawls, with a feeler gauge"),
    "pawl springs": later("each pawl pulled back by hand and let go"),
    "plunger": later("the plunger pushed in by hand and let go"),
    "linkage": later("the linkage from the plunger to the pawls, looked at"),
    "roll magnetism": later("a paper clip on a thread along and around the lower front roll"),
    "test piece": later("the test piece sent over the sensor at a known place"),
    "empty run": later("the rolls turning with nothing in them, for some minutes"),
    "stop time": later("the time from the button to the rolls' rest, measured"),
}
"""Kinds of look beside the lamps and movements, which can be seen in every state; each with what it
is, marked for the catalogues."""


def _minutes(meaning: str, **more: object) -> Quantity:
    made: Quantity = measured(meaning, "duration", 0.0, DAY, **more)
    return made


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckState(Named):
    """A state that the machine is brought into to check something."""

    after: str | None = other(
        "text", later("the state that it is reached from; without it, from the machine at rest")
    )
    steps: tuple[str, ...] = other(
        "texts", later("operating steps of the circuit on the way there, in order"), required=True
    )
    minutes: Quantity = _minutes(later("to get here from the state before"), usual="0.5 min")
    back: Quantity = _minutes(later("to bring the machine to rest again from here"), usual="1 min")
    do: str | None = other("text", later("what the person does to bring the machine here"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Look(Named):
    """Something to look at, press, listen to or measure besides the lamps and movements."""

    kind: str = other("choice", later("what is done"), choices=tuple(LOOKS), required=True)
    state: str = other("text", later("the state that the machine must be in"), required=True)
    minutes: Quantity = _minutes(later("that it takes"), usual="1 min")
    between: tuple[str, ...] = other("texts", later("nodes that the meter's probes touch"), count=2)
    unplugged: tuple[str, ...] = other("texts", later("parts that are unplugged meanwhile (ohms)"))
    fuse: str | None = other("text", later("the fuse that is looked at"))
    relay: str | None = other("text", later("the relay that is tried"))
    piece: str | None = other("text", later('the test piece, such as "20 mm ball"'))
    x: Q = measured(later("its place across the roll, from the middle"), "length", -5.0, 5.0)
    height: Q = measured(later("its height above the roll"), "length", 0.0, 1.0)
    do: str | None = other("text", later("what the person does"))
    place: str | None = other("text", later("where"))


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckPath(Named):
    """A check of the protection as people know it: states gone through, things watched."""

    states: tuple[str, ...] = other("texts", later("states gone through, in order"), required=True)
    watch: tuple[str, ...] = other(
        "texts",
        later("lamps, buzzers and movements that are watched; without it, all and the rolls"),
    )
    looks: tuple[str, ...] = other("texts", later("looks that belong to it"))
    minutes: Quantity = _minutes(later("that it takes from the machine at rest"), usual="4 min")
    proves: str | None = other("text", later("what it proves, in words"))
    leaves_open: str | None = other("text", later("what it does not prove, in words"))


@dataclass(frozen=True, slots=True, kw_only=True)
class PartRepair(Named):
    """What mending or replacing a part takes."""

    minutes: Q = _minutes(later("of work"))
    price: Q = number(later("of the part, in the currency of price_of_an_hour"), 0.0, 1e6)
    module: str | None = other(
        "choice", later("whether it is a module that is replaced whole"), choices=("yes", "no")
    )
    together_with: str | None = other(
        "text", later("the part in whose housing it is: replaced with it")
    )
    do: str | None = other("text", later("what is done"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Checks:
    """What can be checked, in which state of the machine, and what it costs."""

    daily: str = other("text", later("the path that proves the machine every day"), required=True)
    worked: tuple[str, ...] = other(
        "texts", later("operating steps that the machine went through before a case is opened"),
        required=True,
    )  # fmt: skip
    price_of_an_hour: Quantity = number(
        later("what an hour of the machine and of the person costs: it weighs parts against time"),
        0.01,
        1e6,
        usual=100,
    )
    wrong: Quantity = measured(
        later("share of looks that people get wrong"), "fraction", 0.0, 0.3, usual="3 %"
    )
    cannot_tell: Quantity = measured(
        later("share of looks that end with 'cannot tell'"), "fraction", 0.0, 0.5, usual="3 %"
    )
    unnoticed: Quantity = _minutes(
        later("how long a first fault stays unnoticed before a second comes"), usual="20 h"
    )
    look: Quantity = _minutes(later("to look at one lamp, buzzer or movement"), usual="0.2 min")
    measure: Quantity = _minutes(later("to measure at a test point"), usual="2 min")
    beside: tuple[str, ...] = other(
        "texts",
        later("lamps and buzzers read beside the machine: not looked at while the engine runs"),
    )
    hand_over: Quantity = _minutes(later("until somebody else has found it"), usual="4 h")
    states: tuple[CheckState, ...] = named(
        CheckState, later("states that the machine is brought into"), required=True
    )
    looks: tuple[Look, ...] = named(
        Look, later("what can be looked at, pressed, listened to, measured")
    )
    paths: tuple[CheckPath, ...] = named(
        CheckPath, later("checks of the protection"), required=True
    )
    repairs: tuple[PartRepair, ...] = named(
        PartRepair, later("repairs of this machine, in place of the usual ones, by the part's name")
    )
