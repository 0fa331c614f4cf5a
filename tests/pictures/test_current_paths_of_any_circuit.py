"""Circuits that nobody planned for, as current paths: no part is lost and no words meet."""

import re
from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from tests.pictures.circuit_reading import SIMPLE, drawn, names, state_of
from tests.pictures.reading import outside_page, overlaps
from tripmargin.circuit import (
    BySwitch,
    Contact,
    Diode,
    GroundJoint,
    Lamp,
    Led,
    Network,
    NoSolutionError,
    Resistor,
    Source,
    operate,
)
from tripmargin.pictures import current_paths_picture
from tripmargin.pictures.current_paths_grid import strip_of
from tripmargin.pictures.current_paths_layout import groups_of, heights_of, strips_of

ODD = {
    "one loop": (Resistor("R", "30", "0", 10.0),),
    "a part whose ends are one node": (
        Resistor("R", "30", "0", 10.0),
        Resistor("self", "30", "30", 1.0),
        Resistor("inner", "A", "A", 1.0),
        Resistor("to A", "30", "A", 1.0),
        Resistor("ground", "0", "0", 1.0),
    ),
    "a bridge": (
        Resistor("a", "30", "A", 10.0),
        Resistor("b", "30", "B", 10.0),
        Resistor("c", "A", "0", 10.0),
        Resistor("d", "B", "0", 10.0),
        Lamp("across", "A", "B", 20.0),
    ),
    "loose ends": (
        Resistor("up", "30", "A", 1.0),
        Resistor("down", "0", "B", 1.0),
        Resistor("on", "B", "C", 1.0),
    ),
    "long names": (
        Resistor("the resistor in the housing under the driver's seat", "30", "A" * 60, 1.0),
        Lamp("L" * 60, "A" * 60, "0", 20.0),
    ),
    "markup": (Resistor('<b>&"', "30", "<i>", 1.0), Lamp("</svg>", "<i>", "0", 20.0)),
    "many in parallel": tuple(Resistor(f"R{k}", "30", "0", 10.0) for k in range(40)),
    "a long chain": tuple(
        Resistor(f"R{k}", f"N{k}" if k else "30", f"N{k + 1}" if k < 29 else "0", 1.0)
        for k in range(30)
    ),
    "two batteries": (Source("second", "A", "0", 6.0), Resistor("between", "30", "A", 2.0)),
}


@pytest.mark.parametrize("width", [280, 1200])
@pytest.mark.parametrize("name", ODD)
def test_an_odd_circuit_loses_no_part_and_no_words_meet(name, width):
    network, state = state_of(*ODD[name])
    svg = current_paths_picture(network, state, width=width)
    assert sorted(part for part, _, _ in drawn(svg)) == names(network)
    assert overlaps(svg) == []
    assert outside_page(svg) == []


def test_a_circuit_without_a_source_is_drawn_dead():
    network = Network((Resistor("R", "A", "0", 1.0), Resistor("self", "0", "0", 1.0)))
    state = operate(network, [SIMPLE])["simple"]
    assert {mark for _, mark, _ in drawn(current_paths_picture(network, state))} == {"dead"}


NODES = ("0", "30", "15", "K1.86", "Y.87", "some node", "31")
KINDS = (
    lambda name, p, n: Resistor(name, p, n, 10.0),
    lambda name, p, n: Lamp(name, p, n, 24.0),
    lambda name, p, n: GroundJoint(name, p, n, 0.01),
    lambda name, p, n: Contact(name, p, n, by=BySwitch("switch", frozenset({"on"}))),
    lambda name, p, n: Diode(name, p, n),
    lambda name, p, n: Led(name, p, n),
)


@st.composite
def small_networks(draw):
    """Any parts between any nodes, each node hung on an earlier one."""
    many = draw(st.integers(1, len(NODES) - 1))
    ends = [(NODES[draw(st.integers(0, k - 1))], NODES[k]) for k in range(1, many + 1)]
    some = st.integers(0, many)
    more = draw(st.lists(st.tuples(some, some), max_size=12))
    ends += [(NODES[i], NODES[j]) for i, j in more]
    parts = [
        KINDS[draw(st.integers(0, len(KINDS) - 1))](f"P{k}", *draw(st.permutations(pair)))
        for k, pair in enumerate(ends)
    ]
    return Network((Source("battery", "cells", "0", 12.0), Resistor("in", "cells", "30"), *parts))


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(small_networks(), st.sampled_from([280.0, 400.0, 1200.0]))
def test_any_small_circuit_is_drawn_whole_and_no_words_meet(network, width):
    try:
        state = operate(network, [SIMPLE])["simple"]
    except NoSolutionError:
        assume(False)
    svg = current_paths_picture(network, state, width=width)
    assert sorted(part for part, _, _ in drawn(svg)) == names(network)
    assert overlaps(svg) == []
    assert outside_page(svg) == []
    assert not re.search(r"\bnan\b|\binf\b", svg)


@settings(max_examples=80, deadline=None)
@given(small_networks(), st.integers(1, 12))
def test_in_any_small_circuit_paths_join_the_parts_as_they_are_wired(network, columns):
    height, rails = heights_of(network)
    strips = strips_of(groups_of(network, height, rails), columns)
    assert all(0 < len(paths) <= columns for paths in strips)
    legs = [leg for paths in strips for path in paths for leg in path.legs]
    wired = {part.name: {part.p, part.n} for part in network.parts}
    assert {leg.part.name: {leg.upper, leg.lower} for leg in legs} == wired
    assert len(legs) == len(wired)
    for paths in strips:
        strip = strip_of(paths, rails)
        for path, at in zip(strip.paths, strip.at, strict=True):
            assert [joint.node for joint in at] == list(path.nodes)
            assert all(a.level < b.level for a, b in pairwise(at))
            for leg, below in pairwise(path.legs):
                assert leg.lower == below.upper
        taken = Counter()
        for joint in strip.joints:
            columns_taken = range(len(paths)) if joint.is_rail else range(*joint.taken)
            taken.update((joint.level, joint.track, column) for column in columns_taken)
        assert max(taken.values()) == 1
