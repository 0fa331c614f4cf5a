import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.circuit.plover_circuit import plover
from tripmargin.circuit import (
    CircuitError,
    Contact,
    Diode,
    Led,
    Network,
    NoSolutionError,
    Resistor,
    Source,
    looking,
    operate,
    solve,
)
from tripmargin.circuit.grid import Grid

OHMS = st.floats(0.01, 1e5)


@st.composite
def networks(draw, diodes=True, sources=1):
    """Random networks: a chain that reaches every node, and parts between any two of them."""
    nodes = ["0", *(f"n{k}" for k in range(draw(st.integers(2, 8))))]
    parts = [Resistor(f"R{k}", nodes[k], nodes[k + 1], draw(OHMS)) for k in range(len(nodes) - 1)]
    ends = st.lists(st.sampled_from(nodes), min_size=2, max_size=2, unique=True)
    for k in range(draw(st.integers(1, 8))):
        p, n = draw(ends)
        kind = draw(st.sampled_from(["resistor", "diode", "led"] if diodes else ["resistor"]))
        if kind == "resistor":
            parts.append(Resistor(f"X{k}", p, n, draw(OHMS)))
        elif kind == "diode":
            parts.append(Diode(f"X{k}", p, n, 0.8, 0.05))
        else:
            parts.append(Led(f"X{k}", p, n))
    for k in range(sources):
        p, n = draw(ends)
        parts.append(Source(f"E{k}", p, f"e{k}", draw(st.floats(-30, 30))))
        parts.append(Resistor(f"I{k}", f"e{k}", n, draw(st.floats(0.01, 10))))
    return Network(tuple(parts))


def scale(found):
    return 1e-9 * (1.0 + max(abs(amps) for amps in found.currents.values()))


@given(networks(sources=2))
def test_as_much_current_comes_to_every_node_as_leaves_it(network):
    found = solve(network)
    for node in network.nodes:
        total = 0.0
        for part in network.parts:
            # A source delivers its current out of p.
            sign = -1.0 if isinstance(part, Source) else 1.0
            total += sign * found.currents[part.name] * ((part.p == node) - (part.n == node))
        assert total == pytest.approx(0.0, abs=scale(found))


@given(networks(), st.randoms())
def test_order_and_names_of_parts_and_nodes_do_not_matter(network, chance):
    nodes = {node: f"x{k}" for k, node in enumerate(network.nodes)} | {"0": "0"}
    parts = [
        replace(part, name=f"p{k}", p=nodes[part.p], n=nodes[part.n])
        for k, part in enumerate(network.parts)
    ]
    new = {f"p{k}": part.name for k, part in enumerate(network.parts)}
    chance.shuffle(parts)
    before, after = solve(network), solve(Network(tuple(parts)))
    worst = 1e-6 * (1 + max(abs(volts) for volts in before.voltages.values()))
    for node, volts in before.voltages.items():
        assert after.voltages[nodes[node]] == pytest.approx(volts, abs=worst)
    for name, amps in after.currents.items():
        assert amps == pytest.approx(before.currents[new[name]], abs=100 * worst)


@given(networks(diodes=False, sources=2))
def test_what_two_sources_do_together_is_the_sum_of_what_each_does_alone(network):
    alone = [
        solve(
            replace(
                network,
                parts=tuple(
                    replace(part, volts=0.0) if part.name == other else part
                    for part in network.parts
                ),
            )
        )
        for other in ("E0", "E1")
    ]
    both = solve(network)
    for node, volts in both.voltages.items():
        assert volts == pytest.approx(sum(each.voltages[node] for each in alone), abs=1e-6)


@given(networks(diodes=False), st.floats(-5, 5))
def test_a_linear_network_scales_with_its_source(network, factor):
    parts = tuple(
        replace(part, volts=part.volts * factor) if isinstance(part, Source) else part
        for part in network.parts
    )
    before, after = solve(network), solve(replace(network, parts=parts))
    for node, volts in before.voltages.items():
        assert after.voltages[node] == pytest.approx(factor * volts, abs=1e-6)


@given(networks())
def test_a_diode_carries_what_its_line_says(network):
    found = solve(network)
    for part in network.parts:
        if isinstance(part, Diode):
            u = found.voltages[part.p] - found.voltages[part.n]
            line = (u - part.forward) / part.slope if u > part.forward else u / network.open_ohm
            amps = found.currents[part.name]
            assert amps == pytest.approx(line, abs=1e-7 * (1 + abs(amps)) + 1e-12 / part.slope)


def test_a_machine_with_its_parts_shuffled_does_the_same():
    network = plover()
    parts = list(network.parts)
    random.Random(7).shuffle(parts)
    other = operate(replace(network, parts=tuple(parts)))
    for before, after in zip(operate(network), other, strict=True):
        assert after.voltages == pytest.approx(before.voltages, abs=1e-4)
        assert after.lamps == before.lamps
        assert (after.relays, after.stop, after.rolls) == (before.relays, before.stop, before.rolls)


@given(networks())
def test_diodes_turned_one_at_a_time_come_to_the_same(network):
    at_once = solve(network)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(looking, "_SWAPS_AT_ONCE", 0)
        assert solve(network).voltages == pytest.approx(at_once.voltages, abs=1e-6)


def test_diodes_that_agree_on_nothing_are_named():
    # No network of positive resistances does this; a negative one at the diode's ends may.
    parts = (Source("B", "30", "0", 12.0), Resistor("R", "30", "a", 1.0), Diode("V1", "a", "0"))
    grid = Grid(Network(parts))
    grid.slope = -1.5 * np.ones(1)
    with pytest.raises(NoSolutionError, match="V1 cannot settle"):
        looking.look(grid, ((), (), 0.0))


def test_contacts_are_open_unless_named_and_stuck_ones_stay():
    lit = Network(
        (
            Source("B", "30", "0", 12.0),
            Contact("S1", "30", "a"),
            Resistor("R", "a", "0", 10.0),
            Contact("S2", "30", "a", stuck=False),
        )
    )
    assert solve(lit).currents["R"] == pytest.approx(0.0, abs=1e-6)
    assert solve(lit, ["S1"]).currents["R"] == pytest.approx(12.0 / 10.01)
    assert solve(lit, ["S2"]).currents["S2"] == pytest.approx(0.0, abs=1e-6)
    with pytest.raises(CircuitError, match="no such contact"):
        solve(lit, ["S3"])


def test_a_solution_says_its_units():
    network = Network((Source("B", "30", "0", 12.0), Resistor("R", "30", "0", 6.0)))
    found = solve(network).to_dict()
    assert found["voltages_V"]["30"] == pytest.approx(12.0)
    assert found["currents_A"]["B"] == pytest.approx(2.0)
