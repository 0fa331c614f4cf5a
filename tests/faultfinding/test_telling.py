"""Reasons and reports in words, against what is believed and what was recorded."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from tests.faultfinding.problems import number, problem_of
from tripmargin.faultfinding import PROVING, Case
from tripmargin.faultfinding.cases.proof_steps import proof_steps
from tripmargin.faultfinding.cases.so_far import done_so_far
from tripmargin.faultfinding.cases.telling import because, percent_above
from tripmargin.faultfinding.cases.ways import daily_test, way_to
from tripmargin.faultfinding.deciding.reasons import percent
from tripmargin.faultfinding.suspects.hypotheses import NOTHING
from tripmargin.faultfinding.suspects.repairs import PROVE_AGAIN
from tripmargin.faultfinding.wording.belief_words import ruled_out_by
from tripmargin.machine import demo_machines

machines = pytest.mark.parametrize("name", demo_machines())


def with_prior(name, chances):
    """A machine's problem in which only these are believed at first."""
    of = problem_of(name)
    prior = np.zeros(len(of.hypotheses))
    for fault, chance in chances.items():
        prior[number(of, fault)] = chance
    return replace(of, problem=replace(of.problem, prior=prior))


# --- why this card -------------------------------------------------------------------------------


@machines
def test_the_likeliest_are_named_with_their_chances(name):
    case = Case(problem_of(name), complaint="feed stays stopped")
    first = case.next_checks(1)[0].because[0]
    chances = {}  # a fault at all its strengths
    for each in case.of.hypotheses:
        chances[each.said] = chances.get(each.said, 0.0) + case.beliefs().get(each.id, 0.0)
    for text in sorted(chances, key=lambda text: -chances[text])[:3]:
        assert f"{text} ({percent(chances[text])})" in first
    assert first.startswith("Likeliest now: ")


def test_a_look_says_what_its_answers_would_make_likeliest():
    case = Case(with_prior("whimbrel", {"F3:open": 0.5, "K1:welded": 0.5}))
    card = next(each for each in case.next_checks(5) if each.kind == "look")
    (answer,) = [each for each in card.answers if each.sound]
    lines = "\n".join(case.next_checks(1)[0].because)
    assert re.search(r'If ".+" \([\d.]+ %\), the likeliest is then ', lines)
    assert answer.word in card.to_dict()["answers"][0]["word"]


def test_a_look_that_cannot_change_what_is_likeliest_says_what_it_is_for():
    said = "So this look is to make sure that it is nothing else."
    sure = Case(with_prior("whimbrel", {"W1:open": 0.97, "K1:welded": 0.03}))
    torn = Case(with_prior("whimbrel", {"F3:open": 0.5, "K1:welded": 0.5}))
    for case, asked in ((sure, True), (torn, False)):
        looks = [each for each in case._ranked(3) if each.action.startswith("check:")]
        lines = because(case.of, case.situation, case.status, looks)
        assert (said in lines) == asked


def test_a_module_is_said_to_be_one_with_its_price_and_its_chance():
    case = Case(with_prior("whimbrel", {"D.out.trip_out:never": 0.9, "F3:open": 0.1}))
    case.record("at rest: fuse F3", "whole")  # by hand: odds 9 x 0.97 / 0.03 = 291
    card = case.next_checks(1)[0]
    assert (card.id, card.module, card.price) == ("mend D", True, 740)
    said = " ".join(card.because)
    assert "It is a module, replaced whole, at a price of 740." in said
    assert "The chance that it is the cause is 99.7 %." in said


def test_a_small_repair_is_said_with_its_minutes():
    case = Case(with_prior("whimbrel", {"W3:open": 1.0}))
    card = case.next_checks(1)[0]
    work = case.of.works["mend W3"]
    assert card.id == "mend W3"
    assert f"It takes {work.minutes:.0f} min, at a price of {work.price:g}." in card.because[1]


def test_handing_over_says_that_nothing_listed_fits():
    case = Case(problem_of("dunlin"), complaint="dead")
    for question in list(case.of.questions)[:60]:
        if case.beliefs().get("something else", 0) > 0.999:
            break
        case.record(question, "saw something else")
    card = case.next_checks(1)[0]
    assert card.kind == "hand over"
    assert "What was found fits nothing that is listed for this machine." in card.because


def test_the_next_best_card_is_weighed_against_the_first_and_never_said_to_cost_nothing_more():
    case = Case(problem_of("sanderling"), complaint="stops on nothing")
    first, second = case._ranked(2)
    for later, said in (
        (first.expected_minutes + 3.14, "; the next best card would make it 3.1 min more."),
        (first.expected_minutes + 0.04, "; by this estimate the next best card is no worse."),
        (first.expected_minutes - 5, "; by this estimate the next best card is no worse."),
    ):
        pair = [first, replace(second, expected_minutes=later)]
        last = because(case.of, case.situation, case.status, pair)[-1]
        assert last == f"About {first.expected_minutes:.0f} min to protected and proved again{said}"


def test_while_proving_the_doubt_is_told_and_what_it_must_come_down_to():
    case = Case(with_prior("whimbrel", {"F3:open": 0.7, "clearance_wide": 0.3}))
    case.record("mend F3", "passed")
    assert case.status == PROVING
    said = " ".join(case.next_checks(1)[0].because)
    assert "The chance that a fault is left is 30 %; a case is closed at 1 % or less." in said
    assert "The daily test does not show what is still possible; this look does." in said


def test_while_proving_passes_in_a_row_are_counted_for_what_comes_and_goes():
    # ln 0.01 / ln 0.6 = 9.02: ten
    case = Case(with_prior("whimbrel", {"W8:open at times": 0.4, NOTHING: 0.6}))
    case.record(PROVE_AGAIN, "passed")
    steps = proof_steps(case.of, case.situation, 200)
    again = [each for each in steps if each.action == f"repair:{PROVE_AGAIN}"]
    said = " ".join(because(case.of, case.situation, PROVING, again))
    assert "A fault that comes and goes shows in 40 % of tests here: 10 passes in a row" in said
    look = " ".join(because(case.of, case.situation, PROVING, steps))
    assert "passes in a row" not in look


@pytest.mark.parametrize(
    ("left", "said"), [(0.0100001, "1.0 %"), (0.0149, "1.5 %"), (0.01, "1 %"), (0.4, "40 %")]
)
def test_a_doubt_just_above_the_limit_has_a_digit_more(left, said):
    assert percent_above(left) == said


# --- what was done -------------------------------------------------------------------------------


def test_a_finding_tells_what_it_ruled_out_from_what_to_what_and_what_that_would_have_shown():
    case = Case(with_prior("whimbrel", {"F3:open": 0.6, "K1:welded": 0.4}))
    case.record("at rest: fuse F3", "whole")
    done = done_so_far(case)[-1]
    assert (done.what, done.found) == ("fuse F3 [at rest]", "whole")
    text = case.of.hypotheses[number(case.of, "F3:open")].text
    # by hand: 0.6 x 0.03 against 0.4 x 0.97, the rest of the look's chances alike: 4.4 %
    assert done.ruled_out == (f"{text}: 60 % to 4 %",)
    assert done.left == (pytest.approx(0.044, abs=0.001),)
    assert done.would_show == ("gone",)
    ((why, texts),) = ruled_out_by(done)  # 4 % is not ruled out
    assert (why, texts) == ('Less likely, because "gone" would show', [f"{text}: 60 % to 4 %"])
    for left, said in ((0.002, "Less likely, "), (0.001, "Less likely, "), (0.0009, "Ruled out, ")):
        ((why, _),) = ruled_out_by(replace(done, left=(left,)))  # what has a figure is left
        assert why.startswith(said), left


def test_a_repair_that_passed_rules_nothing_out():
    case = Case(with_prior("whimbrel", {"F3:open": 0.9, "clearance_wide": 0.1}))
    case.record("mend F3", "passed")
    done = done_so_far(case)[-1]
    assert (done.ruled_out, done.would_show) == ((), ())
    assert done.found == "daily test passed"
    assert done.what.startswith("Replace the fuse: F3. Of the same rating, ")


def test_a_repair_that_failed_rules_out_what_it_would_have_mended():
    case = Case(with_prior("whimbrel", {"F3:open": 0.5, "K1:welded": 0.5}))
    case.record("mend F3", "failed")
    done = done_so_far(case)[-1]
    assert len(done.ruled_out) == 1
    assert done.ruled_out[0].endswith("50 % to 0 %")
    assert done.would_show == ("",)


def test_readings_and_notes_are_told_as_they_were_entered():
    case = Case(problem_of("whimbrel"))
    case.record("at rest: battery", 12.34)
    case.record("at rest: hold winding", 1900)
    case.record("at rest: fuse F3", "saw something else", note="It is green.")
    volts, ohms, note = (done.found for done in done_so_far(case))
    assert volts.startswith("12.34 V (")
    assert ohms.startswith("1.9 kohm (")
    assert note == "saw something else: It is green."


def test_minutes_are_those_of_the_way_and_the_work_without_the_price():
    # by hand from the file: battery 1.5 min at rest; key on 0.3, arm 0.2, look 0.2 min; a fuse
    # 2 min of work, 0.5 min and 0.3 + 0.2 back ... and the daily test of 4 min from rest
    of = problem_of("whimbrel")
    case = Case(of)
    case.record("at rest: battery", 12.6)
    case.record("armed: trip latched", "on")
    case.record("mend F3", "failed")
    case.record("hand over", "late")
    look = of.checks.look.nominal / 60
    by_hand = [1.5, 0.3 + 0.2 + look, 0.5 + 2 + 4, 0]
    assert [done.minutes for done in done_so_far(case)] == pytest.approx(by_hand)
    assert [done.kind for done in done_so_far(case)] == [
        "finding", "finding", "repair", "hand over"
    ]  # fmt: skip
    assert done_so_far(case)[-1].to_dict()["found"] == "late"


# --- ways ----------------------------------------------------------------------------------------


@machines
def test_from_rest_the_whole_way_is_told_and_on_it_only_the_rest(name):
    of = problem_of(name)
    for state in of.states:
        case = Case(of)
        whole = way_to(of, case.situation, state.name)
        assert whole == state.way[1:]  # the machine stands at rest
        for question in of.questions.values():
            if question.state == state.name:
                case.record(question.id, question.sound)
                assert way_to(of, case.situation, state.name) == ()
                break


@machines
def test_from_beside_the_way_the_machine_goes_back_to_rest_first(name):
    of = problem_of(name)
    at = next(each for each in of.states if each.running)
    away = next(each for each in of.states if each.live and not each.running
                and at.way[: len(each.way)] != each.way)  # fmt: skip
    case = Case(of)
    question = next(each for each in of.questions.values() if each.state == at.name)
    case.record(question.id, question.sound)
    assert way_to(of, case.situation, away.name) == away.way


@machines
def test_the_daily_test_tells_each_state_of_its_path_once_and_no_lamp_that_is_off(name):
    of = problem_of(name)
    path = next(each for each in of.checks.paths if each.name == of.checks.daily)
    steps = daily_test(of)
    assert len(steps) == len(path.states) + len(path.looks)
    own = [next(each.do for each in of.checks.states if each.name == state)
           for state in path.states]  # fmt: skip
    for step, do in zip(steps, own, strict=False):
        assert step.do.endswith(do)
        assert not any(shown.endswith(" off") for shown in step.shows)
    said = " ".join(step.do for step in steps)
    assert all(said.count(do) == 1 for do in own)
    assert [step.running for step in steps[: len(path.states)]] == [
        next(each.running for each in of.states if each.name == state) for state in path.states
    ]
