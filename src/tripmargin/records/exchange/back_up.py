"""A back-up: one file that holds every table, as of one moment."""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tripmargin.records.exchange.files import PRIVATE, written_whole
from tripmargin.records.exchange.manifest import NAME, Manifest, Table, newest_schema
from tripmargin.records.exchange.rows import lines_of, tables
from tripmargin.records.exchange.snapshots import snapshot


def back_up(
    path: Path, *, over: bool = False, told: Callable[[str], None] | None = None
) -> Manifest:
    """Write a back-up; when this returns it is on the disk, whole.

    It holds password hashes, so only its owner may read it. Others may write to the records
    meanwhile: what they write is not in it.

    Parameters
    ----------
    path : Path
        A zip file.
    over : bool
        Whether a file that is there may be written over.
    told : callable, optional
        Called with the name of each table before it is written.

    Raises
    ------
    RecordsError
        If the file is there already, or cannot be made there.
    """
    import tripmargin

    with (
        written_whole(path, over=over, mode=PRIVATE) as file,
        snapshot(),
        zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        written = []
        for model in tables():
            if told is not None:
                told(model._meta.model_name)
            written.append(_write(archive, model))
        manifest = Manifest(
            schema=newest_schema(),
            program=tripmargin.__version__,
            made_at=datetime.now(UTC).isoformat(timespec="seconds"),
            tables=tuple(written),
        )
        archive.writestr(NAME, manifest.as_bytes())
    return manifest


def _write(archive: zipfile.ZipFile, model: Any) -> Table:
    name = model._meta.model_name
    sha256, rows, size = hashlib.sha256(), 0, 0
    with archive.open(f"tables/{name}.jsonl", "w", force_zip64=True) as file:
        for line in lines_of(model):
            file.write(line)
            sha256.update(line)
            rows += 1
            size += len(line)
    return Table(name, rows, size, sha256.hexdigest())
