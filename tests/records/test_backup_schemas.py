"""Records of every released version open, and their back-ups restore."""

from __future__ import annotations

import json
import sqlite3
import zipfile
from contextlib import closing
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest

from tests.databases import Postgres, using_database
from tripmargin.machine import digest_of
from tripmargin.records.exchange.back_up import back_up
from tripmargin.records.exchange.manifest import newest_schema
from tripmargin.records.exchange.restoring import counts, restore
from tripmargin.records.exchange.rows import lines_of, tables
from tripmargin.records.opening import bring_up_to_date

RELEASED = sorted((Path(__file__).parent / "released").glob("*.sqlite.sql"))


@pytest.fixture(params=RELEASED, ids=lambda path: path.name)
def released(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of records that an earlier version wrote."""
    path = tmp_path / "released.sqlite3"
    with closing(sqlite3.connect(path)) as file:
        file.executescript(request.param.read_text(encoding="utf-8"))
    return f"sqlite:///{path}"


def rows_are_kept() -> None:
    """What every released dump holds: one person, one machine, three entries."""
    from tripmargin.records.keeping.machines import machine_of
    from tripmargin.records.store.models import Entry, Machine, Person

    assert Person.objects.get().check_password("a-long-enough-one")
    version = Machine.objects.get(name="Knot").versions.get()
    assert digest_of(machine_of(version)) == version.digest
    first, second, third = Entry.objects.order_by("id")
    assert (first.uid, second.corrects, second.note) == (UUID(int=2), first, "misread")
    assert (third.values, third.clock_ahead_s) == ({"tripped": True, "reset": True}, 12.5)


def write_one() -> None:
    from tripmargin.records.keeping.entries import NewEntry, write_entry
    from tripmargin.records.store.models import Machine

    machine = Machine.objects.get(name="Knot")
    assert write_entry(machine, NewEntry(kind="note", values={"text": "since"})).new


def missing_migrations() -> list[Any]:
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    executor = MigrationExecutor(connection)
    return list(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def test_records_of_a_released_version_are_brought_up_to_date(released: str) -> None:
    from tripmargin.records.standing.refreshing import is_stale
    from tripmargin.records.store.models import Machine

    with using_database(released):
        assert missing_migrations()
        bring_up_to_date()
        assert missing_migrations() == []
        rows_are_kept()
        standing = Machine.objects.select_related("standing").get(name="Knot").standing
        assert not is_stale(standing)  # worked out once, and not by every page
        write_one()


def test_of_two_names_that_differ_in_capitals_alone_both_stay_and_it_is_said(
    postgres: Postgres, tmp_path: Path
) -> None:
    """From 0003, where the databases knew only some capitals: SQLite those of English."""
    from django.contrib.auth.hashers import make_password
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    from tripmargin.records.store.models import AuditLine, Person

    addresses = {"Jörg": f"sqlite:///{tmp_path}/new.sqlite3", "Straße": postgres.new(empty=True)}
    for name, address in addresses.items():
        other = {"Jörg": "JÖRG", "Straße": "STRASSE"}[name]
        with using_database(address):
            executor = MigrationExecutor(connection)
            executor.migrate([("records", "0003_doors")])
            old = executor.loader.project_state([("records", "0003_doors")]).apps
            for each in ("Ann", name, other):
                old.get_model("records", "Person").objects.create(
                    name=each, password=make_password(f"word of {each}"), role=2
                )
            bring_up_to_date()
            for each in ("Ann", name, other):  # each still signs in with his own spelling
                found = Person.objects.get_by_natural_key(each)
                assert found.check_password(f"word of {each}")
            assert Person.objects.get_by_natural_key(name.swapcase()[:1] + name[1:]).name == name
            assert [p.name for p in Person.objects.all() if p.by_spelling] == [other]
            line = AuditLine.objects.get()
            assert (line.what, line.about, line.detail["like"]) == ("two names alike", other, name)
            assert missing_migrations() == []
            # a back-up of these records goes into the other database as well
            made = tmp_path / f"{other}.zip"
            back_up(made)
        with using_database(postgres.new() if name == "Jörg" else f"sqlite:///{tmp_path}/o.sqlite"):
            bring_up_to_date()
            restore(made)
            assert Person.objects.get_by_natural_key(other).name == other


def test_records_begin_from_an_empty_database(postgres: Postgres, tmp_path: Path) -> None:
    for address in (f"sqlite:///{tmp_path}/new.sqlite3", postgres.new(empty=True)):
        with using_database(address):
            bring_up_to_date()
            assert missing_migrations() == []
            assert not any(counts().values())


def test_the_models_say_what_the_migrations_made(sqlite_records: str) -> None:
    from django.core.management import call_command

    call_command("makemigrations", "records", check=True, dry_run=True, verbosity=0)


def older_back_up(released: str, folder: Path) -> Path:
    """A back-up as the program of that version would have made it: its tables, its columns."""
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    with using_database(released):
        loader = MigrationExecutor(connection).loader
        name = max(n for app, n in loader.applied_migrations if app == "records")
        apps = loader.project_state([("records", name)]).apps
        files = {one._meta.model_name: b"".join(lines_of(one)) for one in tables(apps)}
    return zipped(folder / "older.zip", name, files)


def zipped(path: Path, schema: str, files: dict[str, bytes]) -> Path:
    import hashlib

    held = [
        {"name": name, "rows": content.count(b"\n"), "size": len(content),
         "sha256": hashlib.sha256(content).hexdigest()}
        for name, content in files.items()
    ]  # fmt: skip
    manifest = {"what": "tripmargin back-up", "format": 1, "schema": schema, "program": "0.1.0",
                "made_at": "2026-03-01T08:00:00+00:00", "tables": held}  # fmt: skip
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in files.items():
            archive.writestr(f"tables/{name}.jsonl", content)
        archive.writestr("manifest.json", json.dumps(manifest))
    return path


def test_a_back_up_of_an_older_version_is_brought_forward(
    released: str, records: str, tmp_path: Path
) -> None:
    path = older_back_up(released, tmp_path)
    assert restore(path).schema == newest_schema()
    rows_are_kept()
    write_one()
    assert back_up(tmp_path / "newer.zip").counts["entry"] == 4
