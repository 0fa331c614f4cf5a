"""The proof's sentences in German, with a decimal comma. The German is checked against itself only:
no outside source."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tripmargin import load_machine
from tripmargin.ground.every_language import in_every_language
from tripmargin.ground.languages import ENGLISH, speaking
from tripmargin.protection.costs import Cost, setting_costs, stage_words
from tripmargin.protection.proving import prove
from tripmargin.protection.setting.threshold_words import rate_words
from tripmargin.protection.state_reasons import clearances
from tripmargin.protection.verdicts import Proof


def test_a_clearance_outside_its_window_is_told_with_a_decimal_comma() -> None:
    machine = load_machine("curlew").with_settings({"chain.pawls.lower.clearance": 0.0075})
    with speaking("de"):
        (said,) = clearances(machine, us=False)
    assert said.startswith("Sperrklinke unten: Der Abstand von 7,5 mm liegt außerhalb des Fensters")


def test_stages_and_changes_are_said_when_they_are_shown() -> None:
    costs = setting_costs(load_machine("curlew"), 0.008)
    gaps = next(cost for cost in costs if "clearance" in cost.what)
    with speaking("de"):
        assert stage_words("tooth upper") == "Sperrklinke oben: Warten auf einen Zahn"
        assert Cost("release", 0.01, "stage").words() == "Abklingen der Haltewicklung"
        assert gaps.words().startswith("alle Sperrklinken auf ")
        assert rate_words(3.2) == "3,2 je Stunde"
    assert gaps.words() == gaps.what


def test_a_proof_that_is_kept_is_read_in_the_language_of_the_reader() -> None:
    with speaking("de"):
        proof = prove(replace(load_machine("curlew"), sensor=None), cut_lengths=[0.01])
    assert proof.verdict == "not known"
    assert proof.because_in(us=False)[0].startswith("Not known without ")
    with speaking("de"):
        assert proof.because_in(us=True)[0].startswith("Nicht bekannt ohne ")


def test_sentences_are_told_in_english_and_in_the_language_spoken() -> None:
    with speaking("de"):
        told = in_every_language(lambda us: (rate_words(3.2), str(us)))
    assert told[ENGLISH] == (("3.2 an hour", "False"), ("3.2 an hour", "True"))
    assert told["de"][0][0] == "3,2 je Stunde"


@pytest.mark.parametrize("code", [ENGLISH, "de"])
def test_a_proof_without_other_languages_is_read_as_it_was_told(code: str) -> None:
    proof = Proof("Knot", "doubtful", (), because=("25.4 mm",), because_us=("1 in",))
    with speaking(code):
        assert (proof.because_in(us=False), proof.because_in(us=True)) == (("25.4 mm",), ("1 in",))
