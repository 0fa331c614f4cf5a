"""A machine taken through its operating steps, healthy or with faults."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from tripmargin.circuit.faults import Fault, with_faults
from tripmargin.circuit.from_machine import network_of_either
from tripmargin.circuit.indicators import light_of, plunger_word
from tripmargin.circuit.memory import Memory
from tripmargin.circuit.meters import with_meters
from tripmargin.circuit.network import Network
from tripmargin.circuit.running import Outcome, Runner, run_together
from tripmargin.circuit.states import Moment, State, States
from tripmargin.circuit.steps import Step
from tripmargin.machine import Machine


def operate(
    network: Network | Machine,
    steps: Iterable[Step | str] | None = None,
    faults: Sequence[Fault] = (),
    *,
    before: Iterable[Step | str] = (),
    meters: Collection[str] = (),
) -> States:
    """What every lamp, buzzer, meter and movement shows at each step.

    Parameters
    ----------
    network : Network or Machine
        A machine stands for the wiring in its file's `[circuit]`.
    steps : iterable of Step or str, optional
        In order; names are looked up among the machine's own steps. Left out: all of these.
    faults : sequence of Fault
        All of them at once.
    before : iterable of Step or str
        Steps gone through first, without meters; they are not in the answer.
    meters : collection of str
        Nodes that have a voltmeter to the battery's negative post in `steps`.

    Returns
    -------
    States
        Where relays, module and plunger never come to rest the state says so: `chatter`, what
        `alternates`, and each of the `moments`; the next step starts from the safe side of it.

    Raises
    ------
    CircuitError
        If a step is unknown or a fault does not fit the network.
    NotKnownError, MachineFileError
        If the machine's file has no `[circuit]`, or one that cannot be solved as it is written.
    NoSolutionError
        If the diodes find no state that agrees with itself.

    Notes
    -----
    Every voltage is that of a circuit at rest; what happens within milliseconds (how fast a
    winding lets go) is not here but in the stop's stages.
    """
    network = network_of_either(network)
    faulty = with_faults(network, faults)
    chosen, first = network.steps_named(steps), network.steps_named(before)
    runner = Runner(faulty)
    start = runner.start()
    if first:
        last = run_together([runner], first)[0][-1]
        start = last.memory, last.now
    if meters:
        runner = Runner(with_meters(faulty, meters))
    was, found = start[0], []
    for step, outcome in zip(chosen, run_together([runner], chosen, [start])[0], strict=True):
        found.append(_state(runner, step, outcome, was))
        was = outcome.memory
    return States(tuple(found), tuple(fault.id for fault in faults))


def _state(runner: Runner, step: Step, outcome: Outcome, was: Memory) -> State:
    """A step's outcome with its names."""
    rules, network = runner.rules, runner.network
    memory, look = outcome.memory, outcome.looks[-1]
    nodes = rules.grid.nodes
    moments = tuple(
        Moment(
            dict(zip(nodes, each.volts, strict=True)),
            rules.closed(remembered, step),
            {name: light_of(lit, [each]) for name, lit in runner.lights.items()},
        )
        for remembered, each in zip(outcome.memories, outcome.looks, strict=True)
    )
    return State(
        step=step.name,
        voltages=dict(zip(nodes, look.volts, strict=True)),
        currents={part.name: amps for part, amps in zip(network.parts, look.amps, strict=True)},
        closed=moments[-1].closed,
        lamps=dict(zip(runner.lights, outcome.lamps, strict=True)),
        relays={x.name: on for x, on in zip(network.relays, memory.relays, strict=True)},
        tripped=memory.tripped,
        in_range=memory.in_range,
        supply=rules.supply(look),
        plunger="in" if memory.plunger_in else "out",
        plunger_word=plunger_word(memory.plunger_in, was.plunger_in),
        pawls=outcome.now.pawls,
        rolls=outcome.now.rolls,
        stop=outcome.stop,
        momentary_trip=outcome.momentary,
        alternates=outcome.alternates,
        moments=moments if len(moments) > 1 else (),
        fuses_blown=rules.fuse_names(memory.blown),
        blew=rules.fuse_names(
            tuple(now and not then for now, then in zip(memory.blown, was.blown, strict=True))
        ),
        greatest_pull=outcome.greatest_pull,
        least_supply=outcome.least_supply,
    )
