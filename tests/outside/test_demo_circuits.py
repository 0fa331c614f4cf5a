"""The demo machines' circuits against an outside simulator, in every step, with every single fault.

And with a sample of pairs of faults, more of those that sit close together and so may hide each
other.

ngspice, run here on every state that a machine comes into. It gets the parts and which contacts
are closed; which diodes conduct it finds by itself. Lamps are read off its voltages by a few lines
of their own below. Whether relays, detector and plunger rest where we say is checked on its
voltages too.
"""

import numpy as np
import pytest

from tests.circuit.spice import voltages_of_states
from tripmargin.circuit import (
    GROUND,
    Failed,
    Lamp,
    Led,
    fault_modes,
    network_from_machine,
    operate,
    pairs,
    with_faults,
)
from tripmargin.circuit.parts import Buzzer, original
from tripmargin.machine import demo_machines, load_machine

SHARES = 2  # every machine's faults in so many tests, so that they can run side by side
PAIRS = 40  # of every machine
CLOSER = 4.0  # how much likelier a pair is drawn for each part fewer between its faults
NEAR = 1e-6  # V or A: a lamp this near to a limit would be nobody's


def moments_of(states):
    """Each moment of each step: (step, closed, voltages, lamps)."""
    for state in states:
        if state.chatter:
            for each in state.moments:
                yield state, each.closed, each.voltages, each.lamps
        else:
            yield state, state.closed, state.voltages, state.lamps


def lamp_by_hand(part, volts):
    """On, dim or off from the voltages alone."""
    fitted = original(part)
    if isinstance(part, Failed):
        return "off"
    across = volts[part.p] - volts[part.n]
    if isinstance(fitted, Led):
        size = max(0.0, across - fitted.forward) / fitted.slope
    else:
        size = abs(across)
    assert min(abs(size - fitted.on), abs(size - fitted.dim)) > NEAR, part.name
    return "on" if size >= fitted.on else "dim" if size >= fitted.dim else "off"


def compare(network, states, program, folder):
    """Every node and every lamp of every step; how many states and how far off, V."""
    volts = {step.name: step.volts + network.volts_offset for step in network.steps}
    known = {}
    for state, closed, _, _ in moments_of(states):
        known.setdefault((closed, state.fuses_blown, volts[state.step]), None)
    known = dict(zip(known, voltages_of_states(program, folder, network, list(known)), strict=True))
    lamps = [part for part in network.parts if isinstance(original(part), Lamp | Led | Buzzer)]
    worst, seen = 0.0, {}
    for state, closed, ours, lit in moments_of(states):
        theirs = known[closed, state.fuses_blown, volts[state.step]]
        worst = max(worst, *(abs(ours[node] - theirs[node]) for node in theirs))
        by_hand = {part.name: lamp_by_hand(part, theirs) for part in lamps}
        assert lit == by_hand, (states.faults, state.step)
        seen.setdefault(state.step, []).append((by_hand, theirs))
        if not state.chatter:
            at_rest(network, state, theirs)
    for state in states:
        for name, word in state.lamps.items():
            words = {by_hand[name] for by_hand, _ in seen[state.step]}
            assert word == (words.pop() if len(words) == 1 else "flicker"), (state.step, name)
    assert worst < 1e-3, states.faults
    return len(known), worst


def at_rest(network, state, volts):
    """Relays, supply range and plunger agree with the simulator's voltages and stay as they are."""
    for relay in network.relays:
        coil = network.part(relay.coil)
        across = abs(volts[coil.p] - volts[coil.n])
        if state.relays[relay.name]:
            assert across > relay.drops_at, (state.step, relay.name)
        elif not isinstance(coil, Failed):
            assert across < relay.pulls_at, (state.step, relay.name)
    detector = network.detector
    supply = volts[detector.supply[0]] - volts[detector.supply[1]]
    assert state.supply == pytest.approx(supply, abs=1e-3)
    assert supply >= detector.falls_at if state.in_range else supply < detector.rises_at
    assert state.in_range or state.tripped
    if state.plunger == "in" and "plunger_stuck" not in network.behaviour:
        amps = [
            abs(volts[part.p] - volts[part.n]) / part.ohm
            for part in map(network.part, (network.mechanism.hold, network.mechanism.pull))
        ]
        limits = (network.mechanism.hold_min, network.mechanism.pull_min)
        assert any(i >= least for i, least in zip(amps, limits, strict=True)), state.step


@pytest.mark.parametrize("name", demo_machines())
def test_every_lamp_and_node_of_a_healthy_demo_machine_is_the_simulators(name, ngspice, tmp_path):
    network = network_from_machine(load_machine(name))
    count, _ = compare(network, operate(network), ngspice, tmp_path)
    assert count >= 10


@pytest.mark.parametrize("share", range(SHARES))
@pytest.mark.parametrize("name", demo_machines())
def test_every_lamp_and_node_is_the_simulators_with_every_single_fault(
    name, share, ngspice, tmp_path
):
    network = network_from_machine(load_machine(name))
    faults = [mode.fault for mode in fault_modes(network)][share::SHARES]
    assert len(faults) > 30
    for fault in faults:
        states = operate(network, faults=[fault])
        compare(with_faults(network, [fault]), states, ngspice, tmp_path)


def site(network, fault):
    """The nodes at which a fault sits: of its parts, of its relay's, or of what it disturbs."""
    own = {*fault.parts, *(change.part for change in fault.changes)}
    found = {
        node
        for part in network.parts
        if part.name in own or part.name.split(".")[0] in own
        for node in (part.p, part.n)
    }
    if not found and "detect_dead" in fault.behaviour:
        found = set(network.detector.supply)
    if not found:  # the plunger, and what it moves
        coils = map(network.part, (network.mechanism.hold, network.mechanism.pull))
        found = {node for coil in coils for node in (coil.p, coil.n)}
    return found - {GROUND}


def parts_away(network, start):
    """How many parts each node is away from some nodes; no way leads through the ground."""
    away, count = dict.fromkeys(start, 0), 0
    while True:
        count += 1
        ends = [(part.p, part.n) for part in network.parts if GROUND not in (part.p, part.n)]
        new = {b for p, n in ends for a, b in ((p, n), (n, p)) if a in away and b not in away}
        if not new:
            return away
        away |= dict.fromkeys(new, count)


def drawn_pairs(network, seed):
    """Pairs of faults in different parts, the closer the likelier; (parts between, pair)."""
    sites = {mode.fault.id: site(network, mode.fault) for mode in fault_modes(network)}
    away = {name: parts_away(network, nodes) for name, nodes in sites.items()}
    possible = [
        (min(away[a.id].get(node, len(network.parts)) for node in sites[b.id]), (a, b))
        for a, b in pairs([mode.fault for mode in fault_modes(network)])
        if not set(a.parts) & set(b.parts)
    ]
    weights = CLOSER ** -np.array([between for between, _ in possible], dtype=float)
    rng = np.random.default_rng(seed)
    drawn = rng.choice(len(possible), PAIRS, replace=False, p=weights / weights.sum())
    return [possible[k] for k in drawn]


@pytest.mark.parametrize("name", demo_machines())
def test_every_lamp_and_node_is_the_simulators_with_pairs_of_faults(name, ngspice, tmp_path):
    network = network_from_machine(load_machine(name))
    drawn = drawn_pairs(network, seed=len(network.parts))
    assert np.mean([between for between, _ in drawn]) < 1.5
    for _, pair in drawn:
        states = operate(network, faults=pair)
        compare(with_faults(network, pair), states, ngspice, tmp_path)
