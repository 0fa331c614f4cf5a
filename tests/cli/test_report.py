"""`tripmargin report`: written, printed as numbers, read back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.yard import sqlite_records, sqlite_with_tables
from tripmargin.cli.main import main

__all__ = ["sqlite_records", "sqlite_with_tables"]

AT = ("--at", "2026-11-29T12:00+00:00")


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*args: str, group: str = "report", code: int = 0) -> Result:
    result = CliRunner().invoke(main, [group, *args])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.output
    assert result.exit_code == code, result.output
    return result


def test_without_a_name_it_is_a_pdf_in_this_folder(here: Path) -> None:
    result = run("daily-check", "dunlin", *AT)
    assert "Saved: daily-check-dunlin.pdf (1 page, " in result.output
    assert (here / "daily-check-dunlin.pdf").read_bytes().startswith(b"%PDF-1.7")


def test_one_report_is_written_twice_and_both_are_read_back(here: Path) -> None:
    run("commissioning", "whimbrel", "--save", "a.pdf", "--save", "a.html", *AT, "--who", "Ida")
    numbers = [json.loads(run("read", name, "--json").output) for name in ("a.pdf", "a.html")]
    assert numbers[0] == numbers[1]
    assert (numbers[0]["report"], numbers[0]["made_by"]) == ("commissioning", "Ida")
    said = run("read", "a.pdf").output
    assert "Commissioning report: Whimbrel" in said
    assert "Report: commissioning." in said
    assert "Verdict: doubtful." in said


def test_a_report_is_named_in_the_language_of_the_reader(here: Path) -> None:
    from tripmargin.ground.languages import speaking

    run("daily-check", "dunlin", "--save", "a.pdf", *AT)
    assert "Report: daily check." in run("read", "a.pdf").output
    with speaking("de"):
        from tripmargin.cli.report_read import _name

        assert _name("commissioning") == "Inbetriebnahme"
        assert _name("of a later program") == "of a later program"


def test_json_prints_the_numbers_and_writes_no_file(here: Path) -> None:
    found = json.loads(run("daily-check", "curlew", "--json", *AT).output)
    assert found["made_at"] == "2026-11-29T12:00:00+00:00"
    assert len(found["data"]["steps"]) == 7
    assert list(here.iterdir()) == []


def test_the_same_time_gives_the_same_file(here: Path) -> None:
    for name in ("one.pdf", "two.pdf"):
        run("daily-check", "dunlin", "--save", name, *AT)
    assert (here / "one.pdf").read_bytes() == (here / "two.pdf").read_bytes()


@pytest.mark.usefixtures("sqlite_records")
def test_tests_come_from_the_log_where_that_is_asked_for(here: Path) -> None:
    run("take", "whimbrel", "--who", "Ida", group="log")
    run("add", "whimbrel", "stop time", "stop_time=48 ms", "--who", "Ida", group="log")
    found = json.loads(run("commissioning", "whimbrel", "--from-log", "--json", *AT).output)
    (test,) = found["data"]["tests"]
    assert (test["kind"], test["who"], test["said"]) == ("Stop time", "Ida", "Stop time: 48 ms")


@pytest.mark.usefixtures("sqlite_records")
def test_a_failed_check_and_a_trip_in_the_log_reach_the_report(here: Path) -> None:
    run("take", "whimbrel", "--who", "Ida", group="log")
    trip = ("found=wire", "left=114 mm", "--at", "2026-11-27T12:00+00:00")
    run("add", "whimbrel", "trip", *trip, "--who", "Ida", group="log")
    check = ("tripped=no", "--at", "2026-11-28T12:00+00:00")
    run("add", "whimbrel", "daily check", *check, "--who", "Ida", group="log")
    run("commissioning", "whimbrel", "--from-log", "--save", "a.html", *AT)
    found = json.loads(run("read", "a.html", "--json").output)["data"]
    assert found["by_log"]["state"] == "not"
    failed = "The check of 2026-11-28 failed: it did not trip."
    assert failed in found["by_log"]["reasons"]
    assert [one["kind"] for one in found["tests"]] == ["Daily check", "Trip"]
    assert "114 mm" in found["tests"][1]["said"]
    page = (here / "a.html").read_text("utf-8")
    assert page.index(failed) < page.index("Is this machine protected?")
    assert f"By its log: {failed}" in run("read", "a.html").output


@pytest.mark.usefixtures("sqlite_records")
def test_gaps_in_the_log_that_are_not_the_files_are_told_on_page_1(here: Path) -> None:
    run("take", "whimbrel", "--who", "Ida", group="log")
    check = ("tripped=yes", "reset=yes", "--at", "2026-11-28T12:00+00:00")
    run("add", "whimbrel", "daily check", *check, "--who", "Ida", group="log")
    before = json.loads(run("commissioning", "whimbrel", "--from-log", "--json", *AT).output)
    assert before["data"]["by_log"]["state"] == "protected"
    gaps = ("gap_after/lower=3.1 mm", "gap_after/upper=3 mm", "--at", "2026-11-27T12:00+00:00")
    run("add", "whimbrel", "adjustment", *gaps, "--who", "Ida", group="log")
    found = json.loads(run("commissioning", "whimbrel", "--from-log", "--json", *AT).output)
    by_log = found["data"]["by_log"]
    assert by_log["state"] == "doubtful"
    assert "Map and verdict are worked out with the file's." in by_log["reasons"][0]


@pytest.mark.usefixtures("sqlite_records")
def test_a_season_is_of_the_days_asked_for(here: Path) -> None:
    run("take", "whimbrel", "--who", "Ida", group="log")
    found = json.loads(run("season", "--year", "2025", "--json", *AT).output)["data"]
    assert (found["from"], found["to"]) == ("2025-01-01", "2025-12-31")
    assert [one["machine"] for one in found["machines"]] == ["Whimbrel"]
    found = json.loads(run("season", "--json", *AT).output)["data"]
    assert (found["from"], found["to"]) == ("2026-01-01", "2026-11-29")
    run("season", "--from", "2026-04-01", "--to", "2026-05-01", *AT)
    assert (here / "season-2026-04-01-2026-05-01.pdf").exists()


@pytest.mark.usefixtures("sqlite_records")
def test_a_training_record_is_of_the_files_given(here: Path) -> None:
    from tests.reports.paper.test_training import result

    for seed in (1, 2):
        kept = json.dumps(result(seed=seed).to_dict())
        (here / f"{seed}.json").write_text(kept, "utf-8")
    found = json.loads(run("training", "1.json", "2.json", "--json", *AT).output)
    assert [one["seed"] for one in found["data"]["drills"]] == [1, 2]
    assert "No result is of" in run("training", "1.json", "--person", "Wren", code=2).output
    assert "no result of a drill" in run("training", code=2).output
    from_log = ("--from-log", "--person", "Ida")
    found = json.loads(run("training", "1.json", *from_log, "--json", *AT).output)
    assert len(found["data"]["drills"]) == 1
    assert "--person NAME" in run("training", "--from-log", code=2).output


def test_a_machine_without_wiring_has_no_fault_chart(here: Path) -> None:
    (here / "bare.toml").write_text('format = 1\n[machine]\nname = "Bare"\n', "utf-8")
    assert "circuit" in run("fault-chart", "bare.toml", code=2).output


def test_a_complaint_that_there_is_not_is_refused_before_the_work(here: Path) -> None:
    said = run("fault-chart", "whimbrel", "--complaint", "stops on nothin", code=2).output
    assert 'Did you mean "stops on nothing"?' in said


@pytest.mark.parametrize(
    ("args", "why"),
    [
        (("season", "--year", "2026", "--to", "2026-05-01"), "leave --from and --to out"),
        (("season", "--from", "in May"), "is no day"),
        (("daily-check", "dunlin", "--save", "a.txt"), "must end in .pdf, .html"),
        (("daily-check", "dunlin", "--save", "no/a.pdf"), "there is no folder no"),
        (("daily-check", "dunlin", "--weeks", "0"), "1<=x<=26"),
        (("daily-check", "dunlin", "--who", "x" * 61), "at most 60 letters"),
        (("daily-check", "dunlin", "--at", "noon"), "not a time"),
        (("commissioning", "dunlin", "--cut", "9"), "no unit"),
        (("read", "nothing.pdf"), "does not exist"),
    ],
)
@pytest.mark.usefixtures("sqlite_records")
def test_what_cannot_be_is_refused_before_the_work(args: tuple[str, ...], why: str) -> None:
    assert why in " ".join(run(*args, code=2).output.split())
