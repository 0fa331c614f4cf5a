"""Each kind of part in a machine file as the parts or the device that it is in a network."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from tripmargin.circuit.behaviours import CheckWinding, Detector, Input, SensorInput
from tripmargin.circuit.devices import (
    Clutch,
    DetectorUnit,
    Device,
    RelayUnit,
    Solenoid,
)
from tripmargin.circuit.errors import CircuitError
from tripmargin.circuit.moves import BySwitch
from tripmargin.circuit.parts import (
    Buzzer,
    Connector,
    Contact,
    Diode,
    Fuse,
    GroundJoint,
    Lamp,
    Led,
    Load,
    Part,
    Resistive,
    Resistor,
    Source,
    Winding,
    Wire,
)
from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.machine.chain_sections import Suppression
from tripmargin.machine.circuit_devices import (
    ClutchPart,
    DetectorInput,
    DetectorPart,
    RelayPart,
    SolenoidPart,
)
from tripmargin.machine.circuit_parts import (
    Battery,
    BuzzerPart,
    CheckWindingPart,
    CircuitPart,
    ConnectorPart,
    DiodePart,
    FusePart,
    GroundPart,
    LampPart,
    LedPart,
    LoadPart,
    ResistorPart,
    SensorPart,
    SwitchPart,
    WirePart,
)

ANSWER = later("the circuit")
LAMP_VOLTS = 12.0
"""V at which a lamp takes what is printed on it."""

FUSE_DROP = 0.075
"""V across a cold blade fuse at its rating (5 A 17, 10 A 7.5, 20 A 3.4, 30 A 2.1 mohm: typical,
from memory)."""

HYSTERESIS = 0.4
"""V between the supply that is out of range and the one that is in range again, where a machine
file does not say. Engineering judgement, no source."""

OUTPUTS = {
    "trip_out": "out",
    "pull_out": "pull",
    "in_range": "l_ok",
    "low": "l_low",
    "tripped": "l_trip",
}

Fitted = tuple[Part | Device, ...]


def fitted(part: CircuitPart, machine: Machine) -> Fitted:
    """A part of the machine file as it goes into a network.

    Raises
    ------
    NotKnownError
        If it leaves out a value that the machine file gives nowhere.
    CircuitError
        If a wire's section is not in the table.
    """
    made = _FITTED[type(part)](part, machine)
    return made if isinstance(made, tuple) else (made,)


def _given(value: Quantity | None, machine: Machine, path: str) -> float:
    """A value of a part, or where it is left out what the machine file says elsewhere."""
    if value is None:
        (value,) = machine.need(ANSWER, path)
    return value.nominal


def _battery(part: Battery, machine: Machine) -> Fitted:
    positive, negative = part.ends
    volts = part.voltage.nominal
    if part.inside is None:
        return (Source(part.name, positive, negative, volts, follows=True),)
    cells = f"{part.name}.cells"
    return (
        Source(part.name, cells, negative, volts, follows=True),
        Resistive(f"{part.name}.inside", cells, positive, part.inside.nominal),
    )


def _fuse(part: FusePart, machine: Machine) -> Part:
    rating = part.rating.nominal
    ohm = FUSE_DROP / rating if part.resistance is None else part.resistance.nominal
    return Fuse(part.name, *part.ends, ohm, rating)


def _wire(part: WirePart, machine: Machine) -> Part:
    if part.resistance is not None:
        return Wire(part.name, *part.ends, part.resistance.nominal)
    assert part.length is not None
    assert part.section is not None
    length, section = part.length.nominal, part.section.nominal
    try:
        return Wire.of(part.name, *part.ends, length=length, section=section)
    except CircuitError as error:
        named = [replace(problem, field=part.name) for problem in error.problems]
        raise CircuitError(named) from error


def _of_resistance(kind: type[Resistive]) -> Callable[[Any, Machine], Part]:
    def made(part: ConnectorPart | GroundPart | ResistorPart | LoadPart, _: Machine) -> Part:
        return kind(part.name, *part.ends, part.resistance.nominal)

    return made


def _sensor(part: SensorPart, machine: Machine) -> Part:
    ohm = _given(part.resistance, machine, "sensor.coil_resistance")
    return Winding(part.name, *part.ends, ohm)


def _diode(part: DiodePart, machine: Machine) -> Part:
    return Diode(part.name, *part.ends, part.forward.nominal)


def _lamp(part: LampPart, machine: Machine) -> Part:
    ohm = LAMP_VOLTS**2 / part.power.nominal
    return Lamp(part.name, *part.ends, ohm, part.on_from.nominal, part.dim_from.nominal)


def _buzzer(part: BuzzerPart, machine: Machine) -> Part:
    levels = part.on_from.nominal, part.dim_from.nominal
    return Buzzer(part.name, *part.ends, part.resistance.nominal, *levels)


def _led(part: LedPart, machine: Machine) -> Part:
    return Led(
        part.name,
        *part.ends,
        part.forward.nominal,
        part.series.nominal,
        part.on_from.nominal,
        part.dim_from.nominal,
    )


def _switch(part: SwitchPart, machine: Machine) -> Part:
    positions = part.closed_in or part.open_in or ("on",)
    by = BySwitch(part.switch or part.name, frozenset(positions), unless=bool(part.open_in))
    return Contact(part.name, *part.ends, part.resistance.nominal, by)


def _suppression(found: Suppression | None) -> tuple[str, float | None]:
    """Kind, and its ohm or its V."""
    if found is None:
        return "none", None
    value = found.resistance if found.kind == "resistor" else found.voltage
    return found.kind, value.nominal if value is not None else None


def _relay(part: RelayPart, machine: Machine) -> Device:
    return RelayUnit(
        part.name,
        dict(part.at),
        part.coil.nominal,
        part.contact.nominal,
        part.pulls_at.nominal,
        part.drops_at.nominal,
        *_suppression(part.suppression),
    )


def _solenoid(part: SolenoidPart, machine: Machine) -> Device:
    suppression = part.suppression
    if suppression is None:
        suppression = machine.get("chain.hold_winding.suppression")
    at = {"end return" if key == "end_return" else key: node for key, node in part.at}
    return Solenoid(
        part.name,
        at,
        _given(part.hold, machine, "chain.hold_winding.resistance"),
        part.pull.nominal,
        part.end_switch.nominal,
        *_suppression(suppression),
    )


def _clutch(part: ClutchPart, machine: Machine) -> Device:
    at = dict(zip(("15", "31"), part.ends, strict=True))
    return Clutch(part.name, at, part.resistance.nominal, *_suppression(part.suppression))


def _input(node: str, part: DetectorInput, counts: str = "level") -> Input:
    level = part.above if part.above is not None else part.below
    assert level is not None
    return Input(node, level.nominal, part.below is not None, counts == "edge")


def _detector(part: DetectorPart, machine: Machine) -> Device:
    at = dict(part.at)
    held = {"reset": part.reset, "lock": part.lock}
    inputs = {
        name: (found.resistance.nominal, "15" if found.below is not None else "31")
        for name, found in held.items()
        if name in at
    }
    if "sensor" in at:
        inputs["sensor"] = (part.lead.feed.nominal, "15")
    ohm = {"out": part.output.nominal, "pull": part.output.nominal}
    outputs = {
        terminal: (output, ohm.get(output, part.lamp_output.nominal))
        for terminal, output in OUTPUTS.items()
        if terminal in at
    }
    return DetectorUnit(
        part.name,
        at,
        _watching(part, at, machine),
        part.load.nominal,
        outputs,
        part.to_ground,
        inputs,
    )


def _watching(part: DetectorPart, at: dict[str, str], machine: Machine) -> Detector:
    falls = _given(part.supply.falls_at, machine, "detector.supply_minimum")
    rises = part.supply.rises_at
    return Detector(
        supply=(at["15"], at["31"]),
        falls_at=falls,
        rises_at=falls + HYSTERESIS if rises is None else rises.nominal,
        alive_at=part.supply.alive_at.nominal,
        reset=_input(at["reset"], part.reset, part.reset.counts),
        lock=_input(at["lock"], part.lock) if "lock" in at else None,
        sensor=_lead(part, at),
        check=_check(machine),
        timed_pull="pull_out" in at,
    )


def _lead(part: DetectorPart, at: dict[str, str]) -> SensorInput | None:
    if "sensor" not in at:
        return None
    lead = part.lead
    limits = lead.sound_from.nominal, lead.sound_to.nominal
    return SensorInput(at["sensor"], *limits, monitored=lead.broken == "trips")


def _check(machine: Machine) -> CheckWinding | None:
    assert machine.circuit is not None
    for part in machine.circuit.parts:
        if isinstance(part, CheckWindingPart):
            return CheckWinding(part.name, part.trips_from.nominal, part.button)
    return None


def _check_winding(part: CheckWindingPart, machine: Machine) -> Part:
    return Winding(part.name, *part.ends, part.resistance.nominal)


_FITTED: dict[type[CircuitPart], Callable[[Any, Machine], Fitted | Part | Device]] = {
    Battery: _battery,
    FusePart: _fuse,
    WirePart: _wire,
    ConnectorPart: _of_resistance(Connector),
    GroundPart: _of_resistance(GroundJoint),
    ResistorPart: _of_resistance(Resistor),
    LoadPart: _of_resistance(Load),
    SensorPart: _sensor,
    CheckWindingPart: _check_winding,
    DiodePart: _diode,
    LampPart: _lamp,
    BuzzerPart: _buzzer,
    LedPart: _led,
    SwitchPart: _switch,
    RelayPart: _relay,
    SolenoidPart: _solenoid,
    ClutchPart: _clutch,
    DetectorPart: _detector,
}
