"""Answers of the questions about a machine, typed in German and kept as a file has them."""

from __future__ import annotations

import pytest

from tripmargin.ground.languages import speaking
from tripmargin.machine.asking import Answers
from tripmargin.machine.typed_answers import spelled_allowed, spelled_answer, typed_answer


@pytest.mark.parametrize(
    ("name", "typed", "kept", "shown"),
    [
        ("feed.cutterhead_speed", "1000 U/min +- 2,5 %", "1000 rpm +- 2.5 %",
         "1000 1/min +- 2,5 %"),
        ("feed.cut_lengths", "5,5; 8; 12,5", "5.5; 8; 12.5", "5,5; 8; 12,5"),
        ("chain.hold_winding.resistance", "18,2 Ohm", "18.2 ohm", "18,2 Ω"),
        ("chain.hold_winding.suppression", "Widerstand 82 Ohm", "resistor 82 ohm",
         "Widerstand 82 Ω"),
        ("chain.hold_winding.suppression", "Zenerdiode 24 V", "zener 24 V", "Z-Diode 24 V"),
        ("chain.hold_winding.suppression", "keine", "none", "nichts"),
        ("machine.description", "Version 3,5, ohne Lenkung", "Version 3,5, ohne Lenkung",
         "Version 3,5, ohne Lenkung"),
    ],
)  # fmt: skip
def test_what_is_typed_is_kept_for_the_file_and_shown_again(
    name: str, typed: str, kept: str, shown: str
) -> None:
    answers = Answers()
    question = next(q for q in answers.questions() if q.name == name)
    with speaking("de"):
        assert typed_answer(question, typed) == kept
        assert spelled_answer(question, kept) == shown
        assert typed_answer(question, shown) == kept
        answers.answer(question, kept)
    assert typed_answer(question, kept) == spelled_answer(question, kept) == kept


def test_examples_of_what_is_allowed_are_shown_as_they_are_typed() -> None:
    question = next(q for q in Answers().questions() if q.name == "chain.hold_winding.resistance")
    with speaking("de"):
        said = spelled_allowed(question.allowed())
    assert "„18 Ω“" in said
    assert '"' not in said
    assert spelled_allowed(question.allowed()) == question.allowed()


def test_a_file_is_told_what_is_assumed_with_points() -> None:
    question = next(q for q in Answers().questions() if q.name == "chain.supply")
    with speaking("de"):
        assert question.left_out() == "angenommen: 11.5 V .. 14.5 V"
        assert question.left_out(spelled=True) == "angenommen: 11,5 V .. 14,5 V"
