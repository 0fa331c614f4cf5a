"""The machine file's room in German: refusals, questions, fields; and what must stay English."""

from __future__ import annotations

import pytest

from tests.machine.files import SMALL, written
from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import say, speaking
from tripmargin.machine import all_fields, json_schema, load_machine
from tripmargin.machine.asking import Answers
from tripmargin.machine.cautions import REMINDER
from tripmargin.machine.rewriting import with_values
from tripmargin.machine.showing import rows


@pytest.fixture
def german():
    with speaking("de"):
        yield


def test_a_refusal_says_what_is_allowed_in_german_with_a_comma(german):
    with pytest.raises(MachineFileError) as caught:
        load_machine("curlew").with_settings({"feed.roll_diameter": 2.5})
    problem = caught.value.problems[0]
    assert problem.file == "Was-wäre-wenn"
    assert problem.problem == "zu groß: 2500 mm"
    assert problem.allowed == "Länge, geschrieben wie „330 mm“ oder „13 in“, von 50 mm bis 1000 mm"
    assert problem.hint.startswith("An jede Seite der Walze ein Lineal anlegen")


def test_a_number_in_a_refusal_has_a_comma(german):
    with pytest.raises(MachineFileError) as caught:
        load_machine("curlew").with_settings({"feed.cut_lengths": ["0.1 mm"]})
    assert "zu klein: 0,1 mm" in str(caught.value)
    assert "von 0,5 mm bis 200 mm" in str(caught.value)


def test_a_slip_in_a_file_is_named_in_german(tmp_path, german):
    with pytest.raises(MachineFileError) as caught:
        load_machine(written(tmp_path, SMALL.replace("roll_diameter", "roll_diametre")))
    (problem,) = caught.value.problems
    assert problem.problem == "unbekannter Schlüssel"
    assert problem.hint == "War „roll_diameter“ gemeint?"


def test_what_is_no_toml_is_said_in_german(tmp_path, german):
    path = written(tmp_path, '[machine]\nname = "torn\n')
    with pytest.raises(MachineFileError, match=r"kein TOML: unzulässiges Zeichen '\\n'"):
        load_machine(path)


def test_the_questions_of_machine_new_are_german_and_their_file_can_be_read(tmp_path, german):
    answers = Answers()
    questions = {question.name: question for question in answers.questions()}
    slip = questions["feed.slip"]
    assert slip.meaning == "um so viel läuft das Erntegut langsamer als die Walzen"
    assert slip.while_running.startswith("Das wird bei laufender Maschine abgelesen")
    assert slip.while_running.endswith("im Lauf werden nur die Umdrehungen gezählt.")
    assert slip.left_out() == "angenommen: 0 % .. 10 %"
    assert questions["feed.cut_lengths"].allowed().startswith("eine Liste von Längen wie „5 mm, 8")
    answers.answer(questions["machine.name"], "Kiebitz")
    answers.answer(slip, "2 .. 6")
    text = answers.file_text()
    assert "# um so viel läuft das Erntegut langsamer als die Walzen" in text
    assert load_machine(written(tmp_path, text)).feed.slip.text == "2 % .. 6 %"


def test_every_field_is_told_in_german(german):
    """A sentence without a translation would come back as it was given."""
    untold = [
        each.path
        for each in all_fields()
        if say(each.spec.meaning) == each.spec.meaning
        or (each.spec.measure and each.spec.to_measure == each.spec.measure)
    ]
    assert untold == []


def test_cautions_are_german(german):
    assert say(REMINDER).startswith("Motor aus, Schlüssel ab, alles steht still")


def test_the_schema_is_one_for_all_and_stays_english():
    english = json_schema()
    with speaking("de"):
        assert json_schema() == english


def test_what_is_written_into_a_file_is_never_translated(german):
    text = '[chain]\nsupply = "13.25 V +- 0.5 V"\n'
    made = with_values(text, {"chain.supply": 14.25})
    assert made == '[chain]\nsupply = "14.25 V +- 0.5 V"\n'
    found = {f"{row.section}.{row.field}": row for row in rows(load_machine("curlew"))}
    gap, cuts = found["chain.pawls.lower.clearance"], found["feed.cut_lengths"]
    assert (gap.value, gap.written) == ("3,4 mm +- 0,4 mm", "3.4 mm +- 0.4 mm")
    assert "," not in cuts.written.replace(", ", "")
    place = found["circuit.parts.F1.place"]
    assert (place.value, place.written) == ("Sicherungskasten des Traktors", "tractor's fuse box")
