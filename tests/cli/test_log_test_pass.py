"""A test pass from a terminal: its fields without the units at their ends, and what is refused."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.test_log import knot, run, words
from tests.yard import postgres, sqlite_records, sqlite_with_tables

__all__ = ["knot", "postgres", "sqlite_records", "sqlite_with_tables"]

pytestmark = pytest.mark.usefixtures("sqlite_records")
PASS = (
    "piece=16 mm ball", "across=-163 mm", "height=70 mm", "speed=0.65 m/s", "caught=no",
)  # fmt: skip


def test_it_is_added_shown_and_taken_along_as_csv(knot: str, tmp_path: Path) -> None:
    said = words("add", knot, "test-pass", *PASS, "place_doubt=1 mm", "--who", "Ann")
    assert "Test piece: 16 mm ball" in said
    assert "Speed: 0.65 m/s" in said
    (entry,) = json.loads(run("show", knot, "--json").output)
    assert entry["values"] == {
        "piece": "16 mm ball", "across_m": -0.163, "height_m": 0.07, "speed_m_s": 0.65,
        "caught": False, "place_doubt_m": 0.001,
    }  # fmt: skip
    run("export", knot, str(tmp_path / "log.csv"))
    assert "speed_m_s" in (tmp_path / "log.csv").read_text().splitlines()[0]
    assert "0 new entries, 1 there" in words("import", str(tmp_path / "log.csv"), "--check")


def test_a_stop_time_has_its_cut(knot: str) -> None:
    said = words("add", knot, "stop-time", "stop_time=52 ms", "sd=2 ms", "cut_length=8 mm")
    assert "Cut length in use: 8 mm" in said


@pytest.mark.parametrize(
    ("field", "said"),
    [
        ("piece=12,5 mm ball", 'Write "12.5 mm ball"'),
        ("piece=M8x30 bolt", "how it lay is not said"),
        ("speed=0,65 m/s", "speed_m_s"),
        ("height=-1 mm", "not plausible"),
    ],
)
def test_what_cannot_be_is_refused(knot: str, field: str, said: str) -> None:
    key = field.partition("=")[0]
    fields = [one for one in PASS if not one.startswith(f"{key}=")]
    assert said in words("add", knot, "test-pass", *fields, field, code=2)
    assert json.loads(run("show", knot, "--json").output) == []
