"""`tripmargin drill --would-it-stop` and `--setting --us` from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tripmargin import drills
from tripmargin.cli.main import main
from tripmargin.machine import load_machine

ARGS = ("whimbrel", "--would-it-stop", "--seed", "7", "--questions", "2")


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder and a terminal of a known width."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "80")
    return tmp_path


@pytest.fixture(scope="module")
def asked() -> drills.WouldItStop:
    return drills.would_it_stop(load_machine("whimbrel"), seed=7, questions=2)


def run(*args: str, typed: str = "", code: int = 0) -> Result:
    result = CliRunner().invoke(main, ["drill", *args], input=typed)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    assert result.exit_code == code, result.output
    return result


def words(result: Result) -> str:
    return " ".join(result.output.split())


def test_a_whole_drill_typed_in(asked: drills.WouldItStop, here: Path) -> None:
    first, second = asked.questions
    best = drills.Answer.exactly(first.chances).text
    result = run(*ARGS, "--save", "r.json", typed=f"help\nagain\nlate\n{best}\ndoubtful\n")
    said = words(result)
    assert said.count("Piece 1 of 2") == 2
    assert "Did you mean “too late”?" in said
    assert "100.0 points of 100." in said
    points = drills.points_of(drills.Answer.of("doubtful"), second.chances)
    assert f"{(100 + points) / 2:.1f} points of 100" in said
    assert [line for line in result.output.splitlines() if len(line) > 80] == []
    # what the race says comes after the answer, not before it
    told = " ".join(drills.told_words(second))
    before, after = said.split("> doubtful")
    assert told in after
    assert told not in before
    kept = json.loads((here / "r.json").read_text(encoding="utf-8"))
    assert kept["kind"] == "would it stop"
    assert set(kept["by_kind"]) == {first.kind, second.kind}
    assert "The same score as in the file." in words(run("whimbrel", "--again", "r.json"))
    changed = {**kept, "score": {**kept["score"], "points": 99.0}}
    (here / "c.json").write_text(json.dumps(changed), encoding="utf-8")
    assert "NOT the score in the file, 99.0" in words(run("whimbrel", "--again", "c.json", code=2))
    due = run(*ARGS, "--past", "r.json", typed="quit\n")
    assert "Nothing is due again: a new drill." in words(due)
    assert "no score, and nothing is kept" in words(due)


def test_answers_from_a_file_as_json(asked: drills.WouldItStop, here: Path) -> None:
    (here / "a.txt").write_text("missed 80\nprotected\n", encoding="utf-8")
    made = json.loads(run(*ARGS, "--us", "--answers", "a.txt", "--json").stdout)
    assert [move["what"] for move in made["moves"]] == ["missed 80", "protected"]
    assert made["score"]["points"] == pytest.approx(
        sum(
            drills.points_of(drills.Answer.of(text), q.chances)
            for text, q in zip(("missed 80", "protected"), asked.questions, strict=True)
        )
        / 2
    )


@pytest.mark.parametrize(
    ("args", "why"),
    [
        (("--setting", "--would-it-stop"), "take one of them"),
        (("--questions", "3"), "add that"),
        (("--us",), "goes with --setting or --would-it-stop"),
        (("--would-it-stop", "--questions", "99"), "1<=x<=24"),
    ],
)
def test_what_does_not_go_together_is_refused(args: tuple[str, ...], why: str) -> None:
    assert why in words(run("whimbrel", *args, code=2))


def test_pawls_are_set_with_feelers_in_inches() -> None:
    typed = "secure\nmeasure lower\nplace upper 0.140 in\nso far\nquit\n"
    said = words(run("whimbrel", "--setting", "--us", "--seed", "1", typed=typed))
    assert "The feeler goes by 0.002 in." in said
    assert " mm." not in said.partition("The feeler goes")[0].partition("Set every pawl")[2]
    assert "0.140 in" in said.partition("so far")[2]
