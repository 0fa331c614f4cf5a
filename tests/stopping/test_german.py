"""The pawls' steps in German, with a decimal comma. The German is checked against itself only: no
outside source."""

from __future__ import annotations

import pytest

from tripmargin import load_machine
from tripmargin.ground.languages import speaking
from tripmargin.stopping.setting import SettingError, pawl_steps
from tripmargin.stopping.setting.step_words import between, turns_words


def test_steps_are_said_in_the_language_of_whoever_reads_them() -> None:
    plan = pawl_steps(load_machine("curlew"), lower_gap=0.0062, upper_gap=0.0041)
    turn = plan.steps[0]
    with speaking("de"):
        said = turn.words()
        assert plan.cautions[0] == "Motor aus, Schlüssel ab, alles steht still."
        assert plan.because()[0].startswith("Ziel ")
    assert said.startswith("Sperrklinke unten: Kontermutter am Gabelkopf lösen")
    assert "der Abstand schrumpft von 6,2 mm auf etwa " in said
    assert turn.words().startswith("Loosen the jam nut of the lower pawl's clevis")


def test_numbers_have_a_comma_and_one_turn_is_one() -> None:
    with speaking("de"):
        assert between(0.0035, 0.0037) == "3,5 bis 3,7 mm"
        assert turns_words(1.0, 0.5) == "1 Umdrehung"
        assert turns_words(0.5, 1 / 6) == "0,5 Umdrehungen (3 Schritte von 60°)"


def test_a_gap_that_cannot_be_is_refused_in_german() -> None:
    with speaking("de"), pytest.raises(SettingError) as refused:
        pawl_steps(load_machine("curlew"), lower_gap=-0.0012, upper_gap=0.004)
    assert str(refused.value).startswith(
        "Abstand der Sperrklinke unten = -1,2 mm: weniger als nichts zeigt keine Fühlerlehre an.\n"
        "  Erlaubt: was eine Fühlerlehre oder ein Bohrerschaft anzeigt, über null."
    )
