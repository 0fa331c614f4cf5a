"""The pages of the log, of measuring and of setting, in German."""

from __future__ import annotations

from tripmargin.ground.languages import speaking
from tripmargin.web.log.looking_in import look_into
from tripmargin.web.log.telling import apart, title_of
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.measuring.plain_words import plainly
from tripmargin.web.measuring.showing import chance_words
from tripmargin.web.setting.lengths import LengthBox
from tripmargin.web.setting.noise_noted import noise_of_note


def test_entries_have_german_titles() -> None:
    with speaking("de"):
        assert title_of("adjustment") == "Klinkenabstände"
        assert title_of("daily check") == "Tägliche Prüfung"
        assert apart(3 * 86400) == "3 d"
        assert look_into(None).trouble == "Zuerst eine Datei wählen."


def test_a_number_out_of_range_is_refused_in_german_with_a_comma() -> None:
    box = Number("at", "Schwelle", "V", 0.5, 1000.0, "2000")
    with speaking("de"):
        assert box.read() is None
    # What parts thousands is a matter of `grouped`; the words and the comma are this test's.
    said = " ".join(box.troubles[0].split())
    assert said == "Außerhalb des Bereichs: 2000 V. Erlaubt: von 0,5 V bis 1 000 V."


def test_a_length_that_is_missing_is_asked_for_in_german() -> None:
    box = LengthBox("gap", "gap", "Abstand", "mm", 10e-6, 0.03)
    with speaking("de"):
        assert box.read() is None
        assert box.troubles[0].startswith("Nötig, aber leer.\nErlaubt: eine Zahl, oder eine mit")
        assert "„1,2 mm“" in box.troubles[0]


def test_the_librarys_keywords_are_german_labels() -> None:
    with speaking("de"):
        assert plainly('decimal="comma"') == "„Dezimalzeichen“ „comma“"
        assert chance_words(0.9996) == "über 99 %"


def test_a_quiet_runs_note_is_read_in_the_language_that_it_was_written_in() -> None:
    german = "Rauschen.\nGrundrauschen, effektiv: 70,5 mV (69 mV bis 71,2 mV)."
    english = "Noise.\nNoise floor, rms: 70.5 mV (69 mV to 71.2 mV)."
    with speaking("de"):
        assert noise_of_note(german) == noise_of_note(english) == ((0.069, 0.0705, 0.0712), None)
