"""What may be wrong with a machine, how likely it is, and what is mended for it."""

from itertools import combinations

import pytest

from tests.faultfinding.problems import found, number, problem_of
from tripmargin.circuit import Wire, network_from_machine, operate, with_fault
from tripmargin.faultfinding.deciding.problem import CURED
from tripmargin.faultfinding.suspects.causes import COMES_AND_GOES, SHOWS, causes_of
from tripmargin.faultfinding.suspects.complaints import complaints_by
from tripmargin.faultfinding.suspects.hypotheses import (
    ELSE_SHARE,
    NOTHING,
    NOTHING_SHARE,
    PAIRS,
    SOMETHING_ELSE,
    hypotheses_of,
)
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN
from tripmargin.machine import demo_machines, load_machine

machines = pytest.mark.parametrize("name", demo_machines())


def every(name):
    machine = load_machine(name)
    return hypotheses_of(machine, network_from_machine(machine))


@machines
def test_weights_sum_to_one(name):
    weighed = every(name)
    assert sum(each.weight for each in weighed) == pytest.approx(1)
    assert all(each.weight > 0 for each in weighed)
    assert weighed[-2].id == NOTHING
    assert weighed[-2].weight == NOTHING_SHARE
    assert weighed[-1].id == SOMETHING_ELSE
    assert weighed[-1].weight > ELSE_SHARE
    assert len({each.id for each in weighed}) == len(weighed)


@machines
def test_single_faults_are_in_proportion_to_their_rates(name):
    single = [each for each in every(name) if len(each.causes) == 1]
    shares = {each.weight / each.causes[0].rate / each.causes[0].share for each in single}
    assert max(shares) == pytest.approx(min(shares))


@machines
def test_the_strengths_of_a_fault_share_its_rate_and_its_repair(name):
    families = {}
    for each in every(name):
        if len(each.causes) == 1 and ":touches" not in each.id:
            cause = each.causes[0]
            families.setdefault(cause.strength_of or cause.id, []).append(cause)
    many = {key: family for key, family in families.items() if len(family) > 1}
    assert {"battery:weak", "frame:corroded", "W1:open", "W1:chafed", "Y.hold:turns"} <= set(many)
    assert not any("open at times" in key for key in many)
    for key, family in families.items():
        assert family[0].id == key
        assert sum(cause.share for cause in family) == pytest.approx(1)
        assert len({(cause.mended, cause.rate, cause.source) for cause in family}) == 1
        assert [cause.listed for cause in family] == [True, *[False] * (len(family) - 1)]


def test_a_fault_at_another_strength_is_that_fault_with_another_number():
    machine = load_machine("whimbrel")
    network = network_from_machine(machine)
    causes = {each.id: each for each in causes_of(machine, network)}
    assert with_fault(network, causes["frame:corroded, 8 ohm"].fault).part("frame").ohm == 8.0
    hold = network.part("Y.hold").ohm
    shorted = with_fault(network, causes["Y.hold:turns, 0.25 of its ohms"].fault)
    assert shorted.part("Y.hold").ohm == pytest.approx(hold / 4)
    chafed = with_fault(network, causes["W1:chafed, 1.5 ohm"].fault)
    assert sum(part.name == "W1.chafed" and part.ohm == 1.5 for part in chafed.parts) == 1
    # by hand: 3 V less at the battery are 3 V less at its post, but for what its inner resistance
    # drops less at a smaller current
    closed = operate(network, ["key off", "key on"])[-1]
    weak = operate(network, ["key off", "key on"], [causes["battery:weak, -3 V"].fault])[-1]
    assert closed.voltages["30"] - weak.voltages["30"] == pytest.approx(3.0, abs=0.2)


@machines
def test_any_two_wires_may_touch_once_and_those_of_the_file_are_left_to_the_file(name):
    network = network_from_machine(load_machine(name))
    wires = [x for x in network.parts if type(x) is Wire and "0" not in (x.p, x.n)]
    found = {
        frozenset((change.added.p, change.added.n)): each
        for each in every(name)
        if ":touches " in each.id and len(each.causes) == 1 and not each.listed
        for change in each.causes[0].fault.changes
    }
    own = {
        frozenset((change.added.p, change.added.n))
        for mode in network.own_faults
        for change in mode.fault.changes
        if change.added is not None
    }
    ends = {frozenset((a.n, b.n)) for a, b in combinations(wires, 2) if a.n != b.n}
    assert own
    assert set(found) == ends - own
    for nodes, each in found.items():
        (part,) = [p for p in with_fault(network, each.causes[0].fault).parts
                   if p.name not in {x.name for x in network.parts}]  # fmt: skip
        assert {part.p, part.n} == set(nodes)
        assert each.said == f"{each.causes[0].mended}: touches another wire"


def test_strengths_that_show_the_same_are_one_suspect_and_their_weights_add_up():
    problem = problem_of("whimbrel")
    shown = {}
    for k, each in enumerate(problem.hypotheses):
        if len(each.causes) == 1:
            cause = each.causes[0]
            told = tuple(look.answers[k] for look in problem.looks)
            shown.setdefault(cause.strength_of or cause.id, []).append((told, each))
    for family in shown.values():
        for (one, first), (other, second) in combinations(family, 2):
            if one == other:  # then the operator tells them apart
                pair = [number(problem, first.id), number(problem, second.id)]
                said = complaints_by(problem.shown, problem.hypotheses)[pair]
                assert (said[0] != said[1]).any()
    weighed = {each.id: each.weight for each in every("whimbrel")}
    kept = {each.id: each.weight for each in problem.hypotheses}
    together = [key for key, weight in kept.items() if weight > weighed[key] * 1.001]
    assert len(together) > 20


@machines
def test_a_pair_comes_as_often_as_the_second_fault_comes_while_the_first_is_unnoticed(name):
    weighed = every(name)
    single = {
        each.id: each.weight / each.causes[0].share for each in weighed if len(each.causes) == 1
    }
    pairs = [each for each in weighed if len(each.causes) == 2]
    assert len(pairs) == PAIRS
    unnoticed = 0.020  # the usual 20 h, in 1000 h: rates are per 1000 h
    for pair in pairs:
        one, other = pair.causes
        assert pair.weight == pytest.approx(single[one.id] * other.rate * unnoticed)
        assert one.mended != other.mended
        assert one.shows == other.shows == 1
        assert pair.text == f"{one.text} and {other.text}"


@machines
def test_pairs_that_are_left_out_are_the_rarest_and_count_as_something_else(name):
    machine = load_machine(name)
    weighed = every(name)
    causes = causes_of(machine, network_from_machine(machine))
    lasting = [each for each in causes if each.shows == 1 and each.listed]
    weights = sorted(
        (
            one.rate * other.rate * 0.020
            for one, other in combinations(lasting, 2)
            if one.mended != other.mended and not (one.physical and other.physical)
        ),
        reverse=True,
    )
    first = weighed[0]
    scale = first.weight / first.causes[0].rate / first.causes[0].share
    kept = [each.weight for each in weighed if len(each.causes) == 2]
    assert min(kept) == pytest.approx(weights[PAIRS - 1] * scale)
    assert weighed[-1].weight == pytest.approx(ELSE_SHARE + sum(weights[PAIRS:]) * scale)


@machines
def test_breaks_of_wires_and_plugs_may_come_and_go(name):
    network = network_from_machine(load_machine(name))
    weighed = {each.id: each for each in every(name)}
    parts = [part for part in network.parts if type(part) in COMES_AND_GOES]
    assert len(parts) >= 6
    for part in parts:
        _, text, rate = COMES_AND_GOES[type(part)]
        at_times, lasting = weighed[f"{part.name}:open at times"], weighed[f"{part.name}:open"]
        assert at_times.shows == SHOWS
        assert lasting.shows == 1
        assert at_times.causes[0].rate == rate
        assert at_times.causes[0].fault == lasting.causes[0].fault
        assert at_times.causes[0].mended == lasting.causes[0].mended == part.name
        assert at_times.text == f"{part.name}: {text}"
    assert {f"{part.name}:open at times" for part in parts} == {
        each.id for each in weighed.values() if each.shows < 1
    }


def test_a_fault_that_comes_and_goes_shows_a_sound_word_while_it_is_away():
    problem = problem_of("dunlin")
    first = 1 + [each.question.id for each in problem.looks].index("pawls lifted: hold powered")
    offset = sum(len(check.outcomes) for check in problem.problem.checks[:first])
    on, off = problem.problem.likelihood[number(problem, "W8:open at times")][offset : offset + 2]
    assert problem.looks[first - 1].question.words[:2] == ("on", "off")
    assert off / (on + off) == pytest.approx(SHOWS, abs=0.03)


@machines
def test_the_check_winding_is_replaced_together_with_the_sensor(name):
    problem = problem_of(name)
    works = [each.id for each in problem.repairs]
    assert "mend T" not in works
    sensor = problem.works["mend S"]
    assert set(sensor.mended) == {"S", "T"}
    assert sensor.module
    row = works.index("mend S")
    for fault in ("T:open", "S:open"):
        assert problem.problem.left[row, number(problem, fault)] == CURED


@machines
def test_the_daily_test_alone_mends_a_sound_machine_and_nothing_else(name):
    problem = problem_of(name)
    row = [each.id for each in problem.repairs].index(PROVE_AGAIN)
    left = problem.problem.left[row]
    cured = [each.id for k, each in enumerate(problem.hypotheses) if left[k] == CURED]
    assert cured == [NOTHING]
    assert problem.works[PROVE_AGAIN].mended == ()


@machines
def test_a_repair_of_one_fault_of_a_pair_leaves_the_other(name):
    problem = problem_of(name)
    ids = [each.id for each in problem.hypotheses]
    works = [each.id for each in problem.repairs]
    pairs = [each for each in problem.hypotheses if len(each.causes) == 2]
    assert pairs
    for pair in pairs[:40]:
        one, other = pair.causes
        row = next(k for k, work in enumerate(problem.repairs) if one.mended in work.mended)
        if other.mended in problem.repairs[row].mended:
            continue
        assert problem.problem.left[row, ids.index(pair.id)] == ids.index(other.id)
        row = works.index(HAND_OVER)
        assert problem.problem.left[row, ids.index(pair.id)] == ids.index(pair.id)


def test_a_part_inside_a_housing_is_named_as_people_name_it():
    texts = {each.id: each.text for each in every("dunlin")}
    assert texts["D.out.trip_out:never"] == "D, output trip out: output never switches on"
    assert texts["D.in.sensor:open"] == "D, input sensor: resistor broken"
    assert texts["Y.hold:open"] == "Y, hold: winding broken"
    assert texts["W8:open"] == "W8: wire broken"
    assert texts[NOTHING] == "nothing is wrong"
    assert texts[SOMETHING_ELSE] == "something that is not listed"


def test_what_is_inside_a_housing_is_mended_with_the_housing():
    mended = {each.id: each.causes[0].mended for each in every("whimbrel") if len(each.causes) == 1}
    assert mended["D.out.pull_out:never"] == mended["detect_dead"] == "D"
    assert mended["K2:make"] == mended["K2.coil:open"] == "K2"
    assert mended["Y.end:never"] == mended["plunger_stuck:out"] == "Y"
    assert mended["pawl_spring_broken"] == "pawl springs"
    assert mended["clearance_wide"] == mended["pawl clearance:narrow"] == "pawl clearance"
    assert mended["S:turned"] == "sensor position"
    assert mended["W8:touches W10"] == "W10"


@machines
def test_a_fault_of_the_machines_own_has_the_rate_and_the_words_of_its_file(name):
    machine = load_machine(name)
    assert machine.circuit is not None
    own = [fault for fault in machine.circuit.faults if fault.between]
    assert len(own) == 2
    weighed = {each.id: each for each in every(name)}
    for fault in own:
        cause = weighed[fault.name].causes[0]
        assert (cause.rate, cause.text) == (fault.rate.nominal, fault.text)
        assert cause.mended == fault.parts[0]
        assert cause.source.startswith("invented")


# Dunlin's faults that nothing shows, and why
INVISIBLE = {
    "W2:chafed": "a ground lead that touches the frame",
    "W4:chafed": "a ground lead that touches the frame",
    "W6:chafed": "the sensor's return, which is grounded at the module anyway",
    "lock:never": "nobody locks the protection out to look",
    "D.out.in_range:always": "the lamp burns whenever the module has volts, and so it should",
    "K1.suppression:open": "it only takes the coil's spark",
    "Y.suppression:open": "it only takes the winding's spark",
    "Y.hold:turns": "half of 18 ohm beside the pull winding's 0.75 ohm, and it holds the better",
    "Y.pull:turns": "half of 0.75 ohm is what a meter's leads have, and it pulls the better",
}


def test_the_faults_that_nothing_shows_are_those_that_change_nothing_in_sight():
    assert {each.id for each in problem_of("dunlin").invisible} == set(INVISIBLE)


@machines
def test_a_fault_is_left_out_only_if_every_lamp_and_movement_is_a_sound_machines(name):
    problem = problem_of(name)
    network = network_from_machine(problem.machine)
    sound = {state.name: shown(network, problem, state, ()) for state in problem.states}
    assert problem.invisible
    for fault in problem.invisible:
        for state in problem.states:
            assert shown(network, problem, state, fault.faults) == sound[state.name], fault.id


def shown(network, problem, state, faults):
    """Lamps and movements in a state, after the machine was worked with the faults in it."""
    last = operate(network, [*problem.checks.worked, *state.steps], faults)[-1]
    return last.lamps, last.plunger, last.pawls, last.rolls


@machines
def test_everything_that_is_listed_shows_somewhere_or_is_complained_of(name):
    problem = problem_of(name)
    told = complaints_by(problem.shown, problem.hypotheses)[:, :-1].any(axis=1)
    ids = {each.id for each in problem.hypotheses}
    for row, each in enumerate(problem.hypotheses[:-2]):
        seen = told[row] or any(look.answers[row] != 0 for look in problem.looks)
        assert seen, each.id
        assert all(cause.id in ids for cause in each.causes)
    assert not ids & {each.id for each in problem.invisible}
    assert set(found(problem, NOTHING).values())
