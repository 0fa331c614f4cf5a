"""What `machine new` asks, what an answer means, and the file that comes of it."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.machine.files import SMALL, written
from tripmargin.ground.errors import MachineFileError
from tripmargin.machine import all_fields, load_machine
from tripmargin.machine.asking import Answers, Question, value_of
from tripmargin.machine.fields import Spec


def question(answers: Answers, name: str) -> Question:
    return next(q for q in answers.questions() if q.name == name)


def test_every_field_that_can_be_measured_in_the_yard_is_asked() -> None:
    asked = {q.name.replace("pawls.lower.", "pawls[].") for q in Answers().questions()}
    measurable = {f.path for f in all_fields() if f.spec.measure}
    assert measurable <= asked
    assert {"machine.name", "limits.must_stop", "chain.hold_winding.suppression"} <= asked


@pytest.mark.parametrize(
    ("text", "us", "value"),
    [
        ("330", False, "330 mm"),
        ("330 +- 4", False, "330 mm +- 4 mm"),
        ("325 .. 335", False, "325 mm .. 335 mm"),
        ("330 +- 4 (sd)", False, "330 mm +- 4 mm (sd)"),
        ("13 1/4", True, "13 1/4 in"),
        ("33 cm", True, "33 cm"),
        ("330 mm +- 1 %", False, "330 mm +- 1 %"),
        ("1e2", False, "1e2 mm"),
    ],
)
def test_a_bare_number_takes_the_usual_unit(text: str, us: bool, value: str) -> None:
    length = Question(("feed", "roll_diameter"), Spec("quantity", "a roll", "length"))
    assert value_of(length, text, us=us) == value


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("5 mm, 8 mm", ["5 mm", "8 mm"]),
        ("5, 8, 12 mm", ["5 mm", "8 mm", "12 mm"]),
        ("5; 8", ["5 mm", "8 mm"]),
        ("5,8", ["5 mm", "8 mm"]),
        ("5 mm, 8", ["5 mm", "8 mm"]),
    ],
)
def test_cut_lengths_are_a_list(text: str, value: list[str]) -> None:
    cuts = question(Answers(), "feed.cut_lengths")
    assert value_of(cuts, text, us=False) == value


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("diode 0.8 V", {"kind": "diode", "voltage": "0.8 V"}),
        ("Zener, 24", {"kind": "zener", "voltage": "24 V"}),
        ("resistor 82 ohm", {"kind": "resistor", "resistance": "82 ohm"}),
        ("none", {"kind": "none"}),
    ],
)
def test_the_suppression_is_one_answer(text: str, value: dict[str, str]) -> None:
    answers = Answers()
    assert answers.answer(question(answers, "chain.hold_winding.suppression"), text) == value


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("feed.sensor_to_shear_bar", "-3"),
        ("feed.sensor_to_shear_bar", "3 V"),
        ("feed.knives", "many"),
        ("feed.cutterhead_speed", "0"),
        ("chain.hold_winding.suppression", "resistor"),
        ("chain.hold_winding.suppression", "spring"),
        ("chain.pawls.lower.clearance", "5 .. 3"),
    ],
)
def test_an_answer_that_cannot_stand_is_refused_and_forgotten(name: str, text: str) -> None:
    answers = Answers()
    with pytest.raises(MachineFileError) as refused:
        answers.answer(question(answers, name), text)
    assert refused.value.field.startswith(name)
    assert refused.value.allowed
    assert not answers.values


def test_a_type_sheet_speaks_for_what_nobody_answers(tmp_path: Path) -> None:
    written(tmp_path, SMALL.replace('"upper"', '"top"'), "type.toml")
    answers = Answers()
    answers.take_sheet("type.toml", tmp_path)
    names = [q.name for q in answers.questions()]
    assert "chain.pawls.top.clearance" in names
    assert "chain.pawls.upper.clearance" not in names
    assert question(answers, "feed.roll_diameter").left_out() == "the type sheet's 160 mm"
    assert question(answers, "machine.name").left_out() == "the file's name"


def test_a_broken_type_sheet_is_refused(tmp_path: Path) -> None:
    written(tmp_path, SMALL.replace('"260 mm"', '"260"'), "type.toml")
    with pytest.raises(MachineFileError, match="no unit"):
        Answers().take_sheet("type.toml", tmp_path)


@pytest.mark.parametrize("names", ["", "a, a", "1, 2", "a.b"])
def test_pawls_have_names_of_their_own(names: str) -> None:
    with pytest.raises(MachineFileError):
        Answers().take_pawls(names)


def test_what_was_answered_loads_as_answered(tmp_path: Path) -> None:
    answers = Answers(us=True)
    answers.take_pawls("drive")
    for name, text in {
        "machine.name": 'Ruff "the old one" \\ nr. 2',
        "feed.knives": "8",
        "feed.roll_diameter": "6 1/4 +- 1/16",
        "feed.cut_lengths": "1/4, 1/2",
        "chain.pawls.drive.clearance": "1/8 in +- 10 %",
        "chain.hold_winding.suppression": "diode 0.8",
        "limits.must_stop": "M12x40 bolt",
    }.items():
        answers.answer(question(answers, name), text)
    machine = load_machine(written(tmp_path, answers.file_text()))
    assert machine.name == 'Ruff "the old one" \\ nr. 2'
    assert machine.get("feed.roll_diameter").nominal == pytest.approx(0.15875)
    assert machine.get("feed.roll_diameter").high == pytest.approx(0.0254 * 6.3125)
    assert machine.feed is not None
    assert machine.feed.cut_lengths == pytest.approx((0.00635, 0.0127))
    assert [pawl.name for pawl in machine.chain.pawls] == ["drive"]  # type: ignore[union-attr]
    assert machine.limits.must_stop == "M12x40 bolt"


PRINTED = st.characters(exclude_categories=["Cs", "Cc", "Zl", "Zp"])


@given(
    name=st.text(PRINTED, min_size=1, max_size=40),
    serial=st.text(PRINTED, min_size=1, max_size=40),
)
def test_any_words_come_back_as_they_were_given(name: str, serial: str) -> None:
    answers = Answers()
    given_: dict[str, str] = {}
    for field, text in {"name": name, "serial": serial}.items():
        if text.strip():
            answers.answer(question(answers, f"machine.{field}"), text)
            given_[field] = text.strip()
    written_ = tomllib.loads(answers.file_text())
    assert written_["machine"] == given_


@pytest.mark.parametrize("letter", ["\0", "\x1b", "\x7f", "\x85", "\u2028"], ids=ascii)
def test_a_letter_that_cannot_be_printed_is_refused_with_words(letter: str) -> None:
    answers = Answers()
    with pytest.raises(MachineFileError, match="cannot be printed") as caught:
        answers.answer(question(answers, "machine.name"), f"Kn{letter}t")
    assert f"U+{ord(letter):04X}" in str(caught.value)
    assert letter not in str(caught.value)
    assert answers.values == {}


@pytest.mark.parametrize(
    ("said", "readings"),
    [
        ("4,5; 8", ("4.5; 8", "4; 5; 8")),
        ("4,5", ("4.5", "4; 5")),
        ("4,5, 8 mm", ("4.5; 8 mm", "4; 5; 8 mm")),
        ("5,10 mm", ("5.10 mm", "5; 10 mm")),
    ],
)
def test_a_list_whose_comma_may_be_a_decimal_sign_is_asked_about(
    said: str, readings: tuple[str, str]
) -> None:
    answers = Answers()
    cuts = question(answers, "feed.cut_lengths")
    with pytest.raises(MachineFileError, match="a comma inside a number") as caught:
        answers.answer(cuts, said)
    for reading in readings:
        assert f'"{reading}"' in str(caught.value)
        answers.answer(cuts, reading)  # what it offers is taken


@pytest.mark.parametrize("said", ["5, 8", "5; 8", "5,8,12", "4.5, 8 mm", "4.5;8"])
def test_a_list_that_reads_one_way_is_taken(said: str) -> None:
    answers = Answers()
    assert answers.answer(question(answers, "feed.cut_lengths"), said)


def test_a_field_left_out_is_said_with_what_is_assumed_instead() -> None:
    text = Answers().file_text()
    assert (
        "# slip: the crop runs slower than the rolls by this much. Left out: assumed: 0 %" in text
    )
    assert "# roll_diameter: " in text
