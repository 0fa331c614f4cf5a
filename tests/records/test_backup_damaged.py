"""Back-ups that are damaged, or are none: refused whole, in plain words."""

from __future__ import annotations

import hashlib
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest

from tests.databases import using_database
from tests.records.backed_up import filled, sqlite_copy
from tripmargin.records.exchange.restoring import counts, restore
from tripmargin.records.home import RecordsError

__all__ = ["filled"]


def _another_byte(files: dict[str, bytes]) -> None:
    files["tables/entry.jsonl"] = files["tables/entry.jsonl"][:-2] + b" \n"


def rewritten(path: Path, change: Any) -> Path:
    """The back-up with its files changed by `change(name to content)`."""
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    change(files)
    made = path.with_name("changed.zip")
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return made


def with_manifest(change: Any) -> Any:
    def apply(files: dict[str, bytes]) -> None:
        manifest = json.loads(files["manifest.json"])
        change(manifest, files)
        files["manifest.json"] = json.dumps(manifest).encode()

    return apply


def _table(manifest: Any, files: dict[str, bytes], name: str, content: bytes) -> None:
    """A table put in place of another, with a manifest that agrees."""
    files[f"tables/{name}.jsonl"] = content
    (one,) = (one for one in manifest["tables"] if one["name"] == name)
    one |= {"rows": content.count(b"\n"), "size": len(content),
            "sha256": hashlib.sha256(content).hexdigest()}  # fmt: skip


def _no_such_machine(manifest: Any, files: dict[str, bytes]) -> None:
    row = json.loads(files["tables/entry.jsonl"].splitlines()[0]) | {"machine_id": 99}
    _table(manifest, files, "entry", json.dumps(row).encode() + b"\n")


DAMAGES = {
    "a byte of a table": (
        _another_byte, "not what its manifest says",
    ),
    "a table longer": (
        lambda files: files.update({"tables/machine.jsonl": files["tables/machine.jsonl"] * 2}),
        "longer than its manifest says",
    ),
    "a table shorter": (
        lambda files: files.update({"tables/machine.jsonl": b""}), "not what its manifest says"
    ),
    "a table missing": (lambda files: files.pop("tables/photo.jsonl"), "its files are not those"),
    "a file too many": (lambda files: files.update({"../evil": b"x"}), "its files are not those"),
    "no manifest": (lambda files: files.pop("manifest.json"), "no back-up of tripmargin"),
    "another manifest": (lambda files: files.update({"manifest.json": b"{}"}), "no back-up"),
    "a manifest that is no JSON": (
        lambda files: files.update({"manifest.json": b"{"}), "Nothing was written"
    ),
    "a huge manifest": (
        lambda files: files.update({"manifest.json": b" " * 2_000_000}), "far too long"
    ),
    "a newer format": (
        with_manifest(lambda manifest, _: manifest.update({"format": 2})), "newer version"
    ),
    "a newer schema": (
        with_manifest(lambda manifest, _: manifest.update({"schema": "9999_later"})),
        "newer version",
    ),
    "a column too few": (
        with_manifest(lambda manifest, files: _table(manifest, files, "typesheet", b'{"id": 1}\n')),
        "not the columns",
    ),
    "a row that is no JSON": (
        with_manifest(lambda manifest, files: _table(manifest, files, "typesheet", b"x\n")),
        "typesheet.jsonl, line 1",
    ),
    "an entry of no machine": (with_manifest(_no_such_machine), "do not hold together"),
}  # fmt: skip


@pytest.mark.parametrize("damage", DAMAGES)
def test_a_damaged_back_up_is_refused_whole(
    damage: str, filled: Path, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    change, said = DAMAGES[damage]
    path = rewritten(filled, change)
    with using_database(sqlite_copy(request, tmp_path)):
        with pytest.raises(RecordsError, match=said):
            restore(path)
        assert not any(counts().values())


@pytest.mark.parametrize("keep", [0.3, 0.9, 0.999])
def test_a_back_up_cut_short_is_refused(
    keep: float, filled: Path, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    content = filled.read_bytes()
    path = tmp_path / "cut.zip"
    path.write_bytes(content[: int(keep * len(content))])
    with using_database(sqlite_copy(request, tmp_path)):
        with pytest.raises(RecordsError, match="cut short"):
            restore(path)
        assert not any(counts().values())
