"""Back-up, restore and moving: whole or not at all."""

from __future__ import annotations

import os
import sqlite3
import stat
import zipfile
from contextlib import closing
from pathlib import Path

import pytest

from tests.databases import Postgres, using_database
from tests.records.backed_up import everything, fill, filled, sqlite_copy
from tests.records.machines import add_small_machines
from tests.records.writers import writer
from tripmargin.records.exchange.back_up import back_up
from tripmargin.records.exchange.moving import move_to, restore_into_empty
from tripmargin.records.exchange.restoring import counts, restore
from tripmargin.records.home import RecordsError

__all__ = ["filled"]


@pytest.fixture
def other(request: pytest.FixtureRequest, records: str, tmp_path: Path) -> str:
    """Another database of the same kind, with empty tables."""
    if records.startswith("postgresql"):
        return str(request.getfixturevalue("postgres").new())
    return sqlite_copy(request, tmp_path)


def test_what_is_backed_up_is_restored_row_by_row(records: str, other: str, tmp_path: Path) -> None:
    from tripmargin.records.keeping.entries import NewEntry, write_entry
    from tripmargin.records.store.models import Entry, Machine, Person, Standing

    fill()
    before, path = everything(), tmp_path / "yard.zip"
    manifest = back_up(path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert not list(tmp_path.glob(".*"))
    assert manifest.counts == counts()
    with using_database(other):
        restore(path)
        assert everything() == before
        assert Standing.objects.count() == Machine.objects.count() == 2
        assert Person.objects.get(name="Ann").check_password("a-long-enough-one")
        # PostgreSQL counts its keys apart from the rows: a new row must get a free one.
        newest = Entry.objects.order_by("-pk").first()
        machine = Machine.objects.get(name="Knot")
        made = write_entry(machine, NewEntry(kind="note", values={"text": "after"})).entry
        assert made.pk > newest.pk
        assert Person.objects.create_user("Bo", "a-long-enough-one").pk > 1
        with pytest.raises(RecordsError, match=r"not empty \(.*machine 2"):
            restore(path)
        assert Entry.objects.count() == 4


def test_a_back_up_made_while_others_write_is_of_one_moment(
    records: str, other: str, tmp_path: Path
) -> None:
    from django.db import connections

    from tripmargin.records.store.models import Entry

    add_small_machines()
    connections.close_all()
    path = tmp_path / "busy.zip"
    with writer(tmp_path, records) as process:
        process.begin(0, 200)
        said = [int(process.next()) for _ in range(20)]
        seen: list[int] = []

        def on(_: str) -> None:  # between two tables the writer goes on, and is not held up
            seen.extend(int(process.next()) for _ in range(5))

        manifest = back_up(path, told=on)
        process.until("done")
    assert len(seen) == 5 * len(manifest.tables)
    with using_database(other):
        restore(path)
        kept = {uid.int for uid in Entry.objects.values_list("uid", flat=True)}
        assert kept == set(range(len(kept)))  # no gap: all that was before its moment
        assert set(said) <= kept
        assert len(kept) < 200


def test_a_back_up_that_fails_leaves_nothing(
    sqlite_records: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space"):
        back_up(tmp_path / "yard.zip")
    assert [one.name for one in tmp_path.iterdir() if "sqlite" not in one.name] == []


def test_a_file_that_is_there_is_written_over_only_where_asked(filled: Path) -> None:
    before = filled.read_bytes()
    with pytest.raises(RecordsError, match="is there already"):
        back_up(filled)
    assert filled.read_bytes() == before
    assert back_up(filled, over=True).counts["entry"] == 3


def test_restoring_beside_keeps_the_earlier_records(filled: Path, sqlite_records: str) -> None:
    from tripmargin.records.keeping.entries import NewEntry, write_entry
    from tripmargin.records.store.models import Entry, Machine

    machine = Machine.objects.get(name="Knot")
    write_entry(machine, NewEntry(kind="note", values={"text": "since then"}))
    manifest, aside = restore_into_empty(filled)
    assert manifest.counts["entry"] == Entry.objects.count() == 3
    with closing(sqlite3.connect(aside)) as file:
        assert file.execute("SELECT count(*) FROM records_entry").fetchone() == (4,)
    here = Path(sqlite_records.removeprefix("sqlite:///"))
    assert not list(here.parent.glob("*.restoring*"))


def test_records_that_are_open_elsewhere_are_not_moved_aside(
    filled: Path, sqlite_records: str
) -> None:
    from tripmargin.records.store.models import Entry

    path = Path(sqlite_records.removeprefix("sqlite:///"))
    with closing(sqlite3.connect(path)) as server:
        assert server.execute("SELECT count(*) FROM records_entry").fetchone() == (3,)
        with pytest.raises(RecordsError, match="Stop the server"):
            restore_into_empty(filled)
    assert Entry.objects.count() == 3
    assert not list(path.parent.glob("*.before-*"))
    assert not list(path.parent.glob("*.restoring*"))


def test_a_damaged_back_up_moves_nothing_aside(filled: Path, sqlite_records: str) -> None:
    content = bytearray(filled.read_bytes())
    with zipfile.ZipFile(filled) as archive:
        held = archive.getinfo("tables/machineversion.jsonl")
    # In the middle of what it holds: not every byte of an archive's own headers says anything.
    content[held.header_offset + 30 + len(held.filename) + held.compress_size // 2] ^= 1
    path = filled.with_name("changed.zip")
    path.write_bytes(content)
    with pytest.raises(RecordsError, match="damaged"):
        restore_into_empty(path)
    assert counts()["entry"] == 3


def test_records_move_from_sqlite_to_postgresql(filled: Path, postgres: Postgres) -> None:
    before, address = everything(), postgres.new(empty=True)
    manifest = move_to(address)
    assert manifest.counts == counts()
    assert everything() == before  # those that were here stay
    with using_database(address):
        assert everything() == before
    with pytest.raises(RecordsError, match="not empty"):
        move_to(address)


def test_a_move_that_somebody_wrote_during_is_taken_back(
    filled: Path, postgres: Postgres, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tripmargin.records.exchange import moving
    from tripmargin.records.keeping.entries import NewEntry, write_entry
    from tripmargin.records.store.models import Machine

    def back_up_then_write(path: Path) -> None:
        back_up(path)
        machine = Machine.objects.get(name="Knot")
        write_entry(machine, NewEntry(kind="note", values={"text": "meanwhile"}))

    monkeypatch.setattr(moving, "back_up", back_up_then_write)
    address = postgres.new()
    with pytest.raises(RecordsError, match=r"entry: 4, moved 3.*Nothing was moved"):
        move_to(address)
    with using_database(address):
        assert not any(counts().values())
