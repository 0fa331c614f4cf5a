"""Many answers at once come to the same as one after the other."""

from __future__ import annotations

import pytest

from tripmargin.ground.errors import MachineFileError
from tripmargin.machine.answering import answer_all
from tripmargin.machine.asking import Answers
from tripmargin.machine.loading import demo_path

GOOD = {
    "machine.name": "Knot",
    "feed.knives": "8",
    "feed.cutterhead_speed": "1000 +- 2 %",
    "feed.cut_lengths": "5, 10 mm",
    "feed.roll_diameter": "160 +- 2",
    "chain.hold_winding.suppression": "zener 24",
    "chain.pawls.upper.clearance": "3 +- 1",
    "chain.pawls.lower.ratchet_turns_per_roll_turn": "2",
}
BAD = {
    "feed.slip": "much",
    "feed.roll_width": "7",
    "chain.supply": "12 mm",
    "chain.hold_winding.suppression": "rope",
    "chain.pawls.lower.ratchet_teeth": "4.5",
}


def with_sheet() -> Answers:
    answers = Answers()
    path = demo_path("curlew").parent / "type-trailed-electric.toml"
    answers.take_sheet(path.name, path.parent)
    return answers


def one_by_one(answers: Answers, texts: dict[str, str]) -> list[str]:
    wrong = []
    for question in answers.questions():
        if texts.get(question.name):
            try:
                answers.answer(question, texts[question.name])
            except MachineFileError:
                wrong.append(question.name)
    return wrong


@pytest.mark.parametrize("make", [Answers, with_sheet])
@pytest.mark.parametrize("texts", [{}, GOOD, BAD, GOOD | BAD])
def test_it_is_as_if_they_were_given_one_after_the_other(make, texts):
    at_once, in_turn = make(), make()
    wrong = answer_all(at_once, texts)
    assert list(wrong) == one_by_one(in_turn, texts)
    assert at_once.values == in_turn.values
    assert at_once.file_text() == in_turn.file_text()


def test_each_problem_says_what_was_seen_and_what_is_allowed():
    wrong = answer_all(Answers(), BAD)
    assert set(wrong) == set(BAD)
    assert all(problem.allowed for problems in wrong.values() for problem in problems)
    assert wrong["chain.supply"][0].problem == '"mm" is a unit of length, not of voltage'


def test_what_nobody_asks_is_left_out():
    answers = Answers()
    assert answer_all(answers, {"feed.nonsense": "3", "machine.name": "  ", "": "x"}) == {}
    assert answers.values == {}


def test_an_answer_that_is_left_out_takes_back_an_earlier_one():
    answers = Answers()
    answer_all(answers, GOOD)
    answer_all(answers, {"machine.name": "Ruff"})
    assert list(answers.values.values()) == ["Ruff"]


def test_two_that_do_not_go_together_cost_only_the_later_one(monkeypatch):
    # No two questions of today contradict each other: a reading that finds the machine as a whole
    # wrong, whatever its fields, stands for such a pair.
    from tripmargin.ground.errors import Problem
    from tripmargin.machine import answering, asking

    real = asking.machine_from

    def contrary(sheets, name):
        feed = sheets[0].tables.get("feed", {})
        if {"knives", "slip"} <= set(feed):
            raise MachineFileError([Problem(name, None, "feed", "", "do not go together", "one")])
        return real(sheets, name)

    monkeypatch.setattr(asking, "machine_from", contrary)
    monkeypatch.setattr(answering, "machine_from", contrary)
    answers = Answers()
    wrong = answer_all(answers, {"feed.knives": "8", "feed.slip": "3", "feed.roll_width": "700"})
    assert list(wrong) == ["feed.slip"]
    assert set(answers.values) == {("feed", "knives"), ("feed", "roll_width")}
