"""Files that are written whole or not at all."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from tripmargin.ground.languages import say
from tripmargin.records.home import RecordsError

PRIVATE, SHARED = 0o600, 0o666  # the second less what the person's umask takes away


@contextmanager
def written_whole(path: Path, *, over: bool = False, mode: int = SHARED) -> Iterator[BinaryIO]:
    """Write a file that appears under its name when it is on the disk, or not at all.

    Parameters
    ----------
    path : Path
    over : bool
        Whether a file that is there may be written over.
    mode : int
        Who may read it.

    Raises
    ------
    RecordsError
        If a file is there already, or the folder is not.
    """
    if path.is_dir():
        raise RecordsError(say("{path} is a folder.\n  Name a file in it.", path=path))
    if path.exists() and not over:
        raise RecordsError(
            say(
                "{path} is there already. Nothing was written.\n  Name another file, or add"
                " --over to write over it.",
                path=path,
            )
        )
    if not path.parent.is_dir():
        raise RecordsError(
            say(
                "{path}: there is no folder {parent}.\n  Make it first.",
                path=path,
                parent=path.parent,
            )
        )
    part = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    number = os.open(part, os.O_RDWR | os.O_CREAT | os.O_EXCL, mode)
    try:
        with os.fdopen(number, "w+b") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise
    sync_folder(path.parent)


def sync_folder(folder: Path) -> None:
    """Bring the names in a folder to the disk, where the system can (fsync(2) of the folder)."""
    if os.name != "posix":
        return
    number = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)


def refuse_what_is_no_text(path: Path) -> None:
    """Look at the first bytes: an archive, a picture or UTF-16 is told before it is read.

    Raises
    ------
    RecordsError
        With what it seems to be.
    """
    with path.open("rb") as file:
        head = file.read(512)
    for sign, seen, mend in (
        (b"PK\x03\x04", say("an archive or a spreadsheet's own file"),
         say("Save it as CSV (UTF-8). A back-up is read by: tripmargin log restore.")),
        (b"\x1f\x8b", say("a compressed file"), say("Unpack it first.")),
        (b"\xff\xfe", "UTF-16", say("Save it as UTF-8.")),
        (b"\xfe\xff", "UTF-16", say("Save it as UTF-8.")),
        (b"\x89PNG", say("a picture"), say("Is this the right file?")),
        (b"\xff\xd8\xff", say("a picture"), say("Is this the right file?")),
    ):  # fmt: skip
        if head.startswith(sign):
            raise RecordsError(
                say("{name}: {seen}, not text.\n  {mend}", name=path.name, seen=seen, mend=mend)
            )
    if b"\0" in head:
        raise RecordsError(
            say("{name}: not text: it has zero bytes.\n  Save it as UTF-8.", name=path.name)
        )
