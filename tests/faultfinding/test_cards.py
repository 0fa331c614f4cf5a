"""Cards of every look and every repair of the demo machines: cautions, states, what they ask."""

from __future__ import annotations

import numpy as np
import pytest

from tests.faultfinding.problems import problem_of
from tripmargin.circuit import LIGHTS
from tripmargin.faultfinding import Case
from tripmargin.faultfinding.cases.cards import Card, card_of
from tripmargin.faultfinding.cases.cautions import cautions_for
from tripmargin.faultfinding.cases.ways import daily_test
from tripmargin.faultfinding.charts.effects import effects_of
from tripmargin.faultfinding.deciding.planning import Plan
from tripmargin.faultfinding.deciding.ranking import ranked
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN
from tripmargin.faultfinding.wording.card_words import daily_cautions, other_words, price_words
from tripmargin.machine import demo_machines

machines = pytest.mark.parametrize("name", demo_machines())
AWAY = {"lamp", "buzzer", "movement", "test piece", "empty run", "stop time"}
"""Kinds of look that are made from where nobody can be caught."""
LOCK_HEARD = ("curlew", "sanderling")
"""Machines whose lock has an alarm, which is heard with the engine off."""
NOT_PEOPLE = "This protects knives, not people."


def every_card(name: str) -> list[Card]:
    """A card for each action of a machine, as it would come first in a new case."""
    of = problem_of(name)
    count = len(of.problem.actions)
    plan = Plan(np.arange(count), np.zeros(count), 0.0, "index")
    return [card_of(of, each) for each in ranked(of.problem, Case(of).situation, plan, count)]


def engine_runs(of, state: str) -> bool:
    """Whether any operating step on the way into a state has the engine on."""
    steps = {step.name: step for step in of.shown.network.steps}
    way = next(each.steps for each in of.states if each.name == state)
    return any(steps[name].engine for name in way)


# --- hands and engines ---------------------------------------------------------------------------


@machines
def test_no_card_sends_hands_to_the_machine_with_the_engine_running(name):
    of, running = problem_of(name), 0
    for card in every_card(name):
        if card.kind == "look":
            question = of.questions[card.id]
            if engine_runs(of, card.state):
                running += 1
                assert question.kind in AWAY, card.id
                assert question.subject not in (*of.checks.beside, "pawls", "plunger"), card.id
                assert question.kind != "movement" or question.subject == "rolls", card.id
        elif card.kind != "ask":
            assert not engine_runs(of, card.state), card.id
            assert card.state == of.states[0].name
    assert running > 5


@machines
def test_meters_fuses_and_relays_are_touched_with_the_engine_off_and_ohms_with_the_key_out(name):
    of = problem_of(name)
    for question in of.questions.values():
        if question.kind in ("volts", "ohms", "fuse", "relay"):
            assert not engine_runs(of, question.state)
        if question.kind in ("ohms", "fuse", "relay"):
            assert question.state == of.states[0].name


@machines
def test_every_card_but_the_question_to_the_operator_begins_with_cautions(name):
    of = problem_of(name)
    for card in every_card(name):
        if card.kind == "ask":
            continue
        keys = list(card.to_dict())
        assert keys.index("cautions") < min(keys.index("way"), keys.index("do"))
        assert card.cautions[-1].startswith(NOT_PEOPLE)
        assert "operator's manual, local codes and licensed practice" in card.cautions[-1]
        said = " ".join(card.cautions)
        if card.kind == "look" and engine_runs(of, card.state):
            assert "The rolls may turn" in card.cautions[0]
            assert "nobody within reach of rolls, knives or drives" in card.cautions[0].lower()
            assert "Never run the feed with the protection locked out." in said
        elif card.kind == "look" and card.state != of.states[0].name:
            assert card.cautions[0].startswith("Engine off; the key is on.")
            assert "Block the feed rolls." in said
        else:
            assert card.cautions[0] == "Engine off, key out, everything at rest."
            assert "stored energy" in said
            assert "Block the feed rolls before hands go near" in said


@machines
def test_a_card_that_takes_a_second_person_says_how_the_two_go_about_it(name):
    of = problem_of(name)
    states = {state.name: state for state in of.states}
    with_two = set[str]()
    for card in every_card(name):
        if card.kind != "look":
            continue
        question, state = of.questions[card.id], states[card.state]
        seat = question.kind in ("lamp", "buzzer") and question.subject not in of.checks.beside
        assert card.second_person == ((state.live or state.running) and not seat), card.id
        said = " ".join(card.cautions)
        if card.second_person:
            with_two.add(question.kind)
            for words in ("two people", "Agree on signs", "without your sign", "you keep"):
                assert words in said, (card.id, words)
            assert card.to_dict()["second_person"] is True
        else:
            assert "Agree on signs" not in said
    assert {"volts", "movement"} <= with_two  # meters, and rolls or pawls that are watched


@machines
def test_a_repair_whose_daily_test_runs_the_rolls_takes_two(name):
    of = problem_of(name)
    runs = any(step.running for step in daily_test(of))
    for card in every_card(name):
        if card.kind in ("repair", "test"):
            assert card.second_person == runs
    said = " ".join(daily_cautions(daily_test(of)))
    assert ("This takes two people" in said) == runs


@machines
def test_a_state_is_called_running_or_live_as_its_steps_are(name):
    of = problem_of(name)
    for state in of.states:
        assert state.running == engine_runs(of, state.name)
        key_on = state.steps != of.states[0].steps
        assert state.live == key_on
        first = cautions_for(state)[0]
        expected = "The rolls may" if state.running else "Engine off; the" if key_on else "key out"
        assert expected in first


@machines
def test_a_daily_test_on_a_card_says_that_the_rolls_turn_in_it(name):
    for card in every_card(name):
        if card.kind in ("repair", "test"):
            assert problem_of(name).checks.daily in card.do
            assert "The rolls may turn" in card.do
            assert "nobody within reach of rolls, knives or drives" in card.do.lower()


@machines
def test_no_state_of_any_card_locks_the_protection_out_with_the_engine_running(name):
    of = problem_of(name)
    lock = of.machine.circuit.lock
    steps = {step.name: step for step in of.shown.network.steps}
    locked_somewhere = False
    for state in of.states:
        on = [steps[each].position(lock) == "on" for each in state.steps] if lock else []
        locked_somewhere |= any(on)
        if state.running:
            assert not any(on), state.name
        for k, each in enumerate(state.steps):
            assert not (on and on[k] and steps[each].engine)
    for step in steps.values():
        if lock and step.position(lock) == "on" and step.engine:
            assert all(step.name not in state.steps for state in of.states)
    assert locked_somewhere == (name in LOCK_HEARD)


# --- what a card says ----------------------------------------------------------------------------


@machines
def test_a_look_offers_its_words_cannot_tell_and_something_else(name):
    of = problem_of(name)
    looks = [card for card in every_card(name) if card.kind == "look"]
    assert [card.id for card in looks] == list(of.questions)
    for card in looks:
        words = [each.word for each in card.answers]
        question = of.questions[card.id]
        assert words == [*question.words, "can't tell", "saw something else"]
        assert sum(each.chance for each in card.answers) == pytest.approx(1)
        assert [each.word for each in card.answers if each.sound] == [question.sound]
        assert card.do.endswith((".", "?"))
        assert (card.price, card.chance, card.module) == (0, 0, False)
        assert card.unit == (question.bands.unit if question.bands else "")
        state = next(each for each in of.states if each.name == card.state)
        assert card.way == state.way


@machines
def test_buzzers_are_answered_in_the_trades_words_and_lamps_in_theirs(name):
    of, buzzers = problem_of(name), 0
    for question in of.questions.values():
        if question.kind == "buzzer":
            buzzers += 1
            assert set(question.words) <= {"silent", "sounds", "sounds weakly", "comes and goes"}
        elif question.kind == "lamp":
            assert set(question.words) <= set(LIGHTS)
    assert buzzers
    heard = {name for name, kind, _ in of.shown.signs if kind == "buzzer"}
    for step in daily_test(of):
        for shown in step.shows:
            word = next(
                (shown[len(each) :].strip() for each in heard if shown.startswith(each)), ""
            )
            assert word in ("", "sounds", "sounds weakly", "comes and goes")


@machines
def test_a_fmea_effect_and_a_price_are_said_in_words(name):
    of = problem_of(name)
    heard = {name for name, kind, _ in of.shown.signs if kind == "buzzer"}
    for effect in effects_of(of):
        for part in effect.local.split("; "):
            column, _, words = part.partition(": ")
            assert column not in heard or "on" not in words.replace(",", " ").split()
    cards = [card for card in every_card(name) if card.kind == "repair" and card.price]
    hour = of.checks.price_of_an_hour.nominal
    for card in cards:
        said = price_words(of, card)
        assert f"Price of parts: {card.price:g}, where an hour of machine and person costs" in said
        assert f"costs {hour:g}." in said
        assert f"parts at a price of {card.price:g}" in other_words(card)
    assert cards


@machines
def test_a_repair_shows_its_price_and_its_chance_before_anything_is_bought(name):
    of = problem_of(name)
    by_repair = Case(of).by_repair()
    modules = 0
    for card in every_card(name):
        if card.kind != "repair":
            continue
        work = of.works[card.id]
        assert card.do.startswith(work.do)
        assert card.module == work.module
        assert card.chance == pytest.approx(by_repair[card.id])
        assert card.to_dict()["price"] == card.price
        assert [each.word for each in card.answers] == ["passed", "failed"]
        assert card.answers[0].chance == pytest.approx(card.chance)
        assert card.answers[1].chance == pytest.approx(1 - card.chance)
        if card.module:
            modules += 1
            assert card.price > 0
            assert card.price == work.price
            assert 0 < card.chance < 1
    assert modules >= 4


@machines
def test_the_minutes_of_a_card_are_the_way_the_work_and_the_daily_test(name):
    of = problem_of(name)
    problem = of.problem
    for card in every_card(name):
        if card.kind == "look":
            check = problem.checks[problem.numbers[f"check:{card.id}"]]
            move = problem.move[problem.start_state, check.state]
            assert card.minutes == pytest.approx(move + of.questions[card.id].minutes)
        elif card.kind == "repair":
            work = of.works[card.id]
            daily = problem.move[problem.start_state, problem.verify_state] + problem.verify_minutes
            priced = work.price * 60 / of.checks.price_of_an_hour.nominal
            assert card.minutes == pytest.approx(work.minutes + priced + daily)


@machines
def test_the_last_two_repairs_are_the_test_alone_and_the_way_out(name):
    *_, again, over = every_card(name)
    assert (again.id, again.kind) == (PROVE_AGAIN, "test")
    assert again.do.startswith("Mend nothing: make the daily test.")
    assert (over.id, over.kind, over.answers) == (HAND_OVER, "hand over", ())
    assert "daily test" not in over.do


@machines
def test_the_first_card_may_ask_what_happened(name):
    ask = every_card(name)[0]
    assert (ask.id, ask.kind, ask.way) == ("complaint", "ask", ())
    assert [each.word for each in ask.answers] == list(COMPLAINTS)
    assert sum(each.chance for each in ask.answers) == pytest.approx(1)


@machines
def test_only_the_first_of_several_cards_says_why(name):
    cards = Case(problem_of(name), complaint="stops on nothing").next_checks(3)
    assert cards[0].because
    assert all(card.because == () for card in cards[1:])
