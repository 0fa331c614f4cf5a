"""The command line in German: what is typed with decimal commas, and what is said.

What a German types for a number is from DIN 1333 (decimal comma), from memory; the German words are
checked against themselves only: no outside source.
"""

from __future__ import annotations

import re
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from tripmargin.cli import log_words
from tripmargin.cli.chart_step import show_step
from tripmargin.cli.complaints import complaint_meant, refuse_unknown_complaint
from tripmargin.cli.help import in_the_readers_language
from tripmargin.cli.interview import hold_interview
from tripmargin.cli.machine import machine as machine_group
from tripmargin.cli.output import Output, length_of, machine_with, piece_of
from tripmargin.cli.setting import set_pawls
from tripmargin.cli.setting_past import past_setting
from tripmargin.cli.tables import WIDTH, aligned
from tripmargin.cli.typed_numbers import Number, pieces_typed
from tripmargin.faultfinding.wording.readings import with_unit
from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import say, speaking
from tripmargin.ground.os_words import os_words
from tripmargin.machine import load_machine
from tripmargin.pictures.drawn_table import drawn_table
from tripmargin.pictures.words import assumed_words
from tripmargin.records.kinds import KINDS


def flat(text: str) -> str:
    return " ".join(text.split())


def test_an_option_takes_the_decimal_comma_of_its_language() -> None:
    with speaking("de"):
        assert length_of("9,5 mm", "--cut") == pytest.approx(9.5e-3)
        assert length_of("9.5 mm", "--cut") == pytest.approx(9.5e-3)
        assert Number(0.01).convert("0,01", None, None) == 0.01
        assert piece_of("Kugel 12,5 mm").name == "12.5 mm ball"
        assert piece_of("12,5 mm ball").name == "12.5 mm ball"


def test_a_point_is_never_a_sign_between_thousands() -> None:
    with speaking("de"):
        assert length_of("1.500 mm", "--cut") == pytest.approx(1.5e-3)  # as in English


@pytest.mark.parametrize("typed", ["1.500,5 mm", "1,500,5 mm", "1,5,7 mm"])
def test_a_comma_that_may_mean_two_things_is_refused(typed: str) -> None:
    with speaking("de"), pytest.raises(click.UsageError, match="ein Komma in einer Zahl") as caught:
        length_of(typed, "--cut")
    assert typed in str(caught.value)
    if typed == "1.500,5 mm":
        assert "1500.5 mm" in str(caught.value)
    with speaking("de"), pytest.raises(click.BadParameter, match="wie 0,01"):
        Number(0.01).convert(typed.removesuffix(" mm"), None, None)


def test_in_english_a_comma_stays_to_be_asked_about() -> None:
    with pytest.raises(click.UsageError, match="a comma inside a number"):
        length_of("9,5 mm", "--cut")
    with pytest.raises(click.BadParameter, match="is not a number"):
        Number(0.01).convert("0,01", None, None)


def test_a_what_if_takes_a_comma_in_one_number_and_in_no_list() -> None:
    with speaking("de"):
        for typed in ("10,5 V", '"10,5 V"'):
            supply = machine_with("curlew", (f"chain.supply={typed}",)).chain.supply
            assert supply.nominal == pytest.approx(10.5)
        assert machine_with("curlew", ("detector.gain=950,5",)).detector.gain.nominal == 950.5
        assert machine_with("curlew", ("machine.serial=7,5",)).machine.serial == "7,5"
        with pytest.raises(MachineFileError, match="ein Komma in einer Zahl"):
            machine_with("curlew", ('feed.cut_lengths=["5 mm", "8,5 mm"]',))


def test_in_a_list_of_pieces_a_comma_between_digits_parts_none() -> None:
    with speaking("de"):
        found = pieces_typed("15 mm ball, 12,5 mm ball,Kugel 20 mm")
    names = [name.strip() for name, _ in found]
    assert names == ["15 mm ball", "12.5 mm ball", "20 mm ball"]


def test_a_past_setting_is_read_with_commas() -> None:
    with speaking("de"):
        read = past_setting("lower 6,2 mm to 3,7 mm, 1,5 turns; upper 4,1 mm to 3,9 mm, untouched")
    points = past_setting("lower 6.2 mm to 3.7 mm, 1.5 turns; upper 4.1 mm to 3.9 mm, untouched")
    assert (read.before, read.turns, read.untouched) == (
        points.before,
        points.turns,
        points.untouched,
    )


def test_kinds_and_values_of_a_log_may_be_typed_in_german() -> None:
    check, trip = KINDS["daily check"], KINDS["trip"]
    with speaking("de"):
        assert log_words.kind_meant("tägliche Prüfung") == "daily check"
        assert log_words.kind_meant("Daily-Check") == "daily check"
        assert log_words.kind_words("daily check") == "Tägliche Prüfung"
        assert log_words.kind_words("withdrawn") == "zurückgenommen"
        assert log_words.value_meant(check, "tripped", "Ja") == "yes"
        assert log_words.value_meant(check, "tripped", "no") == "no"
        assert log_words.value_meant(trip, "found", "Draht") == "wire"
        assert log_words.value_meant(trip, "size_m", "12,5 mm") == "12.5 mm"
        assert log_words.value_words("Hat es ausgelöst?", "ja") == "Hat es ausgelöst? ja"
    assert log_words.kind_words("daily check") == "daily check"
    assert log_words.value_meant(trip, "size_m", "12,5 mm") == "12,5 mm"


def test_a_step_is_asked_for_and_said_in_german(capsys: pytest.CaptureFixture[str]) -> None:
    with speaking("de"):
        show_step(load_machine("curlew"), "freigegeben", "W3:open", Output())
    said = capsys.readouterr().out
    assert "im Schritt „freigegeben“" in said
    assert "Auslösung gespeichert: aus" in said
    assert "Walzen: stehen" in said
    english = "armed|trip latched|supply low|plunger|pawls|rolls|silent|stopped"
    assert not re.search(rf"\b({english})\b", said)


def test_a_complaint_is_typed_by_its_german_words() -> None:
    with speaking("de"):
        assert complaint_meant("hält ohne Metall an") == "stops on nothing"
        assert complaint_meant("dead") == "dead"
        refuse_unknown_complaint("tot")
        with pytest.raises(click.UsageError, match="hält ohne Metall an"):
            refuse_unknown_complaint("quietscht")


def test_the_help_of_a_group_cuts_no_sentence() -> None:
    with speaking("de"):
        said = CliRunner().invoke(in_the_readers_language(machine_group), ["--help"]).output
    assert "..." not in said.partition("Befehle")[2]
    assert "was angenommen wird." in flat(said)


def test_what_is_assumed_is_said_in_german() -> None:
    with speaking("de"):
        said = assumed_words(("false trips put up with (1 in 100 h)", "feed.slip"))
    assert "hingenommene Fehlauslösungen" in said
    assert "feed.slip" in said  # a field's name stays


def test_a_file_that_is_not_there_is_said_in_german(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError) as caught:
        (tmp_path / "none").open()
    with speaking("de"):
        assert os_words(caught.value) == "Datei oder Ordner gibt es nicht"


def test_an_interview_takes_commas_and_its_file_has_points(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answers = iter(
        ["", "", "", "Probe", "", "", "8", "1000,5 +- 2 %", "4,5", "4,5 mm, 8 mm", "1.500,5"]
    )

    def typed(*_: object) -> str:
        try:
            return next(answers)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr("builtins.input", typed)
    with speaking("de"):
        assert hold_interview(tmp_path / "neu.toml") == 1
    text = (tmp_path / "neu.draft.toml").read_text("utf-8")
    assert 'cutterhead_speed = "1000.5 rpm +- 2 %"' in text
    assert 'cut_lengths = ["4.5 mm", "8 mm"]' in text
    said = flat(capsys.readouterr().out)
    assert "1000,5" in said.partition("Genommen als")[2]
    assert said.count("ein Komma in einer Zahl") == 2  # "4,5" may be two cuts; "1.500,5"


def test_the_examples_of_the_help_are_taken_as_they_stand() -> None:
    with speaking("de"):
        assert length_of("6,2 mm", "--lower") == pytest.approx(6.2e-3)
        help_of_past = next(one for one in set_pawls.params if one.name == "past").help or ""
        example = re.search(r"\"([^\"]+)\"", say(help_of_past))
        assert example
        assert past_setting(example[1]).turns == {"lower": -1.5}
        assert "6,2 mm" in example[1]


def test_a_narrow_table_parts_no_word_that_fits() -> None:
    words = ("Schnitt", "Abstände", "Anhaltezeit, ms", "Reserve, mm", "geschützt", "Urteil")
    rows = [["5 mm", "danach", "52 (31 bis 77)", "305 (210 bis 353)", "99,5 %", "geschützt"]]
    drawn = drawn_table("Curlew", [], (words, rows), width=360)
    for word in ("Schnitt", "Abstände", "Anhaltezeit,", "Reserve,", "geschützt", "Urteil"):
        assert f">{word}" in drawn


def test_a_reading_with_a_comma_keeps_the_unit_beside_its_box() -> None:
    with speaking("de"):
        assert with_unit("2,4", "kohm") == "2.4 kohm"  # never 2.4 ohm
        assert with_unit("2,4 ohm", "kohm") == "2.4 ohm"
    assert with_unit("2,4", "kohm") == "2,4"  # refused in English, where it may be 24


def test_long_headers_are_broken_before_a_table_is_wider_than_a_terminal() -> None:
    headers = ("Schnitt", "Urteil", "angehalten", "erkannt", "rechtzeitig, wenn erkannt", "Zeit")
    rows = [("9 mm", "geschützt", "über 99,999 %", "über 99,999 %", "über 99,999 %", "47,9 ms")]
    lines = aligned(headers, rows)
    assert max(map(len, lines)) <= WIDTH
    assert [line.split() for line in lines[:2]] == [
        ["rechtzeitig,"],
        ["Schnitt", "Urteil", "angehalten", "erkannt", "wenn", "erkannt", "Zeit"],
    ]
    assert aligned(headers[:3], [rows[0][:3]])[0].split() == list(headers[:3])  # where it fits
