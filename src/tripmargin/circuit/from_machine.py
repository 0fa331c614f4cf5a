"""The `[circuit]` of a machine file as a network.

What a part leaves out and the file says elsewhere is taken from there: the hold winding's
resistance, release current and suppression, the detector's least supply, the sensor's windings.
"""

from __future__ import annotations

from tripmargin.circuit.behaviours import Mechanism
from tripmargin.circuit.devices import network_of
from tripmargin.circuit.errors import CircuitError
from tripmargin.circuit.fault_modes import FaultMode, fault_modes
from tripmargin.circuit.faults import Change, Fault
from tripmargin.circuit.fitting import ANSWER, fitted
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import Resistor
from tripmargin.circuit.steps import Step
from tripmargin.ground.errors import MachineFileError, NotKnownError, Problem, TripmarginError
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import OwnWords
from tripmargin.ground.languages.phrases import Phrase
from tripmargin.machine import Machine
from tripmargin.machine.circuit_devices import ClutchPart, SolenoidPart
from tripmargin.machine.circuit_parts import Battery, SignPart
from tripmargin.machine.circuit_sections import Circuit, CircuitStep, FaultRate
from tripmargin.machine.loading import place_of


def network_from_machine(machine: Machine) -> Network:
    """A machine's wiring as a network, with its steps, and its rates of faults.

    Parameters
    ----------
    machine : Machine

    Returns
    -------
    Network

    Raises
    ------
    NotKnownError
        If the machine file has no `[circuit]`, or a part leaves out what the file says nowhere.
    MachineFileError
        If the wiring cannot be solved as it is written: each problem with its file and line.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> network_from_machine(load_machine("dunlin")).part("Y.hold").ohm
    18.0
    """
    circuit = machine.circuit
    if circuit is None:
        raise NotKnownError(ANSWER, ["circuit"])
    try:
        network = network_of(
            [each for part in circuit.parts for each in fitted(part, machine)],
            mechanism=_mechanism(circuit, machine),
            steps=tuple(_step(step, circuit) for step in circuit.steps),
            proves={
                part.name: part.proves
                for part in circuit.parts
                if isinstance(part, SignPart) and part.proves
            },
            rates={
                each.name: (each.rate.nominal, each.source)
                for each in circuit.faults
                if not each.between
            },
            own_faults=tuple(_touching(each) for each in circuit.faults if each.between),
        )
        fault_modes(network)
    except CircuitError as error:
        raise MachineFileError(
            [_placed(problem, circuit, machine.file) for problem in error.problems]
        ) from error
    _measuring_points(network, circuit, machine.file)
    return network


def _touching(own: FaultRate) -> FaultMode:
    """A fault of this machine's own: two nodes that touch."""
    one, other = own.between
    bridge = Resistor(f"{own.name}.touch", one, other, own.resistance.nominal)
    text = Phrase(later("{one} touches {other}"), {"one": one, "other": other})
    if own.text:
        text = OwnWords(own.text)
    fault = Fault(own.name, text, (Change("add", added=bridge),), {}, own.parts)
    return FaultMode(fault, own.rate.nominal, own.source)


def network_of_either(what: Network | Machine) -> Network:
    """A network as it is, a machine's wiring as a network."""
    return network_from_machine(what) if isinstance(what, Machine) else what


def _mechanism(circuit: Circuit, machine: Machine) -> Mechanism | None:
    solenoid = next((part for part in circuit.parts if isinstance(part, SolenoidPart)), None)
    if solenoid is None:
        return None
    clutches = {part.drives: part for part in circuit.parts if isinstance(part, ClutchPart)}
    holds = solenoid.holds_from
    if holds is None:
        (holds,) = machine.need(ANSWER, "chain.hold_winding.release_current")
    grips = {way: part.grips_from.nominal for way, part in clutches.items()}
    windings = {way: f"{part.name}.winding" for way, part in clutches.items()}
    return Mechanism(
        f"{solenoid.name}.hold",
        f"{solenoid.name}.pull",
        holds.nominal,
        solenoid.pulls_from.nominal,
        forward=windings.get("forward"),
        reverse=windings.get("reverse"),
        clutch_min=grips.get("forward", 0.0),
        reverse_min=grips.get("reverse"),
        shift=circuit.shift,
        lock=circuit.lock,
        lock_holds=circuit.lock_holds,
    )


def _step(step: CircuitStep, circuit: Circuit) -> Step:
    volts = step.voltage
    if volts is None:
        batteries = [part.voltage for part in circuit.parts if isinstance(part, Battery)]
        volts = batteries[0] if batteries else None
    made = Step(step.name, dict(step.switches), engine=step.engine, metal=step.metal)
    if volts is None:
        return made
    return Step(made.name, made.switches, volts.nominal, made.engine, made.metal)


def _placed(found: Problem, circuit: Circuit, file: str) -> Problem:
    """A problem of the network with the field, the file and the line that it comes from."""
    path = _path(found, circuit)
    name, line = _place(path, file)
    return Problem(
        name,
        line,
        ".".join(path),
        found.value or ("" if path[-1] in found.field else found.field),
        found.problem,
        found.allowed,
        found.hint,
    )


def _place(path: tuple[str, ...], file: str) -> tuple[str, int | None]:
    try:
        return place_of(file, path)
    except TripmarginError:  # the file has gone, or there never was one
        return file, None


def _path(found: Problem, circuit: Circuit) -> tuple[str, ...]:
    """Where in the machine file a problem lies: a part, a fault, or the first part of a node."""
    if found.field.startswith("faults."):
        return ("circuit", "faults", found.field.removeprefix("faults."))
    names = [part.name for part in circuit.parts]
    name = found.field.partition(".")[0]
    if name in names:
        return ("circuit", "parts", name)
    nodes = set(found.field.removesuffix(", ...").split(", ")) | {found.value}
    for part in circuit.parts:
        ends = [*getattr(part, "between", ()), *(node for _, node in getattr(part, "at", ()))]
        if nodes & set(ends):
            return ("circuit", "parts", part.name)
    return ("circuit",)


def _measuring_points(network: Network, circuit: Circuit, file: str) -> None:
    """A measuring point must lie on a node that is there."""
    from tripmargin.ground.errors import nearest

    wrong = []
    for point in circuit.test_points:
        if point.node not in network.nodes:
            path = ("circuit", "test_points", point.name, "node")
            near = nearest(point.node, network.nodes)
            wrong.append(
                Problem(
                    *_place(path, file),
                    ".".join(path),
                    point.node,
                    say("there is no such node"),
                    say("a node that a part touches"),
                    say('Did you mean "{near}"?', near=near) if near else "",
                )
            )
    if wrong:
        raise MachineFileError(wrong)
