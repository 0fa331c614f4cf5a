"""`tripmargin log` in German, from a terminal to the records and back; kept as in English.

The German words are checked against themselves only: no outside source.
"""

from __future__ import annotations

import json
from contextvars import copy_context
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.machine.files import SMALL, written
from tests.yard import sqlite_records, sqlite_with_tables
from tripmargin.cli.main import main

__all__ = ["sqlite_records", "sqlite_with_tables"]

pytestmark = pytest.mark.usefixtures("sqlite_records")

GERMAN = {"TRIPMARGIN_LANGUAGE": "de", "LANGUAGE": "de"}


def run(*args: str) -> Result:
    """A call in a context of its own: a language is spoken until the end of one."""
    return copy_context().run(lambda: CliRunner(env=GERMAN).invoke(main, ["log", *args]))


def words(*args: str, code: int = 0) -> str:
    result = run(*args)
    assert result.exit_code == code, result.output
    return " ".join(result.output.split())


@pytest.fixture
def knot(tmp_path: Path) -> str:
    words("take", str(written(tmp_path, SMALL)), "--who", "Ann")
    return "Knot"


def test_an_entry_is_typed_and_told_in_german_and_kept_in_english(knot: str) -> None:
    assert "letzter Eintrag" in words("machines")
    assert words("machines").endswith("noch keiner")
    told = words("add", knot, "tägliche Prüfung", "tripped=ja", "hours=1240,5 h", "--who", "Ann")
    assert "Knot: Tägliche Prüfung, " in told
    assert "Hat es ausgelöst? ja" in told
    assert "1240,5 h" in told
    shown = words("show", knot, "--kind", "Tägliche Prüfung")
    assert "Tägliche Prüfung, von Ann" in shown
    (kept,) = json.loads(run("show", knot, "--json").output)
    assert kept["kind"] == "daily check"
    assert kept["values"] == {"tripped": True, "hours_s": 1240.5 * 3600}


def test_what_is_allowed_is_said_in_both(knot: str) -> None:
    said = words("add", knot, "Quatsch", "a=b", code=2)
    assert "daily check (Tägliche Prüfung)" in said
    said = words("add", knot, "Auslösung", "found=Quatsch", code=2)
    assert "wire (Draht)" in said


def test_a_comma_that_may_mean_two_things_is_not_guessed_at(knot: str) -> None:
    said = words("add", knot, "Stunden", "hours=1.240,5 h", code=2)
    assert "ein Komma in einer Zahl" in said
    assert "„1240.5 h“" in said


def test_who_takes_back_without_a_reason_is_told_so() -> None:
    said = words("withdraw", "abcdef", code=2)
    assert "--note: sagen, warum" in said


def test_a_back_up_names_its_columns_in_german(knot: str, tmp_path: Path) -> None:
    said = words("back-up", str(tmp_path / "all.zip"))
    assert "Tabelle Zeilen" in said
    assert "table" not in said
