"""A restore is held to what an upload or a form takes: each value, however many rows there are."""

from __future__ import annotations

import base64
import json
from pathlib import Path
from typing import Any

import pytest

from tests.databases import using_database
from tests.records.backed_up import filled, sqlite_copy
from tests.records.large import DEEP_KEY, PAWLS, SMALL_OWL, copy_with, nested
from tests.records.machines import add_small_machines
from tests.records.test_backup_damaged import _table, rewritten, with_manifest
from tripmargin.records.exchange.back_up import back_up
from tripmargin.records.exchange.restoring import counts, restore
from tripmargin.records.exchange.rows import tables
from tripmargin.records.home import RecordsError
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.keeping.sizes import LONGEST_KEY
from tripmargin.records.store.models import Entry, Machine

__all__ = ["filled"]


def row_with(name: str, /, **change: Any) -> Any:
    """Change the first row of a table; the manifest agrees with it."""

    def apply(manifest: Any, files: dict[str, bytes]) -> None:
        first, *rest = files[f"tables/{name}.jsonl"].splitlines(keepends=True)
        changed = json.dumps(json.loads(first) | change).encode() + b"\n"
        _table(manifest, files, name, b"".join([changed, *rest]))

    return with_manifest(apply)


ROWS: dict[str, tuple[str, dict[str, Any], str]] = {
    "a note": ("entry", {"note": "x" * 2001}, "note: 2001 letters, at most 2000"),
    "a text": ("entry", {"values": {"text": "x" * 2001}}, "values, text: 2001 letters"),
    "values": ("entry", {"values": {f"x{k}": 1 for k in range(201)}}, "values: 201 values"),
    "a key": ("entry", {"values": {"x" * (LONGEST_KEY + 1): 1}}, "values, a key: "),
    "a list": ("entry", {"values": {"text": [1]}}, "neither a text, a number"),
    "no object": ("entry", {"values": [1]}, "values: not an object"),
    "who": ("entry", {"who_name": "x" * 61}, "who_name: 61 letters, at most 60"),
    "a machine's name": ("machine", {"name": "x" * 101}, "name: 101 letters"),
    "a file": ("machineversion", {"text": "x" * 1_000_001}, "text: 1000001 letters"),
    "a copy": ("machineversion", {"copy": copy_with(SMALL_OWL + PAWLS)}, "chain.pawls"),
    "a copy that takes long": (
        "machineversion", {"copy": copy_with(f"{DEEP_KEY} = 1")}, "more than 30 parts"),
    "a photo": ("photo", {"content": base64.b64encode(b"x" * (2**23 + 1)).decode()},
                "content: 8388609 bytes"),
    "a line of a case": ("caseline", {"content": base64.b64encode(b"x" * 100_001).decode()},
                         "content: 100001 bytes"),
    "an audit's detail": ("auditline", {"detail": {"x": "x" * 8_000_000}}, "detail: "),
    "a deep detail": ("auditline", {"detail": {"x": nested(100)}}, "nested too deeply"),
}  # fmt: skip


@pytest.mark.parametrize("what", ROWS)
def test_a_row_that_no_form_or_upload_would_bring_is_not_restored(
    what: str, filled: Path, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    name, change, said = ROWS[what]
    path = rewritten(filled, row_with(name, **change))
    with using_database(sqlite_copy(request, tmp_path)):
        with pytest.raises(RecordsError, match="no form or upload takes") as caught:
            restore(path)
        assert said in str(caught.value)
        assert f"tables/{name}.jsonl, line 1" in str(caught.value)
        assert len(str(caught.value)) < 1000
        assert not any(counts().values())


def test_a_large_back_up_of_rows_that_are_as_large_as_may_be_is_restored(
    sqlite_records: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    add_small_machines()
    knot = Machine.objects.get(name="Knot")
    full = {"tripped": True} | {f"lamps/{k} {'x' * 900}": True for k in range(199)}
    write_entry(knot, NewEntry(kind="daily check", values=full, note="ä" * 2000))
    new = NewEntry(kind="note", values={"text": "ß" * 2000}, note="ä" * 2000)
    Entry.objects.bulk_create(
        Entry(machine=knot, kind=new.kind, at=knot.created_at, who_name="x" * 60,
              values=dict(new.values), note=new.note)
        for _ in range(1500)
    )  # fmt: skip
    path = tmp_path / "large.zip"
    manifest = back_up(path)
    assert sum(table.size for table in manifest.tables) > 10_000_000
    with using_database(sqlite_copy(request, tmp_path)):
        restore(path)
        assert Entry.objects.count() == 1501


def test_every_long_column_has_a_limit_that_was_thought_about() -> None:
    """A new column of text or bytes is held to a machine file's size until somebody says more."""
    from django.db import models

    from tripmargin.records.exchange.row_sizes import _BYTES, _LETTERS, _LOOK_INTO

    long = (models.TextField, models.BinaryField)
    named = {(one._meta.model_name, field.attname): field for one in tables()
             for field in one._meta.concrete_fields}  # fmt: skip
    kept = {key for key, field in named.items() if isinstance(field, long)}
    assert kept == {*_BYTES, *_LETTERS}
    assert all(isinstance(named[key], models.JSONField) for key in _LOOK_INTO)
