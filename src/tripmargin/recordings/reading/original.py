"""The file as it lies there: hashed once, never written to, and watched while it is read."""

from __future__ import annotations

import hashlib
import os
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from tripmargin.ground.languages import say
from tripmargin.ground.os_words import os_words
from tripmargin.recordings.reading.refusing import refusal

_PIECE = 1 << 20


@dataclass(frozen=True)
class Original:
    """A file with its hash and the marks by which a later change is noticed."""

    path: Path
    size: int
    sha256: str
    marks: tuple[int, int, int]

    @classmethod
    def of(cls, path: str | os.PathLike[str]) -> Original:
        """The file at a path, read once for its hash.

        Raises
        ------
        RecordingError
            Where there is no such file, it cannot be opened, or nothing is in it.
        """
        named = Path(path)
        marks = _marks(named)
        if marks[0] == 0:
            raise refusal(
                named,
                say("0 bytes, nothing is in the file"),
                allowed=say("a recording of at least one sample"),
                hint=say("Copy it from the logger or the phone again: the copy broke off."),
            )
        hashed = hashlib.sha256()
        with _opened(named) as file:
            while piece := file.read(_PIECE):
                hashed.update(piece)
        made = cls(named, marks[0], hashed.hexdigest(), marks)
        made.check()
        return made

    def open(self) -> BinaryIO:
        """The file for reading, if it is still as it was.

        Raises
        ------
        RecordingError
            Where it was changed or taken away since.
        """
        self.check()
        return _opened(self.path)

    def check(self) -> None:
        """Refuse to go on where the file has changed.

        Raises
        ------
        RecordingError
            Where its size or its time of change is another one.
        """
        if _marks(self.path) != self.marks:
            raise refusal(
                self.path,
                say("the file was changed while it was being read"),
                allowed=say("a file that rests"),
                hint=say("Stop the logger or wait until the copy is done, then read it again."),
            )


def _opened(path: Path) -> BinaryIO:
    try:
        return path.open("rb")
    except OSError as error:
        raise refusal(
            path,
            say("the file cannot be opened: {strerror}", strerror=os_words(error)),
            allowed=say("a file you may read"),
        ) from error


def _marks(path: Path) -> tuple[int, int, int]:
    """Size, time of change and place on the disk."""
    try:
        seen = path.stat()
    except OSError as error:
        raise refusal(
            path,
            say("the file cannot be found: {strerror}", strerror=os_words(error)),
            allowed=say("the name of a recording"),
            hint=say("Is the name spelt as it stands in the folder?"),
        ) from error
    if not stat.S_ISREG(seen.st_mode):
        folder = stat.S_ISDIR(seen.st_mode)
        what = say("this is a folder") if folder else say("this is no ordinary file")
        raise refusal(path, what, allowed=say("the name of one file"))
    return seen.st_size, seen.st_mtime_ns, seen.st_ino
