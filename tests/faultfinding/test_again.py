"""Looks made again after a repair, looks that do not fit together, daily tests that failed."""

from __future__ import annotations

import numpy as np
import pytest

from tests.faultfinding.problems import problem_of
from tripmargin.faultfinding import Case, ProblemError
from tripmargin.faultfinding.cases.again import shown_before, unfit_pairs
from tripmargin.faultfinding.cases.case_file import CaseFile
from tripmargin.faultfinding.cases.so_far import done_so_far
from tripmargin.faultfinding.cases.ways import daily_test
from tripmargin.faultfinding.wording.belief_words import contradiction, prices_words
from tripmargin.faultfinding.wording.card_words import before_words
from tripmargin.ground.results import plain

NAME = "dunlin"


@pytest.fixture(scope="module")
def of():
    return problem_of(NAME)


def lamp(of, *, but=()):
    return next(q for q in of.questions.values() if q.kind == "lamp" and q.id not in but)


def test_a_look_asked_again_after_a_repair_says_what_it_showed_before(of):
    case, question = Case(of), lamp(of)
    case.record(question.id, question.words[1])
    assert shown_before(case, question.id) is None  # nothing was mended since
    mended = next(name for name in of.works if name.startswith("mend "))
    case.record(mended, "failed")
    before = shown_before(case, question.id)
    assert before is not None
    assert before["word"] == question.words[1]
    card = next(card for card in every_look(case) if card.id == question.id)
    assert before_words(case, card) == (
        f"Before the last repair it showed: {question.words[1]}. Look anew."
    )
    case.record(question.id, question.words[0])
    assert shown_before(case, question.id) is None  # it was looked at anew
    case.record("prove again", "failed")
    assert shown_before(case, question.id)["word"] == question.words[0]  # type: ignore[index]
    assert shown_before(case, mended) is None


def every_look(case):
    from tripmargin.faultfinding.cases.cards import card_of
    from tripmargin.faultfinding.deciding.planning import Plan
    from tripmargin.faultfinding.deciding.ranking import ranked

    count = len(case.of.problem.actions)
    plan = Plan(np.arange(count), np.zeros(count), 0.0, "index")
    return [card_of(case.of, each) for each in ranked(case.of.problem, case.situation, plan, count)]


def test_a_meters_reading_is_what_it_showed_before(of):
    case = Case(of)
    meter = next(q for q in of.questions.values() if q.bands and q.bands.unit == "V")
    value = (meter.bands.least + meter.bands.most) / 2
    case.record(meter.id, value)
    case.record("prove again", "failed")
    card = next(card for card in every_look(case) if card.id == meter.id)
    assert f"{value:.4g} V (" in before_words(case, card)


def shown_by(look, fault):
    return look.question.words[look.answers[fault]]


def test_no_fault_of_the_machine_makes_looks_that_do_not_fit(of):
    rng = np.random.default_rng(7)
    for fault in rng.choice(len(of.hypotheses) - 1, 12, replace=False):
        case = Case(of)
        for look in rng.choice(np.array(of.looks, dtype=object), 12, replace=False):
            case.record(look.question.id, shown_by(look, fault))
            assert contradiction(case) == ""
        assert unfit_pairs(case) == ()


def test_two_looks_that_no_listed_fault_shows_are_named(of):
    pairs = [
        (one, two, a, b)
        for one in of.looks[:40]
        for two in of.looks[:40]
        if one is not two
        for a in range(len(one.question.words))
        for b in range(len(two.question.words))
        if not ((shows(of, one, a)) & shows(of, two, b))[:-1].any()
    ]
    one, two, a, b = pairs[0]
    case = Case(of)
    case.record(one.question.id, one.question.words[a])
    assert contradiction(case) == ""
    case.record(two.question.id, two.question.words[b])
    said = contradiction(case)
    assert said.startswith("These two do not fit together: ")
    for look, word in ((one, a), (two, b)):
        named = f"{look.question.subject} [{look.question.state}] {look.question.words[word]}"
        assert named in said
    ((first, second),) = unfit_pairs(case)
    assert (first["check"], second["check"]) == (one.question.id, two.question.id)
    case.undo()
    assert unfit_pairs(case) == ()
    case.record(two.question.id, "can't tell")
    assert unfit_pairs(case) == ()
    case.undo()
    case.record("prove again", "failed")  # the machine is another one since
    case.record(two.question.id, two.question.words[b])
    assert unfit_pairs(case) == ()


def shows(of, look, word):
    """By hand: the faults that show a word, those that come and go also a sound machine's."""
    away = np.array([each.shows < 1 for each in of.hypotheses])
    return (look.answers == word) | (away if word == 0 else np.zeros_like(away))


# --- a daily test that failed --------------------------------------------------------------------


def test_the_step_at_which_the_daily_test_failed_is_kept_and_told(of):
    case = Case(of)
    case.record("prove again", "failed", failed_at=2)
    assert case.entries[-1]["failed_at"] == 2
    assert done_so_far(case)[-1].found == "daily test failed at step 2"
    assert plain(case.entries[-1].to_dict())["failed_at"] == 2


@pytest.mark.parametrize(("word", "step"), [("failed", 0), ("failed", 99), ("passed", 1)])
def test_a_step_that_is_none_is_refused_and_nothing_is_recorded(of, word, step):
    case = Case(of)
    with pytest.raises(ProblemError, match="no step at which it failed"):
        case.record("prove again", word, failed_at=step)
    assert case.entries == ()


def test_a_step_tells_which_faults_are_left(of):
    assert len(daily_test(of)) == of.daily_steps
    first = of.daily_shows_at
    assert set(np.flatnonzero(first < of.daily_steps)) == set(np.flatnonzero(of.daily_shows)) - {
        len(of.hypotheses) - 1
    }
    for step in range(1, of.daily_steps + 1):
        here = np.flatnonzero(first == step - 1)
        here = here[[of.hypotheses[h].shows == 1 for h in here]]
        if not len(here):
            continue
        plainly, told = Case(of), Case(of)
        plainly.record("prove again", "failed")
        told.record("prove again", "failed", failed_at=step)
        before, after = plainly.situation.belief, told.situation.belief
        assert after.sum() == pytest.approx(1)
        assert after[here].sum() > before[here].sum()
        others = np.flatnonzero((first != step - 1) & of.daily_shows)
        assert after[others].sum() < before[others].sum()


def test_a_step_of_another_machines_test_counts_for_nothing(of):
    file = CaseFile.in_memory({"machine_name": NAME, "machine": {}})
    file.append("repair", repair="prove again", word="failed", failed_at=99)
    told = Case.from_file(of, file)
    plainly = Case(of)
    plainly.record("prove again", "failed")
    assert told.situation.belief == pytest.approx(plainly.situation.belief)


# --- words of cases that were begun before -------------------------------------------------------


def test_a_buzzer_answered_in_a_lamps_words_still_stands(of):
    buzzer = next(q for q in of.questions.values() if q.kind == "buzzer" and "sounds" in q.words)
    file = CaseFile.in_memory({"machine_name": NAME, "machine": {}})
    file.append("finding", check=buzzer.id, word="on")
    case = Case.from_file(of, file)
    assert [entry["word"] for entry in case.entries] == ["sounds"]
    assert case.set_aside == ()
    today = Case(of)
    today.record(buzzer.id, "sounds")
    assert case.situation.belief == pytest.approx(today.situation.belief)
    again = Case(of)
    again.record(buzzer.id, "off")
    assert again.entries[-1]["word"] == "silent"


def test_prices_say_what_they_are_in(of):
    case = Case(of)
    hour = of.checks.price_of_an_hour.nominal
    assert prices_words(case) == (
        f"Prices as in the machine's file, where an hour of machine and person costs {hour:g}."
    )
