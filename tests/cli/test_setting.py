"""`set-pawls` and `set-threshold` from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.machine.files import SMALL, written
from tests.yard import sqlite_records, sqlite_with_tables
from tripmargin.cli.main import main
from tripmargin.cli.setting_past import past_setting
from tripmargin.records.standing.past_settings import adjustment_of

__all__ = ["sqlite_records", "sqlite_with_tables"]

GAPS = ("--lower", "6.2 mm", "--upper", "4.1 mm")


def run(*args: str, code: int = 0) -> Result:
    result = CliRunner().invoke(main, args)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    assert result.exit_code == code, result.output
    return result


def words(*args: str, code: int = 0) -> str:
    return " ".join(run(*args, code=code).output.split())


@pytest.fixture(scope="module")
def whimbrel() -> str:
    return run("set-pawls", "whimbrel", *GAPS, "--cut", "28 mm").output


def test_cautions_come_before_any_step_and_the_steps_before_what_they_bring(whimbrel: str) -> None:
    said = " ".join(whimbrel.split())
    assert said.startswith(
        "Whimbrel: set the lower pawl ! Engine off, key out, everything at rest."
    )
    order = [
        "The pawls are spring-loaded", "Aim at", "1. Loosen the jam nut", "2. Tighten the jam nut",
        "3. Measure the lower pawl's gap: expect", "Measure the upper pawl's gap",
        "the daily check as the operator's manual says", "For the 20 mm ball", "28 mm now",
        "after", "tripmargin log add Whimbrel adjustment", "not people",
    ]  # fmt: skip
    places = [said.index(part) for part in order]
    assert places == sorted(places)


def test_it_fits_a_terminal_of_eighty_columns(whimbrel: str) -> None:
    us = run("set-pawls", "curlew", "--lower", "0.24 in", "--upper", "0.25 in", "--us").output
    for output in (whimbrel, us):
        assert [line for line in output.splitlines() if len(line) > 80] == []


def test_the_line_for_the_log_says_what_was_turned_and_what_stayed(whimbrel: str) -> None:
    said = " ".join(whimbrel.split())
    assert 'gap_before/lower="6.2 mm" gap_after/lower="..."' in said
    assert '--note "lower 3 turns, upper untouched"' in said


def test_a_better_place_for_the_verdict_is_named_with_its_option(whimbrel: str) -> None:
    said = " ".join(whimbrel.split())
    assert "With every gap at its aim the verdict at the 28 mm cut would be protected" in said
    assert "--to-best gives the moves" in said


def test_json_is_the_results_own_dictionary() -> None:
    made = json.loads(run("set-pawls", "sanderling", "--gap", "drive=5.5mm", "--json").stdout)
    assert made["readings_m"] == pytest.approx({"drive": 0.0055})
    assert [step["do"] for step in made["steps"]] == ["turn", "tighten", "measure", "prove"]
    assert len(made["effects"]) == 3


def test_good_gaps_are_left_alone(tmp_path: Path) -> None:
    knot = str(written(tmp_path, SMALL))
    said = words("set-pawls", knot, "--lower", "3.5 mm", "--upper", "3.6 mm")
    assert said.startswith("Knot: leave the pawls as they are")
    assert "Leave it. Every gap is inside 2.5 to 5 mm with 99 % or more" in said
    assert "log add" not in said
    assert "Assumed, as the file does not say:" in said
    assert "limits.clearance (2.5 mm .. 5 mm)" in said


REFUSED = [
    (("--lower", "0 mm", "--upper", "3 mm"), "rests on the ratchet"),
    (("--lower", "-1 mm", "--upper", "3 mm"), "less than nothing"),
    (("--lower", "6.2", "--upper", "3 mm"), "no unit"),
    (("--lower", "6.2 kg", "--upper", "3 mm"), "a unit of mass"),
    (("--lower", "6.2 in", "--upper", "3 mm"), "wider than any pawl stands off"),
    (("--lower", "24 mm", "--upper", "23.5 mm"), "Do not wind the thread out"),
    (("--lower", "3 mm"), "gap of upper: not measured"),
    (("--gap", "lwer=3 mm", "--upper", "3 mm"), 'Did you mean "lower"?'),
    (("--gap", "lower", "--upper", "3 mm"), "write PAWL=GAP"),
    (("--gap", "lower=3 mm", "--lower", "3 mm"), "given twice"),
    ((*GAPS, "--past", "lower 6.2 mm"), "not a past setting"),
    ((*GAPS, "--past", "lower 6 mm to 3 mm; lower 6 mm to 3 mm"), "stands twice"),
    ((*GAPS, "--past", "middle 6 mm to 3 mm, 1 turn"), "no such pawl"),
    ((*GAPS, "--feeler", "0 mm"), "feeler step"),
    ((*GAPS, "--cut", "0 mm"), "cut length"),
]  # fmt: skip


@pytest.mark.parametrize(("args", "why"), REFUSED)
def test_what_cannot_be_is_refused(tmp_path: Path, args: tuple[str, ...], why: str) -> None:
    assert why in words("set-pawls", str(written(tmp_path, SMALL)), *args, code=2)


def test_past_settings_are_learned_from_and_said(tmp_path: Path) -> None:
    said = words(
        "set-pawls", str(written(tmp_path, SMALL)), *GAPS,
        "--past", "lower 6.2 mm to 3.7 mm, 2 turns; upper 4.4 mm to 4.1 mm, untouched",
        "--past", "lower 5 mm to 3.8 mm, 1 turn; upper 4.1 mm to 3.9 mm, untouched",
    )  # fmt: skip
    assert "One turn of its clevis moves the lower gap by 1.2" in said
    assert "learned from 2 past settings (assumed: 1.5 mm)" in said


def test_a_past_setting_tells_the_way_by_its_gaps() -> None:
    one = past_setting("lower 3.7 mm to 0.25 in, 1.5 turns")
    assert one.turns == {"lower": 1.5}
    assert one.after["lower"] == pytest.approx(0.00635)
    assert past_setting("front drive 5 mm to 4 mm").before == {"front drive": pytest.approx(0.005)}


@pytest.mark.usefixtures("sqlite_records")
def test_the_log_teaches_turns_from_its_notes_and_drift_from_its_gaps(tmp_path: Path) -> None:
    knot = str(written(tmp_path, SMALL))
    run("log", "take", knot, "--who", "Ann")
    gaps = (("6.2 mm", "3.7 mm", "4.2 mm", "4 mm"), ("4.3 mm", "3.1 mm", "4.1 mm", "4 mm"))
    for year, (turns, (b0, a0, b1, a1)) in enumerate(zip(("2 turns", "1 turn"), gaps, strict=True)):
        run(
            "log", "add", "Knot", "adjustment", f"gap_before/lower={b0}", f"gap_after/lower={a0}",
            f"gap_before/upper={b1}", f"gap_after/upper={a1}", "--who", "Ann",
            "--at", f"{2024 + year}-03-01", "--note", f"Lower {turns}, upper untouched.",
        )  # fmt: skip
    said = words("set-pawls", knot, *GAPS, "--from-log")
    assert "learned from 2 past settings (assumed: 1.5 mm)" in said
    assert "A season opens the lower gap by" in said
    assert "learned from 1 past setting (assumed: 0.1 mm)" in said


@pytest.mark.usefixtures("sqlite_records")
def test_a_machine_that_is_not_in_the_log_is_told(tmp_path: Path) -> None:
    said = words("set-pawls", str(written(tmp_path, SMALL)), *GAPS, "--from-log", code=2)
    assert "Knot" in said


def test_a_note_says_turns_only_of_the_pawl_it_names() -> None:
    values = {
        "gap_before_m/lower": 0.004, "gap_after_m/lower": 0.003,
        "gap_before_m/upper": 0.004, "gap_after_m/upper": 0.0035, "feeler_m": 5e-5,
    }  # fmt: skip
    pawls = ("lower", "upper")
    assert adjustment_of(values, "the lowermost 3 turns", 0.0, pawls).turns == {}
    assert adjustment_of(values, "upper 0.5 turns; new spring", 0.0, pawls).turns == {"upper": -0.5}
    assert adjustment_of(values, "", 1.0, ("lower",)).before == {"lower": 0.004}


def test_the_steps_are_saved_as_a_page_with_cautions_first(tmp_path: Path) -> None:
    saved = tmp_path / "steps.html"
    run("set-pawls", "sanderling", "--gap", "drive=5.5 mm", "--cut", "16 mm", "--save", str(saved))
    page = saved.read_text(encoding="utf-8")
    assert page.index("spring-loaded") < page.index("<svg")
    assert "Loosen the jam nut" in page


@pytest.fixture(scope="module")
def threshold(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    saved = tmp_path_factory.mktemp("threshold") / "curve.svg"
    output = run("set-threshold", "whimbrel", "--cut", "5 mm", "--save", str(saved)).output
    return output, saved


def test_the_threshold_comes_with_its_range_and_today_in_the_table(
    threshold: tuple[str, Path],
) -> None:
    output, saved = threshold
    said = " ".join(output.split())
    assert said.index("! Engine off") < said.index("noise alone trips it oftener than 1 in 100 h")
    assert "today" in said
    assert "false trips put up with (1 in 100 h)" in said
    assert [line for line in output.splitlines() if len(line) > 80] == []
    assert "today" in saved.read_text(encoding="utf-8")


def test_the_threshold_in_json() -> None:
    made = json.loads(
        run("set-threshold", "whimbrel", "--cut", "5 mm", "--false-trips", "0.1", "--json").stdout
    )
    assert made["false_trips_allowed_per_hour"] == 0.1
    assert made["recommended"]["threshold_V"] > 0


def test_a_threshold_without_a_known_rate_saves_no_picture(tmp_path: Path) -> None:
    saved = tmp_path / "curve.png"
    said = words("set-threshold", "sanderling", "--cut", "9 mm", "--save", str(saved))
    assert "Sanderling: no threshold is recommended" in said
    assert "Nothing saved" in said
    assert not saved.exists()


def test_a_threshold_needs_what_it_needs(tmp_path: Path) -> None:
    assert "detector.noise" not in words("set-threshold", "whimbrel", "--false-trips", "-1", code=2)
    assert "Not known" in words("set-threshold", str(written(tmp_path, SMALL)), code=2)


def test_the_field_of_turns_comes_before_the_note() -> None:
    gaps = {"gap_before_m/lower": 0.006, "gap_after_m/lower": 0.0035, "gap_before_m/upper": 0.004}
    pawls = ("lower", "upper")
    one = adjustment_of(
        {**gaps, "turns/lower": 2.0, "turns/upper": 0.0}, "lower 1 turn", 0.0, pawls
    )
    assert one.turns == {"lower": -2.0, "upper": 0.0}
    assert one.stayed("upper")
    assert not one.stayed("lower")
    # Turns without both gaps tell no way, and teach nothing.
    assert adjustment_of({"turns/lower": 2.0}, "", 0.0, pawls).turns == {}


@pytest.mark.usefixtures("sqlite_records")
def test_the_log_teaches_turns_from_their_field(tmp_path: Path) -> None:
    knot = str(written(tmp_path, SMALL))
    run("log", "take", knot, "--who", "Ann")
    run(
        "log", "add", "Knot", "adjustment", "gap_before/lower=6.2 mm", "gap_after/lower=3.7 mm",
        "gap_before/upper=4.2 mm", "gap_after/upper=4 mm", "turns/lower=2", "turns/upper=0",
        "--who", "Ann", "--at", "2024-03-01",
    )  # fmt: skip
    said = words("set-pawls", knot, *GAPS, "--from-log")
    assert "learned from 1 past setting (assumed: 1.5 mm)" in said
    assert "of a move of the lower pawl the others make" in said.lower()
