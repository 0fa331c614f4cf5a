"""The circuit at a step as current paths: every part once, marks that follow the currents."""

from collections import Counter
from dataclasses import replace

import pytest

from tests.pictures.circuit_reading import drawn, names, span, state_of, struck
from tests.pictures.reading import (
    SVG,
    colours,
    outside_page,
    overlaps,
    root_of,
    size_of,
    texts,
    words_of,
)
from tripmargin import demo_machines, load_machine
from tripmargin.circuit import (
    BySwitch,
    Contact,
    GroundJoint,
    Lamp,
    NoSolutionError,
    Resistor,
    fault_modes,
    network_from_machine,
    operate,
    with_fault,
)
from tripmargin.pictures import current_paths_picture, current_paths_table
from tripmargin.pictures.circuit_symbols import WEIGHTS
from tripmargin.pictures.current_paths_words import differences, terminal_of
from tripmargin.pictures.look import DAY, SUN, contrast

NETWORKS = {name: network_from_machine(load_machine(name)) for name in demo_machines()}
STATES = {name: operate(network) for name, network in NETWORKS.items()}
STEPS = ("running", "metal", "check pressed")
WIDTHS = (280, 400, 1200, 2000)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("step", STEPS)
@pytest.mark.parametrize("name", NETWORKS)
def test_every_part_of_a_demo_machine_is_drawn_once_and_no_words_meet(name, step, width):
    svg = current_paths_picture(NETWORKS[name], STATES[name][step], width=width)
    assert sorted(part for part, _, _ in drawn(svg)) == names(NETWORKS[name])
    assert overlaps(svg) == []
    assert outside_page(svg) == []
    assert min(text.size for text in texts(svg)) >= 11


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", NETWORKS)
def test_no_line_and_no_symbol_runs_through_words(name, width):
    assert struck(current_paths_picture(NETWORKS[name], STATES[name]["metal"], width=width)) == []


@pytest.mark.parametrize("name", NETWORKS)
def test_marks_follow_the_currents_and_voltages_of_every_step(name):
    network = NETWORKS[name]
    for state in STATES[name]:
        marks = {part: mark for part, mark, _ in drawn(current_paths_picture(network, state))}
        for part in network.parts:
            volts = max(abs(state.voltages[node]) for node in (part.p, part.n))
            carries = abs(state.currents[part.name]) >= 1e-4
            expected = "live" if carries else "under voltage" if volts > 1 else "dead"
            assert marks[part.name] == expected, (state.step, part.name)


@pytest.mark.parametrize("name", NETWORKS)
def test_lamps_and_contacts_stand_as_the_step_says(name):
    network = NETWORKS[name]
    for state in STATES[name]:
        shows = {part: what for part, _, what in drawn(current_paths_picture(network, state))}
        assert {lamp: shows[lamp] for lamp in state.lamps} == state.lamps
        contacts = [part.name for part in network.parts if isinstance(part, Contact)]
        assert {c for c in contacts if shows[c] == "closed"} == set(state.closed) & set(contacts)
        for relay in network.relays:
            assert shows[relay.coil] == ("pulled" if state.relays[relay.name] else "at rest")


def test_live_parts_differ_by_weight_and_not_by_colour_alone():
    svg = current_paths_picture(NETWORKS["whimbrel"], STATES["whimbrel"]["running"], sun=True)
    weights = {}
    for node in root_of(svg).iter():
        if node.get("data-mark"):
            weights.setdefault(node.get("data-mark"), []).append(float(node.get("stroke-width")))
    assert min(weights["live"]) > max(weights["under voltage"])
    assert min(weights["under voltage"]) > max(weights["dead"])


@pytest.mark.parametrize(("sun", "look"), [(False, DAY), (True, SUN)])
def test_letters_and_lines_stand_out_from_the_paper(sun, look):
    network, state = NETWORKS["curlew"], STATES["curlew"]["metal"]
    svg = current_paths_picture(network, state, sun=sun)
    assert colours(svg) <= {look.paper, look.ink, look.soft, look.accent}
    assert all(contrast(text.fill, look.paper) >= 4.5 for text in texts(svg))
    assert all(contrast(c, look.paper) >= 3 for c in colours(svg) - {look.paper})


def test_a_phone_shows_the_paths_in_more_and_shorter_strips():
    network, state = NETWORKS["whimbrel"], STATES["whimbrel"]["metal"]
    desk, phone = (current_paths_picture(network, state, width=w) for w in (1200, 400))
    assert size_of(phone)[0] == 400
    assert size_of(phone)[1] > size_of(desk)[1]
    rails = [sum(t.words.startswith("31 ") for t in texts(svg)) for svg in (desk, phone)]
    assert rails[1] > rails[0]


def test_a_live_cross_line_ends_where_current_leaves_it_on_a_phone_too():
    # Y.pull is dead while the feed runs, so that the stretch of Y.87 to it carries nothing,
    # although the rest of Y.87 does and goes on in another strip.
    network, state = NETWORKS["curlew"], STATES["curlew"]["running"]
    svg = current_paths_picture(network, state, width=400)
    place = {text.words: text for text in texts(svg)}
    pull, hold = place["Y.pull"], place["Y.hold"]
    lines = [node.attrib for node in root_of(svg).iter(f"{SVG}line")]
    near = [ln for ln in lines if ln["y1"] == ln["y2"] and 0 < pull.top - float(ln["y1"]) < 40]
    reach = [ln for ln in near if hold.left - 40 < float(ln["x1"]) < hold.left]
    assert [float(ln["stroke-width"]) for ln in reach] == [WEIGHTS["under voltage"]]


def test_the_paths_are_numbered_along_the_bottom_one_after_another():
    svg = current_paths_picture(NETWORKS["dunlin"], STATES["dunlin"]["running"])
    numbers = [int(t.words) for t in texts(svg) if t.words.isdigit() and t.size == 12]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) > 10


def test_a_lamp_hangs_between_the_supply_rail_above_and_the_ground_rail_below():
    network, state = state_of(
        Resistor("inside", "30", "15", 0.1),
        Lamp("L", "15", "31", 24.0),
        GroundJoint("G", "31", "0", 0.01),
    )
    svg = current_paths_picture(network, state)
    place = {t.words.split()[0]: t for t in texts(svg)}
    assert place["30"].top < place["inside"].top < place["L"].top < place["G"].top
    assert "0.498 A" not in words_of(svg)
    assert "498 mA" in words_of(svg)
    assert "11.95 V" in words_of(svg)


def test_a_dead_branch_beside_a_live_one_is_marked_dead_at_its_cross_line():
    by = BySwitch("other", frozenset({"on"}))
    network, state = state_of(
        Resistor("R", "30", "A", 10.0),
        Resistor("live", "A", "0", 10.0),
        Contact("S", "A", "B", by=by),
        Lamp("dead", "B", "0", 24.0),
    )
    svg = current_paths_picture(network, state)
    marks = {part: mark for part, mark, _ in drawn(svg)}
    assert marks == {
        "battery": "live",
        "R": "live",
        "live": "live",
        "S": "under voltage",
        "dead": "dead",
    }
    lines = [node.attrib for node in root_of(svg).iter(f"{SVG}line")]
    cross = [ln for ln in lines if ln["y1"] == ln["y2"] and 100 < span(ln) < 130]
    assert [float(ln["stroke-width"]) for ln in cross] == [WEIGHTS["under voltage"]]


def test_terminals_bear_their_numbers_where_the_node_at_a_device_does():
    coil = NETWORKS["whimbrel"].part("K1.coil")
    assert terminal_of(coil, coil.p) == "86"
    assert terminal_of(coil, coil.n) == ""
    assert terminal_of(NETWORKS["whimbrel"].part("W7"), "K1.86") == ""
    svg = current_paths_picture(NETWORKS["whimbrel"], STATES["whimbrel"]["metal"])
    assert {"86", "85", "87", "87a"} <= {text.words for text in texts(svg)}


def rings(svg):
    return sum("url(#" in (node.get("fill") or "") for node in root_of(svg).iter(f"{SVG}path"))


def test_what_differs_from_a_sound_machine_is_ringed_and_named():
    network, sound = NETWORKS["dunlin"], STATES["dunlin"]["running"]
    fault = next(m.fault for m in fault_modes(network) if m.fault.id == "D.out.trip_out:never")
    broken = with_fault(network, fault)
    state = operate(broken)["running"]
    other = differences(broken, state, sound)
    assert ("hold powered", "off", "on") in other
    assert ("relay at rest", "sounds", "silent") in other  # a buzzer
    rows = {row[0]: row[-1] for row in current_paths_table(broken, state)[1]}
    assert (rows["relay at rest"], rows["hold powered"]) == ("sounds", "off")
    for width in WIDTHS:
        svg = current_paths_picture(broken, state, healthy=sound, width=width)
        assert rings(svg) == len(other) + 1  # and one in the key
        assert "Different from a sound machine:" in words_of(svg)
        assert "hold powered off, not on" in words_of(svg)
        assert overlaps(svg) == []
        assert struck(svg) == []


def test_a_sound_machine_does_not_differ_from_itself():
    network, state = NETWORKS["dunlin"], STATES["dunlin"]["running"]
    svg = current_paths_picture(network, state, healthy=state)
    assert rings(svg) == 0
    assert "Nothing shows differently" in words_of(svg)


@pytest.mark.parametrize("name", NETWORKS)
def test_every_single_fault_can_be_drawn_beside_the_sound_machine(name):
    network = NETWORKS[name]
    for mode in fault_modes(network)[::9]:
        broken = with_fault(network, mode.fault)
        try:
            states = operate(broken)
        except NoSolutionError:
            continue
        state, sound = states["metal"], STATES[name]["metal"]
        svg = current_paths_picture(broken, state, healthy=sound, width=400)
        assert sorted(part for part, _, _ in drawn(svg)) == names(broken), mode.fault.id
        assert overlaps(svg) == [], mode.fault.id


def test_the_cautions_stand_before_the_first_rail():
    words = words_of(current_paths_picture(NETWORKS["dunlin"], STATES["dunlin"]["metal"]))
    caution = "engine off, key out, everything at rest, stored energy released, feed rolls blocked"
    assert words.index(caution) < words.index("F1")
    assert "The operator's manual, local codes and licensed practice come first." in words


def test_the_table_has_a_row_for_each_part_with_the_numbers_of_the_step():
    network, state = NETWORKS["whimbrel"], STATES["whimbrel"]["metal"]
    headers, rows = current_paths_table(network, state)
    table = {row[0]: dict(zip(headers, row, strict=True)) for row in rows}
    assert [row[0] for row in rows] == [part.name for part in network.parts]
    assert table["F1"]["current_A"] == state.currents["F1"]
    assert table["trip latched"]["live"] == "yes"
    assert table["trip latched"]["shows"] == "on"
    assert table["K1.coil"]["shows"] == "at rest"
    assert table["battery"]["current_A"] < 0  # inside a battery the current runs from - to +
    assert table["battery"]["voltage_V"] == pytest.approx(14.2)


def test_currents_of_the_table_sum_to_nothing_at_every_node():
    # Kirchhoff's first law; the rows count current from p to n inside the part.
    for name, network in NETWORKS.items():
        _, rows = current_paths_table(network, STATES[name]["running"])
        left = Counter()
        for row in rows:
            left[row[2]] += row[4]
            left[row[3]] -= row[4]
        assert max(abs(value) for value in left.values()) < 1e-5


def test_a_state_of_another_circuit_is_refused():
    with pytest.raises(ValueError, match="state of another circuit"):
        current_paths_picture(NETWORKS["whimbrel"], STATES["dunlin"]["metal"])
    with pytest.raises(ValueError, match="px wide"):
        current_paths_picture(NETWORKS["dunlin"], STATES["dunlin"]["metal"], width=100)


def test_a_circuit_that_does_not_come_to_rest_says_so():
    network, state = NETWORKS["dunlin"], STATES["dunlin"]["metal"]
    restless = replace(state, alternates=("relay:K1", "latch"))
    words = words_of(current_paths_picture(network, restless))
    assert "does not come to rest: relay K1, the module's latch to and fro" in words
