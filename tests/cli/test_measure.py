"""`tripmargin measure` as a person uses it: asked, answered, stopped, gone on with, written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tripmargin.cli.main import main
from tripmargin.machine import load_machine


def _run(*arguments: str, typed: str = "") -> Result:
    return CliRunner().invoke(main, ["measure", "curlew", *arguments], input=typed)


def test_answers_are_kept_as_they_are_given(tmp_path: Path) -> None:
    kept = tmp_path / "found.toml"
    first = _run("--findings", str(kept), "--ask", typed="c\nwhat\nm\nq\n")
    assert first.exit_code == 0, first.output
    assert "CAUTION. Test pieces go over the sensor" in first.output
    assert "Allowed: c, m or q." in first.output
    assert kept.read_text(encoding="utf-8").count("[[pass]]") == 2
    again = _run("--findings", str(kept), "--ask", typed="")  # the terminal goes away
    assert again.exit_code == 0, again.output
    assert "All answers are kept" in again.output
    assert kept.read_text(encoding="utf-8").count("[[pass]]") == 2
    assert "Next piece:" in again.output


def test_the_calibrated_file_is_a_machine_file(tmp_path: Path) -> None:
    kept, to = tmp_path / "found.toml", tmp_path / "curlew-calibrated.toml"
    kept.write_text(
        '[[peak]]\npiece = "20 mm ball"\nacross = "100 mm"\nheight = "20 mm"\n'
        'speed = "1.5 m/s"\npeak = "9 V"\n[[stop]]\ncut = "8 mm"\ntime = "49 ms +- 3 ms"\n',
        encoding="utf-8",
    )
    shown = _run("--findings", str(kept), "--write", str(to), "--json")
    assert shown.exit_code == 0, shown.output
    made = json.loads(shown.stdout)
    named = {each["field"]: each["after"]["text"] for each in made["fields"]}
    text = to.read_text(encoding="utf-8")
    assert f'gain = "{named["detector.gain"]}"' in text
    learned = load_machine(to)  # its type sheet lies beside it
    assert learned.detector is not None
    assert learned.detector.gain is not None
    assert learned.detector.gain.text == named["detector.gain"]
    twice = _run("--findings", str(kept), "--write", str(to))
    assert twice.exit_code != 0
    assert "is there already" in twice.output
    assert to.read_text(encoding="utf-8") == text


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "Give --findings FILE"),
        (("--findings", "nowhere.toml"), "There is no file nowhere.toml"),
        (("--findings", "x.toml", "--ask", "--json"), "--ask talks"),
    ],
)
def test_what_is_missing_is_said(arguments: tuple[str, ...], said: str) -> None:
    result = _run(*arguments)
    assert result.exit_code != 0
    assert said in result.output


def test_own_pieces_are_kept_and_none_else_is_asked_for(tmp_path: Path) -> None:
    kept = tmp_path / "found.toml"
    both = ("--have", "12 mm ball, 25 mm ball", "--have", "M12x40 bolt along")
    first = _run("--findings", str(kept), "--ask", *both, typed="q\n")
    assert first.exit_code == 0, first.output
    assert kept.read_text(encoding="utf-8").count("[[have]]") == 3
    again = _run("--findings", str(kept), "--ask", typed="c\nm\nq\n")
    assert again.exit_code == 0, again.output
    asked = [line for line in again.output.splitlines() if line.startswith("Pass: ")]
    assert len(asked) == 3
    owned = ("Pass: 12 mm ball", "Pass: 25 mm ball", "Pass: M12x40 bolt along")
    assert all(line.startswith(owned) for line in asked), asked
    wrong = _run("--findings", str(kept), "--have", "15 mm bal")
    assert wrong.exit_code != 0
    assert "--have: " in wrong.output
    assert kept.read_text(encoding="utf-8").count("[[have]]") == 3


def test_kept_values_say_when_they_were_measured_and_how_they_drift(tmp_path: Path) -> None:
    kept, to = tmp_path / "found.toml", tmp_path / "new" / "curlew.toml"
    to.parent.mkdir()
    kept.write_text(
        '[[peak]]\npiece = "20 mm ball"\nacross = "100 mm"\nheight = "20 mm"\non = "2026-07-04"\n'
        'speed = "1.5 m/s"\npeak = "9 V"\nby = "A. Reed"\n',
        encoding="utf-8",
    )
    given = ("--findings", str(kept), "--write")
    wrong = _run(*given, str(to), "--drift", "5 furlongs")
    assert wrong.exit_code != 0
    assert 'Drift of detector.gain = "5 furlongs"' in str(wrong.exception) + wrong.output
    assert not to.exists()
    made = _run(*given, str(to), "--drift", "4 %")
    assert made.exit_code == 0, made.output
    assert "No drift a year" not in made.output
    entry = load_machine(to).measured
    assert entry is not None
    (gain,) = (each for each in entry.fields if each.field == "detector.gain")
    assert (gain.on, gain.by, gain.drift) == ("2026-07-04", "A. Reed", "4 %")
    plain = _run(*given, str(tmp_path / "plain.toml"))
    assert "No drift a year is given" in plain.output
    twice = _run(*given, str(to), "--drift", "4 %", "--drift", "3 %")
    assert "Give it once" in twice.output
    alone = _run("--findings", str(kept), "--drift", "4 %")
    assert "it goes with --write" in alone.output
