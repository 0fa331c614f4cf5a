"""What the commands say: which piece, where, and what they refuse."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.machine.files import written
from tripmargin import load_machine, protection
from tripmargin.cli.main import main
from tripmargin.machine.loading import demo_path
from tripmargin.pictures.margins import rest_words


def run(*args: str) -> Result:
    result = CliRunner().invoke(main, args)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    return result


def words(*args: str) -> str:
    return " ".join(run(*args).output.split())


def test_race_says_where_its_piece_comes_and_what_a_trip_above_the_axis_would_do(
    tmp_path: Path,
) -> None:
    saved = tmp_path / "race.svg"
    said = words("race", "whimbrel", "--save", str(saved))
    axis = protection.race(load_machine("whimbrel"), cut_length=0.028)
    assert axis.margin is not None
    would = rest_words(axis.margin, False, would=True)
    assert said.startswith("Whimbrel: 20 mm ball at a 28 mm cut")
    assert "Place: x \N{MINUS SIGN}188 mm, height 47.5 mm above the roll." in said
    assert f"Tripped only above the sensor's axis, it {would}." in said
    assert said.count("Low and high: ") == 1
    drawn = " ".join(saved.read_text(encoding="utf-8").split())
    assert "20 mm ball at x" in drawn


def test_race_without_a_known_sensor_says_that_it_falls_back_to_the_axis(tmp_path: Path) -> None:
    text = demo_path("sanderling").parent.joinpath("type-wood-chipper.toml").read_text("utf-8")
    head, rest = text.split("[sensor]")
    path = str(written(tmp_path, head + "[detector]" + rest.split("[detector]")[1]))
    said = words("race", path)
    assert "metal that trips above the sensor's axis" in said.split("Margin")[0]
    assert "What the sensor sees is not known without" in said
    assert run("race", path, "--piece", "20 mm ball").exit_code == 2


@pytest.mark.parametrize(
    "setting",
    [
        "chain.supply=12",
        "suppression={kind = 'zener', voltage = 24}",
        "clearance={lower = 0.006}",
    ],
)
def test_a_what_if_without_its_unit_is_refused_as_in_a_file(setting: str) -> None:
    result = run("race", "whimbrel", "--set", setting)
    assert result.exit_code == 2
    assert "no unit" in result.output


@pytest.mark.parametrize("setting", ["knives=12", "gain=900", "sensor.rotation='3 deg'"])
def test_a_what_if_that_needs_no_unit_or_has_it_is_taken(setting: str) -> None:
    assert run("race", "whimbrel", "--from-axis", "--set", setting).exit_code == 0


def test_reach_says_which_piece_is_not_seen_and_where() -> None:
    said = words("reach", "dunlin")
    assert "20 mm ball is not seen (no signal at all): at 0 mm across the roll" in said
    assert "20 mm ball is not seen (too weak): from " in said
    assert "from 0 mm to 0 mm" not in said
    assert "False trips by noise alone: practically none." in said


def test_reach_of_a_sensor_that_the_file_turns_upside_down_compares_with_the_upright() -> None:
    said = words("reach", "sanderling", "--set", 'sensor.rotation="180 deg"', "--speed", "1 m/s")
    assert "The file says that the sensor is upside down" in said
    assert "Upright" in said
    assert "eft upside down" not in said


def test_reach_puts_why_below_the_table_of_its_page(tmp_path: Path) -> None:
    saved = tmp_path / "reach.html"
    run("reach", "sanderling", "--speed", "1 m/s", "--save", str(saved))
    page = saved.read_text(encoding="utf-8")
    assert ">why</th>" not in page
    assert "<li>stone: It neither conducts" in page.split("<h2>Why</h2>")[1]


def test_a_speed_beyond_reason_is_refused_in_plain_words() -> None:
    assert "Allowed: a positive speed up to 100 m/s." in words(
        "reach", "curlew", "--speed", "1e300 m/s"
    )


def test_a_folder_is_named_as_it_was_given() -> None:
    assert ". is a folder, not a machine file." in words("prove", ".")


def test_a_file_that_cannot_be_saved_is_named_as_it_was_given() -> None:
    said = words("race", "curlew", "--from-axis", "--save", "/proc/race.svg")
    assert "/proc/race.svg: " in said
    assert ".part" not in said


def test_prove_says_from_where_to_where_cuts_are_protected(tmp_path: Path) -> None:
    from dataclasses import replace

    from tests.pictures.examples import window
    from tripmargin.pictures.proof_sections import page_sections
    from tripmargin.protection import Proof

    def short(**more: float) -> str:
        made = window(**more)
        proof = Proof("Plover", "doubtful", (), made)  # type: ignore[arg-type]
        proof = replace(proof, longest_protected_cut=made.longest_protected_cut)
        return " ".join(page_sections(proof, us=False)[0].lines)

    whole = short(late=0.1, longest_protected_cut=0.028)
    assert "Protected cuts: all cuts up to 28 mm (the end of this map);" in whole
    assert "Longest protected cut: 14.7 mm;" in short()
    slow = short(must_stop_diameter=0.012)
    assert "mm to 14.7 mm, shorter ones are not;" in slow
    assert "; the longest cut on offer that holds even at the worst place: none." in slow
    assert "; the smallest that holds even at the worst place, at one of the cuts" in slow
