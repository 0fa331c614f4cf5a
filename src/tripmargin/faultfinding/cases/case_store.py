"""Where the bytes of a case are: in a file that several programs may add to, or in memory."""

from __future__ import annotations

import os
import stat
import sys
import time
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from pathlib import Path
from typing import Protocol

from tripmargin.faultfinding.cases.case_lines import CaseFileError
from tripmargin.ground.languages import say
from tripmargin.ground.os_words import os_words

PATIENCE = 10.0  # s; another program holds the lock for milliseconds
_BINARY = getattr(os, "O_BINARY", 0)
_LOCKED_BYTE = 1 << 30  # far behind the text: where locks are binding, readers need the text


class Open(Protocol):
    """The bytes while they are ours alone."""

    def read(self) -> bytes:
        """All of them."""

    def write(self, more: bytes) -> None:
        """Add some at the end, for good."""


class Store(Protocol):
    """Where the bytes are."""

    name: str
    path: Path | None

    def at_hand(self, *, writing: bool) -> AbstractContextManager[Open]:
        """The bytes, held against other writers."""


class InMemory:
    """Bytes that no other program sees."""

    path: Path | None = None

    def __init__(self, name: str, content: bytes) -> None:
        self.name, self._content = name, content

    @contextmanager
    def at_hand(self, *, writing: bool) -> Iterator[Open]:
        """Themselves."""
        yield self

    def read(self) -> bytes:
        """All of them."""
        return self._content

    def write(self, more: bytes) -> None:
        """Add some at the end."""
        self._content += more


class OnDisk:
    """Bytes in a file, opened anew for each use."""

    def __init__(self, path: Path) -> None:
        self.path: Path | None = path
        self.name = str(path)

    @contextmanager
    def at_hand(self, *, writing: bool) -> Iterator[Open]:
        """The open file, locked where the system can.

        Raises
        ------
        CaseFileError
            If it is not there, not a file, not ours to read or write, or locked for too long.
        """
        try:
            if not stat.S_ISREG(os.stat(self.name).st_mode):
                raise CaseFileError(self.name, say("not a file"), say("the file of a case"))
            flags = os.O_RDWR | os.O_APPEND if writing else os.O_RDONLY
            number = os.open(self.name, flags | _BINARY)
        except (OSError, ValueError) as error:
            if isinstance(error, CaseFileError):
                raise
            raise _refused(self.name, error, writing) from error
        try:
            with _lock(number, self.name):
                yield _OpenFile(number, self.name)
        finally:
            os.close(number)


def _refused(name: str, error: OSError | ValueError, writing: bool) -> CaseFileError:
    why = os_words(error) if isinstance(error, OSError) else str(error)
    if isinstance(error, FileNotFoundError):
        hint = (
            say(
                "It was there before. `save_as` writes all that was read and entered to a new file."
            )
            if writing
            else say("Look at the name, or begin a case there.")
        )
        return CaseFileError(name, say("no such file"), say("the file of a case"), hint)
    if writing:
        problem = say("cannot be written: {why}", why=why)
        return CaseFileError(name, problem, say("a file that can be written"))
    return CaseFileError(
        name, say("cannot be read: {why}", why=why), say("a file that can be read")
    )


class _OpenFile:
    """The file while we hold its lock."""

    def __init__(self, number: int, name: str) -> None:
        self._number, self._name = number, name

    def read(self) -> bytes:
        try:
            os.lseek(self._number, 0, os.SEEK_SET)
            parts = iter(lambda: os.read(self._number, 1 << 20), b"")
            return b"".join(parts)
        except OSError as error:
            raise _refused(self._name, error, writing=False) from error

    def write(self, more: bytes) -> None:
        _write(self._number, more, self._name)


def _write(number: int, more: bytes, name: str) -> None:
    """Write at the end, in one go unless the disk takes less, and see it through to the disk."""
    left = memoryview(more)
    try:
        while left:
            left = left[os.write(number, left) :]
        os.fsync(number)
    except OSError as error:
        why = os_words(error)
        if left:
            problem = say("this entry is not written whole: {why}", why=why)
        else:
            problem = say("this entry is not surely on the disk: {why}", why=why)
        raise CaseFileError(
            name,
            problem,
            say("a disk with room that can be written to"),
            say(
                "All earlier entries are safe. Mend that, open the case again and see"
                " whether this entry is in it."
            ),
            value=more.decode("utf-8", "replace").strip(),
        ) from error


def refuse_taken(path: Path) -> None:
    """Refuse the name of a file that is there, before anything is written for it.

    Raises
    ------
    CaseFileError
        If there is such a file.
    """
    if os.path.lexists(path):
        raise _taken(str(path))


def _taken(name: str) -> CaseFileError:
    return CaseFileError(
        name,
        say("there is such a file already, and a case never writes over one"),
        say("the name of a file that is not there"),
        say("Choose another name, or open that case and go on with it."),
    )


def create(path: Path, content: bytes) -> None:
    """Put the bytes into a new file, whole or not at all.

    Raises
    ------
    CaseFileError
        If there is such a file, or none can be made there.
    """
    name = str(path)
    try:
        number = os.open(name, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_APPEND | _BINARY, 0o666)
    except FileExistsError as error:
        raise _taken(name) from error
    except (OSError, ValueError) as error:
        why = os_words(error) if isinstance(error, OSError) else str(error)
        raise CaseFileError(
            name,
            say("no file can be made here: {why}", why=why),
            say("a file name in a folder that is there and can be written to"),
        ) from error
    try:
        try:
            with _lock(number, name):
                _write(number, content, name)
        finally:
            os.close(number)
    except CaseFileError:
        with suppress(OSError):
            os.unlink(name)  # ours, made a moment ago, and not whole
        raise
    settle_folder(path.parent)


def settle_folder(folder: Path) -> None:
    """See the new name through to the disk; where folders cannot be opened, the system does."""
    with suppress(OSError):
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)


@contextmanager
def _lock(number: int, name: str) -> Iterator[None]:
    """Hold the file's lock; where a system or a file server has none, go on without."""
    until = time.monotonic() + PATIENCE
    while True:
        try:
            held = _try_lock(number)
            break
        except (BlockingIOError, PermissionError) as error:
            if time.monotonic() > until:
                raise CaseFileError(
                    name,
                    say("another program has held this file for {patience:g} s", patience=PATIENCE),
                    say("a file that no other program keeps locked"),
                    say("Close the other program, then try again. Nothing was written."),
                ) from error
            time.sleep(0.002)
    try:
        yield
    finally:
        if held:
            _unlock(number)


if sys.platform == "win32":

    def _try_lock(number: int) -> bool:
        import msvcrt

        os.lseek(number, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(number, msvcrt.LK_NBLCK, 1)
        return True

    def _unlock(number: int) -> None:
        import msvcrt

        os.lseek(number, _LOCKED_BYTE, os.SEEK_SET)
        msvcrt.locking(number, msvcrt.LK_UNLCK, 1)

else:

    def _try_lock(number: int) -> bool:
        """Whether the lock is held; False where there are none.

        Raises
        ------
        BlockingIOError
            If another program holds it.
        """
        try:
            import fcntl

            fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except (BlockingIOError, PermissionError):
            raise
        except (ImportError, OSError):
            return False
        return True

    def _unlock(number: int) -> None:
        import fcntl

        fcntl.flock(number, fcntl.LOCK_UN)
