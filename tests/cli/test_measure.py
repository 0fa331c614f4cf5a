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
