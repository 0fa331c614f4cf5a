"""Opening a back-up: every byte of it is looked at before anything is done with it."""

from __future__ import annotations

import hashlib
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

from tripmargin.ground.languages import say
from tripmargin.records.exchange.manifest import LARGEST, NAME, Manifest, Table, manifest_from
from tripmargin.records.home import RecordsError

LONGEST_LINE = 50_000_000  # bytes; a photo in base64


class BackUp:
    """A back-up that was found whole."""

    def __init__(self, path: Path, archive: zipfile.ZipFile, manifest: Manifest) -> None:
        self.path, self._archive, self.manifest = path, archive, manifest

    def lines(self, table: Table) -> Iterator[bytes]:
        """The rows of a table, each a line of JSON.

        Raises
        ------
        RecordsError
            If they are not those that the manifest tells of.
        """
        sha256, rows, size = hashlib.sha256(), 0, 0
        try:
            with self._archive.open(table.file) as file:
                while line := file.readline(LONGEST_LINE):
                    sha256.update(line)
                    rows += 1
                    size += len(line)
                    if size > table.size or not line.endswith(b"\n"):
                        self.refuse(say("{file} is longer than its manifest says", file=table.file))
                    yield line
        except (
            zipfile.BadZipFile, zlib.error, EOFError, KeyError,
            NotImplementedError, RuntimeError,  # packed in another way, or with a password
        ) as error:  # fmt: skip
            why = str(error) or say("cut short")
            self.refuse(f"{table.file}: {why}")
        if (rows, size, sha256.hexdigest()) != (table.rows, table.size, table.sha256):
            self.refuse(say("{file} is not what its manifest says", file=table.file))

    def refuse(self, what: str) -> NoReturn:
        """Say that it is damaged."""
        refuse(self.path, say("the back-up is damaged: {what}", what=what))


@contextmanager
def opened(path: Path) -> Iterator[BackUp]:
    """Open a back-up and read all of it once.

    Raises
    ------
    RecordsError
        If it is none, is damaged, or was made by a newer version.
    """
    try:
        archive = zipfile.ZipFile(path)
    except zipfile.BadZipFile:
        refuse(path, say("it is no back-up of tripmargin, or was cut short"))
    with archive:
        back_up = BackUp(path, archive, _manifest(path, archive))
        for table in back_up.manifest.tables:
            for _ in back_up.lines(table):
                pass
        yield back_up


def refuse(path: Path, why: str) -> NoReturn:
    """Say why a back-up is not restored."""
    raise RecordsError(
        say("{path}: {why}.\n  Nothing was written. Use another back-up.", path=path, why=why)
    )


def _manifest(path: Path, archive: zipfile.ZipFile) -> Manifest:
    names = archive.namelist()
    if NAME not in names:
        refuse(path, say("it is no back-up of tripmargin"))
    if archive.getinfo(NAME).file_size > LARGEST:
        refuse(path, say("the back-up is damaged: its manifest is far too long"))
    try:
        manifest = manifest_from(archive.read(NAME))
    except (zipfile.BadZipFile, zlib.error, EOFError) as error:
        refuse(path, say("the back-up is damaged: {error}", error=error))
    except (ValueError, RecursionError, NotImplementedError, RuntimeError) as error:
        refuse(path, str(error))
    if sorted(names) != sorted([NAME, *(table.file for table in manifest.tables)]):
        refuse(path, say("the back-up is damaged: its files are not those that its manifest names"))
    return manifest
