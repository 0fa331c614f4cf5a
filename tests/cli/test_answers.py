"""`prove` and `race` from the command line, on a machine that is quick to prove."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.machine.files import written
from tripmargin import load_machine, protection
from tripmargin.cli.main import main
from tripmargin.machine.loading import demo_path

ONE_CUT = ("--cut", "12 mm")


def run(*args: str) -> Result:
    result = CliRunner().invoke(main, args)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result


@pytest.fixture(scope="module")
def proof() -> protection.Proof:
    return protection.prove(load_machine("sanderling"), cut_lengths=[0.012])


def test_prove_says_what_the_library_says(proof: protection.Proof, tmp_path: Path) -> None:
    saved = tmp_path / "map.csv"
    result = run("prove", "sanderling", *ONE_CUT, "--json", "--save", str(saved))
    assert result.exit_code == 0, result.output
    answer = json.loads(result.stdout)
    assert answer["verdict"] == proof.verdict
    assert answer["cuts"][0]["probability_protected"] == pytest.approx(
        proof.cuts[0].protected, rel=1e-9
    )
    header, *rows = saved.read_text(encoding="utf-8").splitlines()
    assert header == "cut_mm,ball_mm,missed,too_late,protected"
    for row in rows:
        missed, late, stopped = map(float, row.split(",")[2:])
        assert missed + late + stopped == pytest.approx(1, abs=1e-9)


def test_prove_prints_the_verdict_first_and_the_safety_line(
    proof: protection.Proof, tmp_path: Path
) -> None:
    saved = tmp_path / "map.html"
    output = run("prove", "sanderling", *ONE_CUT, "--us", "--save", str(saved)).output
    assert output.startswith(f"Sanderling: {proof.verdict}")
    assert "0.472 in" in output  # 12 mm
    assert "not people" in output
    assert output.rstrip().endswith(f"Saved: {saved}")
    assert "<svg" in saved.read_text(encoding="utf-8")


def test_prove_without_a_sensor_says_what_is_needed_and_saves_nothing(tmp_path: Path) -> None:
    text = demo_path("sanderling").parent.joinpath("type-wood-chipper.toml").read_text("utf-8")
    head, rest = text.split("[sensor]")
    path = written(tmp_path, head + "[detector]" + rest.split("[detector]")[1])
    saved = tmp_path / "map.svg"
    result = run("prove", str(path), "--save", str(saved))
    assert result.exit_code == 0
    assert "not known" in result.output.splitlines()[0]
    assert "sensor" in result.output
    assert "Nothing saved" in result.output
    assert not saved.exists()


def test_race_prints_stages_that_are_the_librarys_and_a_what_if_moves_them() -> None:
    run_ = protection.race(load_machine("whimbrel"), cut_length=0.017)
    answer = json.loads(run("race", "whimbrel", "--cut", "17 mm", "--json").stdout)
    assert [s["name"] for s in answer["stages"]] == [s.name for s in run_.stages]
    assert answer["margin_m"]["nominal"] == pytest.approx(float(run_.margin or 0))
    worn = json.loads(
        run(
            "race",
            "whimbrel",
            "--cut",
            "17 mm",
            "--json",
            "--set",
            'chain.pawls.lower.clearance="9 mm"',
        ).stdout
    )
    assert worn["margin_m"]["nominal"] < answer["margin_m"]["nominal"]


def test_race_takes_the_longest_cut_on_offer_by_itself() -> None:
    machine = load_machine("whimbrel")
    assert machine.feed is not None
    answer = json.loads(run("race", "whimbrel", "--json").stdout)
    assert answer["cut_length_m"] == machine.feed.cut_lengths[-1]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("race", "whimbrel", "--x", "3 mm"), "give --piece too"),
        (("race", "whimbrel", "--piece", "a blue moon"), "--piece: "),
        (("prove", "whimbrel", "--piece", "ball"), "--piece: "),
        (("prove", "whimbrel", "--cut", "0 mm"), "cut"),
        (("race", "whimbrel", "--cut", "NaN mm"), "not a number"),
        (("race", "whimbrel", "--set", "cutterhead_speed=0 rpm"), "too small"),
    ],
)
def test_what_cannot_be_is_refused_in_plain_words(options: tuple[str, ...], said: str) -> None:
    result = run(*options)
    assert result.exit_code == 2
    assert said in result.output
    assert "Traceback" not in result.output
