"""Where a voltmeter's probes touch, and which meters may be on at one time.

A meter draws next to nothing, but it decides what an input of the module does that hangs in the
air: it pulls the input down. So an input has a meter only while it is measured itself.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tripmargin.circuit import Network
from tripmargin.faultfinding.suspects.states import MachineState
from tripmargin.machine import Machine
from tripmargin.machine.check_sections import Checks


def metered(
    machine: Machine, network: Network, states: Sequence[MachineState]
) -> Iterator[tuple[str, list[str], list[int]]]:
    """Meters that may be on at one time: input, nodes, numbers of the states measured in.

    First those at everything but the module's inputs, in every state with the engine off, the
    input being ""; then each input that is measured, where it is.
    """
    checks = machine.checks
    assert checks is not None
    still = [k for k, state in enumerate(states) if not state.running]
    inputs = network.detector.nodes()[2:] if network.detector is not None else []
    nodes = _measured(machine, checks)
    yield "", [node for node in nodes if node not in inputs], still
    for node in nodes:
        if node in inputs:
            point = node in _points(machine)
            at = {each.state for each in checks.looks if node in each.between}
            yield node, [node], [k for k in still if point or states[k].name in at]


def _points(machine: Machine) -> list[str]:
    circuit = machine.circuit
    return [] if circuit is None else [point.node for point in circuit.test_points]


def _measured(machine: Machine, checks: Checks) -> list[str]:
    """Nodes that a voltmeter's probe touches."""
    nodes = _points(machine)
    nodes += [node for look in checks.looks if look.kind == "volts" for node in look.between]
    return list(dict.fromkeys(nodes))
