"""Type sheets whose names or texts lead out of the records: not taken in, and never followed."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import pytest

from tripmargin.ground.errors import MachineFileError
from tripmargin.records.exchange.importing import import_file
from tripmargin.records.exchange.troubles import ImportRefusedError
from tripmargin.records.keeping.machines import (
    add_type_sheet,
    lay_out,
    read_machine_file,
    sheets_in_force,
)
from tripmargin.records.store.models import TypeSheet, TypeSheetVersion

LEADING_OUT = ("../evil.toml", "/tmp/evil.toml", "a/b.toml", "..", "evil", '"\r\nx: y.toml')


def sheet_of(name: str, text: str) -> None:
    """A type sheet as a back-up of somebody else may bring it, past every check."""
    made = TypeSheet.objects.create(name=name)
    TypeSheetVersion.objects.create(
        sheet=made, number=1, text=text, digest=hashlib.sha256(text.encode()).hexdigest()
    )


@pytest.mark.parametrize("name", LEADING_OUT)
def test_no_import_brings_a_sheet_whose_name_leads_out(
    sqlite_records: str, tmp_path: Path, name: str
) -> None:
    text = "[machine]\nname = 'x'\n"
    version = {
        "number": 1, "text": text, "digest": hashlib.sha256(text.encode()).hexdigest(),
        "added_at": "2026-01-01T00:00:00+00:00", "added_by": "Ann",
    }  # fmt: skip
    given: dict[str, Any] = {
        "tripmargin": "records", "format": 1, "machines": [], "entries": [],
        "type_sheets": [{"name": name, "versions": [version]}],
    }  # fmt: skip
    path = tmp_path / "yard.json"
    path.write_text(json.dumps(given))
    with pytest.raises(ImportRefusedError, match="not the name of a type sheet"):
        import_file(path)
    assert not TypeSheet.objects.exists()


def test_a_sheet_whose_name_leads_out_is_never_written(sqlite_records: str, tmp_path: Path) -> None:
    out = tmp_path / "evil.toml"
    sheet_of(str(out), "[machine]\nname = 'x'\n")
    sheet_of("../evil.toml", "[machine]\nname = 'x'\n")
    read_machine_file(b"[machine]\nname = 'Heron'\n", "heron.toml")
    assert sheets_in_force() == {}
    assert not out.exists()


def test_a_sheet_that_builds_on_a_file_of_the_server_is_not_followed(
    sqlite_records: str, tmp_path: Path
) -> None:
    secret = tmp_path / "secret"
    secret.write_text("quernstone = secret words\n")
    sheet_of("bad.toml", f"extends = '{secret}'\n")
    with pytest.raises(MachineFileError) as caught:
        read_machine_file(b"extends = 'bad.toml'\n[machine]\nname = 'Heron'\n", "heron.toml")
    assert "quernstone" not in str(caught.value)
    assert "secret words" not in str(caught.value)


def test_sheets_that_build_on_each_other_are_laid_out(sqlite_records: str, tmp_path: Path) -> None:
    add_type_sheet(b"[machine]\nname = 'x'\n", "base.toml")
    add_type_sheet(b"extends = 'base.toml'\n", "more.toml")
    lay_out(sheets_in_force(), tmp_path)
    assert sorted(path.name for path in tmp_path.glob("*.toml")) == ["base.toml", "more.toml"]
    _, loaded = read_machine_file(b"extends = 'more.toml'\n[machine]\nname = 'H'\n", "h.toml")
    assert loaded.name == "H"
