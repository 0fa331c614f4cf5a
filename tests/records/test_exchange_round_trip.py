"""What is exported and imported again is exported as the same bytes."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.databases import Postgres, using_database
from tests.records.exchanged import TEXTS, entries, write
from tests.records.machines import Maker, PostgresMaker, SqliteMaker
from tripmargin.records.exchange.cells import protected, unprotected
from tripmargin.records.exchange.exporting import export_file
from tripmargin.records.exchange.importing import import_file

SLOW_DATABASES = settings(
    max_examples=8, deadline=None,  # a new database each time
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)  # fmt: skip


@pytest.fixture(scope="module")
def sqlite_maker(sqlite_with_tables: Path, tmp_path_factory: pytest.TempPathFactory) -> SqliteMaker:
    return SqliteMaker(sqlite_with_tables, tmp_path_factory.mktemp("exchange"))


@pytest.fixture(scope="module")
def maker(postgres: Postgres) -> Maker:
    return PostgresMaker(postgres)


def exported(path: Path, **more: Any) -> bytes:
    export_file(path, over=True, **more)
    return path.read_bytes()


def there_and_back(source: str, target: str, file: Path, count: int) -> bytes:
    """Export, import, import again, export: the bytes of both exports, which are the same."""
    with using_database(source):
        before = exported(file)
    with using_database(target):
        found = import_file(file)
        assert (found.new, found.there) == (count, 0)
        again = import_file(file)
        assert (again.new, again.there) == (0, count)
        assert (again.machines, again.versions) == (0, 0)
        assert exported(file.with_stem("after")) == before
    return before


@SLOW_DATABASES
@given(made=entries())
def test_csv_and_json_come_back_as_the_same_bytes_on_postgresql(
    made: list[dict[str, Any]], maker: Maker, tmp_path: Path
) -> None:
    both_ways(maker, tmp_path, made)


@settings(SLOW_DATABASES, max_examples=40)
@given(made=entries())
def test_csv_and_json_come_back_as_the_same_bytes(
    made: list[dict[str, Any]], sqlite_maker: SqliteMaker, tmp_path: Path
) -> None:
    both_ways(sqlite_maker, tmp_path, made)


def both_ways(maker: Maker, folder: Path, made: list[dict[str, Any]]) -> None:
    with maker() as source:
        with using_database(source):
            write(made)
        with maker() as target:
            there_and_back(source, target, folder / "log.csv", len(made))
        with maker(machines=False) as target:
            text = there_and_back(source, target, folder / "log.json", len(made))
    assert len(json.loads(text)["entries"]) == len(made)


@settings(SLOW_DATABASES, max_examples=4)
@given(made=entries())
def test_what_left_sqlite_comes_back_from_postgresql(
    made: list[dict[str, Any]], sqlite_maker: SqliteMaker, maker: Maker, tmp_path: Path
) -> None:
    with sqlite_maker() as source, maker(machines=False) as target:
        with using_database(source):
            write(made)
        there_and_back(source, target, tmp_path / "log.json", len(made))


@given(TEXTS)
def test_a_protected_text_begins_no_formula_and_comes_back(text: str) -> None:
    # OWASP, "CSV Injection": cells must not begin with = + - @ tab or carriage return
    assert unprotected(protected(text)) == text
    assert not protected(text).startswith(("=", "+", "-", "@", "\t", "\r"))


@given(st.text("'\"=+@;\t\n a", max_size=8))
def test_no_cell_that_another_separator_makes_of_a_text_is_a_formula(text: str) -> None:
    # A spreadsheet of a country with decimal commas separates by semicolons, whatever is quoted.
    assert unprotected(protected(text)) == text
    for cell in re.split(r"[;\t\n]", protected(text)):
        assert not cell.lstrip('"').startswith(("=", "+", "@"))


@given(st.text("'=+-@ a", max_size=6))
def test_apostrophes_before_a_formula_are_told_apart(text: str) -> None:
    assert unprotected(protected(text)) == text
    assert protected(text)[:1] not in tuple("=+-@")
