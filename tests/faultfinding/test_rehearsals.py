"""Rehearsals: what they pay, counted again from their paths; nothing is lost without slips."""

from __future__ import annotations

from collections import Counter
from functools import cache

import numpy as np
import pytest

from tests.faultfinding.problems import number, problem_of
from tripmargin.faultfinding.cases.proof_steps import proof_steps
from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.deciding.problem import CURED
from tripmargin.faultfinding.rehearsals.paper_order import PaperOrder
from tripmargin.faultfinding.rehearsals.rehearsing import Rehearser, drawn
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.machine_problem import machine_problem
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN
from tripmargin.machine import demo_machines, load_machine

machines = pytest.mark.parametrize("name", demo_machines())


@cache
def without_slips(name):
    machine = load_machine(name)
    return machine_problem(
        machine.with_settings({"checks.wrong": "0 %", "checks.cannot_tell": "0 %"})
    )


def counted(of, path):
    """Minutes of a path, move by move: the way by the table, the work, the price, the test."""
    problem, at, total = of.problem, of.problem.start_state, 0.0
    for action, came in path[1:]:  # the complaint is told before the clock starts
        if action.startswith("check:"):
            question = of.questions[action.removeprefix("check:")]
            place = problem.states.index(question.state)
            total += problem.move[at, place] + question.minutes
        else:
            work = of.works[action]
            rest = problem.start_state
            total += problem.move[at, rest] + work.minutes
            total += work.price * 60 / of.checks.price_of_an_hour.nominal
            place = problem.verify_state
            total += problem.move[rest, place] + problem.verify_minutes
            place = rest if came == "failed" else place  # nobody knows how far a test came
        at = place
    return total


# --- what is drawn -------------------------------------------------------------------------------


@machines
def test_faults_are_drawn_by_their_weights_and_never_nothing_or_something_else(name):
    of = problem_of(name)
    many = drawn(of, 40_000, np.random.default_rng(1))
    counts = np.bincount(many, minlength=len(of.hypotheses))
    assert counts[-2:].sum() == 0
    weights = np.array([each.weight for each in of.hypotheses[:-2]])
    expected = weights / weights.sum() * len(many)
    often = expected > 100
    assert often.sum() > 20
    # 5 standard deviations of a count
    assert (np.abs(counts[:-2] - expected)[often] < 5 * np.sqrt(expected[often])).all()
    assert counts[:-2][expected < 1].sum() < 3 * max(expected[expected < 1].sum(), 10)


# --- without slips -------------------------------------------------------------------------------


@machines
def test_without_slips_every_listed_lasting_fault_is_mended(name):
    of = without_slips(name)
    rehearser = Rehearser(of)
    lost, others = [], 0
    for h, each in enumerate(of.hypotheses[:-2]):
        if len(each.causes) == 1 and each.shows == 1:
            others += not each.listed
            told = int(of.problem.likelihood[h, : len(COMPLAINTS)].argmax())
            found = rehearser.play(h, np.random.default_rng([h, 9]), complaint=told)
            if not found.mended or found.handed_over:
                lost.append((each.id, each.listed, found.path[-3:]))
    assert not any(listed for _, listed, _ in lost)
    assert len(lost) <= 0.02 * others  # rare ones: a case is closed at a doubt of 1 %


def test_without_slips_no_look_goes_wrong_and_none_ends_untold():
    of = without_slips("dunlin")
    rehearser = Rehearser(of)
    for h in range(0, len(of.hypotheses) - 2, 9):
        if of.hypotheses[h].shows < 1:
            continue
        found = rehearser.play(h, np.random.default_rng([h, 2]))
        row = of.hypotheses[h]
        before_repair = []
        for action, came in found.path[1:]:
            if not action.startswith("check:"):
                break
            before_repair.append((action.removeprefix("check:"), came))
        for look, came in before_repair:
            assert came != "can't tell"
            if came != "saw something else":
                each = next(e for e in of.looks if e.question.id == look)
                assert came == each.question.words[each.answers[h]], row.id


# --- what is paid --------------------------------------------------------------------------------


@machines
def test_the_minutes_paid_are_the_sum_of_the_paths_parts(name):
    of, rng = problem_of(name), np.random.default_rng(12)
    rehearser = Rehearser(of)
    for choose in (None, PaperOrder(of, 0.7), PaperOrder(of, 0.8, True)):
        for fault in drawn(of, 12, rng):
            found = rehearser.play(int(fault), rng, choose)
            assert found.minutes == pytest.approx(counted(of, found.path), rel=1e-12)
            assert len(found.path) == found.cards + 1
            assert found.fault == of.hypotheses[fault].id


@machines
def test_nobody_mends_a_fault_for_less_than_who_knows_it(name):
    of, rng = problem_of(name), np.random.default_rng(13)
    rehearser = Rehearser(of)
    for fault in drawn(of, 40, rng):
        found = rehearser.play(int(fault), rng)
        if found.mended:
            assert found.minutes >= found.known_minutes - 1e-9


@machines
def test_who_knows_the_fault_pays_the_repair_and_its_test(name):
    # by hand: the cheapest repair that mends it, from rest, and the daily test
    of = problem_of(name)
    problem = of.problem
    per_price = 60 / of.checks.price_of_an_hour.nominal
    daily = problem.move[problem.start_state, problem.verify_state] + problem.verify_minutes
    for h, each in enumerate(of.hypotheses[:-2]):
        if len(each.causes) == 1:
            works = [w for w in of.repairs if each.causes[0].mended in w.mended]
            cheapest = min(w.minutes + per_price * w.price for w in works)
            assert problem.known_minutes[h, problem.start_state] == pytest.approx(cheapest + daily)
            right = problem.numbers[f"repair:{works[0].id}"]
            found = Rehearser(of).play(h, np.random.default_rng(1), lambda *_, r=right: r)
            assert found.path[1] == (works[0].id, "passed")
            assert found.mended
            break


# --- modules, ends -------------------------------------------------------------------------------


def test_a_module_that_holds_nothing_of_the_fault_counts_as_wrong_and_the_right_one_does_not():
    of = problem_of("whimbrel")
    actions = iter([of.problem.numbers["repair:mend K1"], of.problem.numbers["repair:mend F3"]])
    over = of.problem.numbers[f"repair:{HAND_OVER}"]
    found = Rehearser(of).play(
        number(of, "F3:open"), np.random.default_rng(0), lambda *_: next(actions, over)
    )
    assert found.wrong_modules == 1
    assert found.path[1] == ("mend K1", "failed")
    assert found.path[2] == ("mend F3", "passed")
    assert found.mended
    actions = iter([of.problem.numbers["repair:mend K1"]])
    good = Rehearser(of).play(
        number(of, "K1:welded"), np.random.default_rng(0), lambda *_: next(actions, over)
    )
    assert good.path[1] == ("mend K1", "passed")
    assert good.wrong_modules == 0
    assert good.mended


def test_half_of_a_pair_that_is_mended_leaves_the_other_half():
    of = problem_of("whimbrel")
    pair = next(h for h, each in enumerate(of.hypotheses) if len(each.causes) == 2)
    one, other = of.hypotheses[pair].causes
    first = next(w.id for w in of.repairs if one.mended in w.mended)
    second = next(w.id for w in of.repairs if other.mended in w.mended)
    actions = iter([f"repair:{first}", f"repair:{second}"])
    over = f"repair:{HAND_OVER}"
    found = Rehearser(of).play(
        pair,
        np.random.default_rng(3),
        lambda *_: of.problem.numbers[next(actions, over)],
    )
    assert [action for action, _ in found.path[1:3]] == [first, second]
    assert found.mended
    assert found.wrong_modules == 0


def test_a_rehearsal_that_goes_nowhere_is_given_up():
    of = problem_of("whimbrel")
    again = of.problem.numbers[f"repair:{PROVE_AGAIN}"]
    found = Rehearser(of).play(
        number(of, "clearance_wide"), np.random.default_rng(0), lambda *_: again
    )
    assert (found.cards, found.mended, found.handed_over) == (200, False, False)
    assert {came for _, came in found.path[1:]} == {"passed"}  # the daily test cannot show it


def test_a_fault_that_comes_and_goes_passes_as_many_daily_tests_as_it_is_away():
    # it shows in 0.4 of tests: of 200 tests about 120 pass, standard deviation 6.9
    of = problem_of("whimbrel")
    again = of.problem.numbers[f"repair:{PROVE_AGAIN}"]
    passes = tests = 0
    for seed in range(4):
        found = Rehearser(of).play(
            number(of, "W8:open at times"),
            np.random.default_rng(seed),
            lambda situation, proving: again,
            complaint=list(COMPLAINTS).index("metal went through"),
        )
        told = Counter(came for _, came in found.path[1:])
        passes, tests = passes + told["passed"], tests + told["passed"] + told["failed"]
    assert tests >= 400
    assert abs(passes / tests - 0.6) < 5 * (0.24 / tests) ** 0.5


def test_the_complaint_may_be_given():
    of = problem_of("dunlin")
    told = list(COMPLAINTS).index("stops on nothing")
    found = Rehearser(of).play(0, np.random.default_rng(0), complaint=told)
    assert found.path[0] == ("check:complaint", "stops on nothing")


@machines
def test_the_same_seed_plays_the_same_case(name):
    of = problem_of(name)
    fault = int(drawn(of, 1, np.random.default_rng(5))[0])
    one, other = (Rehearser(of).play(fault, np.random.default_rng(8)) for _ in range(2))
    assert one == other


# --- the sheet on paper --------------------------------------------------------------------------


def sheet(of, complaint, level=0.7, passing_over=False):
    paper = PaperOrder(of, level, passing_over)
    paper.begin(complaint)
    return paper


def start(of, complaint):
    belief = of.problem.prior * of.problem.likelihood[:, complaint]
    used = np.zeros(len(of.problem.checks), bool)
    used[0] = True
    return Situation(belief / belief.sum(), used, of.problem.start_state)


def entropy(belief):
    real = belief[belief > 0]
    return float(-(real * np.log(real)).sum())


@machines
def test_the_sheets_order_is_information_for_each_minute_after_the_complaint(name):
    of, told = problem_of(name), 2
    problem = of.problem
    situation = start(of, told)
    rates = {}
    for k, check in enumerate(problem.checks[1:], 1):
        table = problem.likelihood[:, problem.columns[k] : problem.columns[k + 1]]
        joint = situation.belief[:, None] * table
        after = sum(p * entropy(joint[:, o] / p) for o, p in enumerate(joint.sum(axis=0)) if p > 0)
        minutes = problem.move[problem.start_state, check.state] + check.minutes
        rates[k] = (entropy(situation.belief) - after) / minutes
    paper, order = sheet(of, told, level=1.1), []
    for _ in range(25):
        k = paper(situation, False)
        order.append(k)
        situation.used[k] = True
    assert len(set(order)) == 25
    found = [rates[k] for k in order]
    assert found == pytest.approx(sorted(rates.values(), reverse=True)[:25], rel=1e-6)


@machines
def test_the_sheet_is_followed_whatever_is_found_until_it_is_sure(name):
    of, told = problem_of(name), 1
    rng = np.random.default_rng(4)
    looks = []
    for fault in drawn(of, 5, rng):
        found = Rehearser(of).play(int(fault), rng, PaperOrder(of, 0.8), complaint=told)
        first = next(k for k, (action, _) in enumerate(found.path) if action in of.works)
        looks.append([action for action, _ in found.path[1:first]])
    longest = max(looks, key=len)
    assert len(longest) > 3
    for each in looks:
        assert each == longest[: len(each)]


def test_the_sheet_mends_at_its_level_and_not_before():
    of = problem_of("whimbrel")
    fuse = number(of, "F3:open")
    for chance, mends in ((0.69, False), (0.71, True)):
        belief = np.zeros(len(of.hypotheses))
        belief[fuse], belief[number(of, "K1:welded")] = chance, 1 - chance
        situation = Situation(belief, start(of, 1).used, of.problem.start_state)
        action = sheet(of, 1)(situation, False)
        assert (of.problem.actions[action] == "repair:mend F3") == mends


def test_one_who_passes_over_leaves_out_looks_that_could_tell_nothing():
    of = problem_of("whimbrel")
    belief = np.zeros(len(of.hypotheses))
    belief[number(of, "F3:open")] = belief[number(of, "K1:welded")] = 0.5
    keen, plain = sheet(of, 1, 0.9, True), sheet(of, 1, 0.9)
    situation = Situation(belief, start(of, 1).used, of.problem.start_state)
    by_number = dict(enumerate(of.looks, 1))
    telling, idle = keen(situation, False), plain(situation, False)
    two = [number(of, "F3:open"), number(of, "K1:welded")]
    assert len(set(by_number[telling].answers[two])) == 2
    assert list(keen._orders[1]).index(telling) >= list(plain._orders[1]).index(idle)


@pytest.mark.parametrize("passing_over", [False, True])
def test_a_used_up_sheet_goes_on_by_chance_over_cost(passing_over):
    of = problem_of("dunlin")
    situation = start(of, 1)
    situation.used[:] = True
    action = sheet(of, 1, 1.1, passing_over)(situation, False)
    cures = [situation.belief[row == CURED].sum() for row in of.problem.left]
    rates = np.array(cures) / of.problem.fix_minutes[situation.state]
    assert action == len(of.problem.checks) + int(rates.argmax())


def test_what_is_to_be_proved_is_looked_for_as_on_the_cards():
    of = problem_of("dunlin")
    situation = start(of, 1)
    action = sheet(of, 1)(situation, True)
    assert of.problem.actions[action] == proof_steps(of, situation, 1)[0].action
