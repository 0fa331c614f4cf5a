"""Circuits in the neutral form: plain dictionaries, values in SI, ohm, V and A."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from tripmargin.circuit.behaviours import (
    CheckWinding,
    Detector,
    Input,
    Mechanism,
    Relay,
    SensorInput,
)
from tripmargin.circuit.errors import CircuitError, problem, unknown
from tripmargin.circuit.moves import ByModule, ByPlunger, ByRelay, BySwitch, Mover
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import (
    GROUND,
    OPEN_OHM,
    Buzzer,
    Contact,
    Diode,
    Fuse,
    GroundJoint,
    Lamp,
    Led,
    Load,
    Part,
    RelayCoil,
    Resistor,
    Source,
    Suppression,
    Winding,
    Wire,
)
from tripmargin.circuit.steps import OFF, ON, Step
from tripmargin.ground.errors import Problem
from tripmargin.ground.languages import say

Row = Mapping[str, Any]

_SIMPLE: dict[str, Callable[..., Part]] = {
    "resistor": Resistor,
    "coil": RelayCoil,
    "winding": Winding,
    "lamp": Lamp,
    "buzzer": Buzzer,
    "ground": GroundJoint,
    "load": Load,
    "suppression": Suppression,
}

_OTHERS: dict[str, Callable[[str, str, str, Row], Part]] = {
    "source": lambda i, p, n, row: Source(i, p, n, float(row["volts"]), follows=True),
    "wire": lambda i, p, n, row: Wire(
        i,
        p,
        n,
        float(row["ohm"]),
        row.get("length_m"),
        row["mm2"] * 1e-6 if row.get("mm2") is not None else None,
    ),
    "fuse": lambda i, p, n, row: Fuse(i, p, n, float(row["ohm"]), float(row["rating_A"])),
    "contact": lambda i, p, n, row: Contact(
        i, p, n, float(row["ohm_closed"]), _mover(i, str(row["by"]))
    ),
    "diode": lambda i, p, n, row: Diode(i, p, n, float(row["vf"]), float(row["rs"])),
    "led": lambda i, p, n, row: Led(i, p, n, float(row["vf"]), float(row["rs"])),
}

ELEMENTS = (*_SIMPLE, *_OTHERS)
"""Types of element in the neutral form."""

_SWITCHES = ("key", "arm", "test", "lamp_check", "lock", "shift")


def network_from_neutral(machine: Row, *, open_ohm: float = OPEN_OHM) -> Network:
    """A network from its neutral form.

    Parameters
    ----------
    machine : mapping
        `netlist`, a list of elements `{id, type, p, n, ...}`; and, where there are any, `relays`,
        `module`, `mechanism`, `lamps`, `steps`.
    open_ohm : float, ohm
        What an open contact still lets through.

    Returns
    -------
    Network
        Locked, its plunger stays out: that is what this form means by the lock.

    Raises
    ------
    CircuitError
        If it cannot be solved as it stands; every problem is named.

    Examples
    --------
    >>> network_from_neutral({"netlist": [
    ...     {"id": "B", "type": "source", "p": "30", "n": "0", "volts": 12.6},
    ...     {"id": "H", "type": "lamp", "p": "30", "n": "0", "ohm": 72.0},
    ... ]}).indicators
    ('H',)
    """
    parts = _parts(machine.get("netlist", ()))
    module, mechanism = machine.get("module"), machine.get("mechanism")
    try:
        relays = tuple(
            Relay(name, row["coil"], float(row["pickup_V"]), float(row["dropout_V"]))
            for name, row in (machine.get("relays") or {}).items()
        )
        detector = _detector(module) if module else None
        moves = _mechanism(mechanism) if mechanism else None
    except KeyError as lacking:
        raise CircuitError([lacking_value("relays, module or mechanism", lacking)]) from None
    return Network(
        parts,
        relays,
        detector,
        moves,
        tuple(step_from_neutral(step) for step in machine.get("steps", ())),
        {name: row.get("proves", "") for name, row in (machine.get("lamps") or {}).items()},
        open_ohm=open_ohm,
    )


def _parts(rows: Iterable[Row]) -> tuple[Part, ...]:
    """Every element, or every problem with them."""
    found: list[Problem] = []
    parts: list[Part] = []
    for row in rows:
        try:
            parts.append(part_from_neutral(row))
        except CircuitError as error:
            found += error.problems
    if found:
        raise CircuitError(found)
    return tuple(parts)


def part_from_neutral(row: Row) -> Part:
    """One part from its neutral form.

    Raises
    ------
    CircuitError
        If its type is unknown, a terminal is not connected or a value is missing.
    """
    name, kind = str(row.get("id", "?")), str(row.get("type", ""))
    if kind not in ELEMENTS:
        raise CircuitError([unknown(f"{name}.type", kind, ELEMENTS, "element")])
    for terminal in ("p", "n"):
        if row.get(terminal) in (None, ""):
            raise CircuitError(
                [
                    problem(
                        f"{name}.{terminal}",
                        None,
                        say("this terminal is not connected"),
                        say("the name of a node"),
                        say(
                            "Name the node that it goes to; the battery's negative post is"
                            ' "{node}".',
                            node=GROUND,
                        ),
                    )
                ]
            )
    p, n = str(row["p"]), str(row["n"])
    try:
        if kind in _SIMPLE:
            return _SIMPLE[kind](name, p, n, float(row["ohm"]))
        return _OTHERS[kind](name, p, n, row)
    except KeyError as lacking:
        raise CircuitError([lacking_value(name, lacking)]) from None
    except (TypeError, ValueError) as error:
        if isinstance(error, CircuitError):
            raise
        raise CircuitError([problem(name, dict(row), say("a value is not a number"))]) from None


def lacking_value(where: str, key: KeyError) -> Problem:
    """A value that the neutral form must give and does not."""
    return problem(f"{where}.{key.args[0]}", None, say("this value is missing"))


def _mover(name: str, by: str) -> Mover:
    """What moves a contact, from its text.

    >>> _mover("K1_NO", "relay:K1:no").make
    True
    """
    word, _, rest = by.partition(":")
    if word == "relay":
        relay, _, side = rest.partition(":")
        if side in ("no", "nc"):
            return ByRelay(relay, make=side == "no")
    elif word == "module":
        return ByModule(rest)
    elif word == "end_switch":
        return ByPlunger()
    elif word in _SWITCHES:
        if rest.startswith("not_"):
            return BySwitch(word, frozenset({rest[4:]}), unless=True)
        return BySwitch(word, frozenset({rest or ON}))
    known = [*_SWITCHES, "relay:NAME:no", "relay:NAME:nc", "module:OUTPUT", "end_switch"]
    raise CircuitError([unknown(f"{name}.by", by, known, "way to move a contact")])


def _detector(row: Row) -> Detector:
    reset, lock, sensor, test = (row.get(key) for key in ("reset", "lock", "sensor", "test"))
    if reset is None:
        raise KeyError("reset")
    return Detector(
        supply=(str(row["supply"][0]), str(row["supply"][1])),
        rises_at=float(row["limit_rise_V"]),
        falls_at=float(row["limit_fall_V"]),
        alive_at=float(row["alive_V"]),
        reset=Input(
            str(reset["node"]),
            float(reset["V"]),
            active_low=reset["active"] == "low",
            on_edge=reset["mode"] == "edge",
        ),
        lock=Input(str(lock["node"]), float(lock["V"]), active_low=lock["trip_if"] == "below")
        if lock
        else None,
        sensor=SensorInput(
            str(sensor["node"]),
            float(sensor["low"]),
            float(sensor["high"]),
            bool(sensor.get("monitored")),
        )
        if sensor
        else None,
        check=CheckWinding(str(test["coil"]), float(test["min_A"])) if test else None,
        timed_pull=row.get("pull_output") == "timed",
    )


def _mechanism(row: Row) -> Mechanism:
    return Mechanism(
        hold=str(row["hold"]),
        pull=str(row["pull"]),
        hold_min=float(row["hold_min_A"]),
        pull_min=float(row["pull_min_A"]),
        forward=row.get("clutch_fwd"),
        reverse=row.get("clutch_rev"),
        clutch_min=float(row.get("clutch_min_A") or 0.0),
        lock_holds="plunger out",
        jerks_undriven=True,
    )


def step_from_neutral(row: Row) -> Step:
    """An operating step from its neutral form; switches are 0 or 1, or the name of a position.

    >>> step_from_neutral({"name": "armed", "key": 1, "arm": 1, "volts": 12.6}).position("arm")
    'on'
    """
    switches = {
        key: value if isinstance(value, str) else ON if value else OFF
        for key, value in row.items()
        if key not in ("name", "volts", "engine", "metal")
    }
    if "name" not in row or "volts" not in row:
        raise CircuitError([problem("steps", dict(row), say("a step needs a name and volts"))])
    return Step(
        str(row["name"]),
        switches,
        float(row["volts"]),
        engine=bool(row.get("engine")),
        metal=bool(row.get("metal")),
    )
