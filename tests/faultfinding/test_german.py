"""Fault finding in German: what is kept stays as it is, what is shown is said anew."""

from __future__ import annotations

import pytest

from tests.faultfinding.problems import problem_of
from tripmargin.faultfinding import CANNOT_TELL, SAW_ELSE, Case
from tripmargin.faultfinding.cases.cautions import cautions_for
from tripmargin.faultfinding.cases.so_far import done_so_far
from tripmargin.faultfinding.charts.fmea_words import cause_of
from tripmargin.faultfinding.deciding.reasons import percent
from tripmargin.faultfinding.suspects.bands import ohm_bands, volt_bands
from tripmargin.faultfinding.suspects.found_words import WORDS, word_said
from tripmargin.faultfinding.wording.belief_words import likeliest
from tripmargin.faultfinding.wording.readings import complaint_of, finding_of, with_unit
from tripmargin.faultfinding.wording.standing_words import outcome
from tripmargin.ground.errors import QuantityError
from tripmargin.ground.languages import ENGLISH, speaking


@pytest.fixture(scope="module")
def case():
    case = Case(problem_of("dunlin"), complaint="feed stays stopped")
    case.record("standing: fuse F2", "whole")
    return case


def test_a_problem_that_was_read_in_one_language_is_said_in_another(case):
    work = case.of.works["mend F2"]
    assert work.do.startswith("Replace the fuse: F2. Of the same rating, ")
    with speaking("de"):
        assert work.do.startswith("Sicherung ersetzen: F2. Gleiche Stromstärke, ")
    fault = next(each for each in case.of.hypotheses if each.id == "D.out.trip_out:never")
    assert fault.text == "D, output trip out: output never switches on"
    with speaking("de"):
        assert fault.text == "D, Auslöseausgang: Ausgang schaltet nie ein"


def test_what_was_recorded_is_kept_in_english_and_shown_in_german(case):
    with speaking("de"):
        _, looked = done_so_far(case)
        assert looked.found == "ganz"
        assert looked.check == "standing: fuse F2"
        assert case.entries[-1]["word"] == "whole"
        assert outcome(case).startswith("OFFEN: Der Fehler ist noch nicht gefunden.")
        (card,) = case.next_checks(1)
        assert card.because[0].startswith("Am wahrscheinlichsten: ")
        assert any("Wahrscheinlichkeit" in line or "Wenn" in line for line in card.because)
        assert "Motor aus" in " ".join(card.cautions)
        assert {answer.said for answer in card.answers} >= {"etwas anderes gesehen"}
        assert {answer.word for answer in card.answers} >= {"saw something else"}
        german = [text for text, _, _ in likeliest(case)]
    assert german != [text for text, _, _ in likeliest(case)]


def test_ranges_of_a_meter_have_a_decimal_comma_and_the_same_word_in_the_file():
    volts, ohms = volt_bands([0.0, 12.2, 12.4]), ohm_bands([1800.0, 1900.0, 12.0, float("inf")])
    english = volts.words, ohms.words
    with speaking("de"):
        assert volts.said(volts.word(11.0)) == "mehr als 6,1 V"
        assert ohms.said(ohms.words[0]) == "weniger als 150 Ω"
        assert ohms.said(ohms.words[-1]) == "mehr als 190 kΩ oder Überlauf"
        assert (volt_bands([0.0, 12.2, 12.4]).words, ohms.words) == english


def test_chances_have_a_decimal_comma():
    with speaking("de"):
        assert percent(0.004) == "0,4 %"
        assert percent(0.0004) == "unter 0,1 %"


def test_what_is_typed_in_german_is_understood(case):
    with speaking("de"):
        sentence = "Die Walzen laufen nicht rückwärts."
        assert complaint_of(sentence) == "will not reverse"
        assert finding_of(case.of, "standing: fuse F2", "durchgebrannt") == "gone"
        assert finding_of(case.of, "standing: fuse F2", "nicht zu erkennen") == "can't tell"
        assert finding_of(case.of, "standing: fuse F2", "gone") == "gone"


def test_cautions_come_in_german(case):
    with speaking("de"):
        running = next(state for state in case.of.states if state.running)
        assert (
            cautions_for(running)[-1]
            == "Den Einzug nie mit außer Kraft gesetztem Schutz laufen lassen."
        )


def test_every_word_that_may_be_found_has_a_german_one(case):
    """And no two words of one look read the same."""
    for look in case.of.looks:
        question = look.question
        with speaking("de"):
            words = (*question.words, CANNOT_TELL, SAW_ELSE)
            said = [question.said(word) for word in words]
        assert len(set(said)) == len(said)
        assert [word for word, now in zip(words, said, strict=True) if word == now] == []
    with speaking("de"):
        assert [word for word in WORDS if word_said(word) == word] == []


def test_the_usual_cause_goes_by_the_english_words():
    with speaking("de"):
        assert cause_of("W3: wire chafed to ground", False) == "an einer Kante durchgescheuert"
    with speaking(ENGLISH):
        assert cause_of("W3: wire chafed to ground", False) == "rubbed through on an edge"


def test_a_meters_reading_is_typed_with_a_comma_or_a_point(case):
    volts = next(
        name for name, each in case.of.questions.items() if each.bands and each.bands.unit == "V"
    )
    with speaking("de"):
        assert finding_of(case.of, volts, "12,3") == finding_of(case.of, volts, "12.3") == 12.3
        assert finding_of(case.of, volts, with_unit("300,5", "mV")) == pytest.approx(0.3005)
        ohms = next(
            name
            for name, each in case.of.questions.items()
            if each.bands and each.bands.unit == "ohm"
        )
        for typed in ("2,4 kΩ", "2,4 kOhm", with_unit("2,4", "kohm"), "2400 Ω"):
            assert finding_of(case.of, ohms, typed) == pytest.approx(2400)
        assert finding_of(case.of, volts, "1.500") == 1.5  # a point parts no thousands
        with pytest.raises(QuantityError) as refused:
            finding_of(case.of, volts, "zwölf")
        assert "„13,2 V“" in str(refused.value)
        with pytest.raises(QuantityError) as refused:
            finding_of(case.of, volts, "1.234,5")
        assert "1.234,5" in str(refused.value)


def test_the_modules_terminals_are_named_in_german(case):
    with speaking("de"):
        texts = [each.text for each in case.of.hypotheses]
        assert "D, Auslöseausgang: Ausgang schaltet nie ein" in texts
        assert not any("trip out" in text or "in range" in text for text in texts)
    assert "D, output trip out: output never switches on" in [e.text for e in case.of.hypotheses]


def test_a_repair_for_a_button_leaves_out_what_is_said_beside_it(case):
    fuse = case.of.works["mend F1"]
    assert fuse.short == "Replace the fuse: F1"
    with speaking("de"):
        assert fuse.short == "Sicherung ersetzen: F1"
        assert fuse.do.startswith("Sicherung ersetzen: F1. Gleiche Stromstärke")
