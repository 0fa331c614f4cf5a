"""The copy of a case's machine, in a file of its own beside the case.

A copy is some 33 kB and an entry some 150 bytes. So a case that is cut in half keeps half of its
entries only where the copy does not stand above them.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import stat
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from tripmargin.faultfinding.cases.case_lines import CaseFileError, line_of
from tripmargin.faultfinding.cases.case_store import settle_folder
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.ground.os_words import os_words
from tripmargin.machine.copies import digest_of

COPY, FILE, DIGEST = "machine", "machine_file", "machine_digest"
"""Fields of a case's head or entry: the copy itself, or the name of its file and its digest."""
_SHOWN = 12  # digits of the digest in the name
_LONGEST = 120  # bytes of the case's own name in it; file systems take 255 in all
_ELSEWHERE = re.compile(r"[/\\:\0]")  # leads into a folder, to a drive or to no file, somewhere
_BINARY = getattr(os, "O_BINARY", 0)


class MachineBesideError(CaseFileError):
    """The copy of a case's machine is missing or damaged; the case's entries are not.

    `.value` is the name of the copy's file, empty where the case names none.
    """

    def __init__(self, file: str, problem: str, value: str, hint: str = "") -> None:
        allowed = say("the file of this name that was written with the case, in the case's folder")
        if not value:
            allowed = say("a first line with the machine of the case, or with the name of its file")
        super().__init__(file, problem, allowed, hint, value=value)


def kept_beside(
    path: Path | None, copy: Mapping[str, Any], name: str | None = None
) -> dict[str, Any]:
    """The fields that hold a machine in a case: of a case on the disk, the copy's file is written.

    Parameters
    ----------
    path : Path or None
        The case's file; None in memory.
    copy : mapping
        As `copy_of` makes it.
    name : str, optional
        Of the copy's file; without it, from the case's name and the copy's digest.

    Raises
    ------
    CaseFileError
        If the copy's file cannot be written; then there is none.
    """
    if path is None:
        return {COPY: dict(copy)}
    digest = digest_of(copy)
    name = name or _name_of(path, digest)
    _write(path, name, digest, line_of(dict(copy), name) + b"\n")
    return {FILE: name, DIGEST: digest}


def copy_kept(path: Path | None, fields: Mapping[str, Any]) -> dict[str, Any]:
    """The copy of a machine that a case's head or entry holds, or whose file it names.

    Parameters
    ----------
    path : Path or None
        The case's file.
    fields : mapping
        Of the head or the entry.

    Raises
    ------
    MachineBesideError
        If the copy's file is missing or damaged, or no machine is held or named at all.
    CaseFileError
        If the name is not that of a copy beside the case, such as one with a folder in it.
    """
    if isinstance(fields.get(COPY), dict):
        held: dict[str, Any] = fields[COPY]
        return held
    case = "case" if path is None else str(path)
    name, digest = _named(case, fields)
    if path is None:
        raise MachineBesideError(case, say("a case in memory has no file beside it"), name)
    values, problem = _read(path, name)
    if values is not None and not problem:
        try:
            if digest_of(values) == values.get("digest") == digest:
                return values
            problem = say("what it holds is not what was written for this case")
        except TripmarginError:
            problem = say("it is damaged: what it holds is not the copy of a machine")
    raise MachineBesideError(
        case, say("the machine of this case cannot be read: {problem}", problem=problem), name
    )


def names_digest(fields: Mapping[str, Any], digest: str) -> bool:
    """Whether a case's head or entry names the copy of just this machine."""
    return FILE in fields and fields.get(DIGEST) == digest


@contextmanager
def moved_beside(target: Path, content: bytes, source: Path | None) -> Iterator[bytes]:
    """The lines of a case for a new file, the copies of its machine written beside that file.

    A line whose copy cannot be read stays as it is. Where the body fails and leaves no case, the
    copies that were written for it go again.

    Parameters
    ----------
    target : Path
        The new case's file.
    content : bytes
        The lines.
    source : Path or None
        The file that they come from; None from memory.
    """
    made: list[Path] = []
    try:
        lines = content.split(b"\n")
        for number, line in enumerate(lines):
            values = _machine_in(line, head=number == 0)
            copy = None if values is None else _whole_copy(source, values)
            if values is None or copy is None:
                continue
            digest = digest_of(copy)
            beside = _folder(target) / _name_of(target, digest)
            made += [] if os.path.lexists(beside) else [beside]
            fields = kept_beside(target, copy)
            rest = {k: v for k, v in values.items() if k not in (COPY, FILE, DIGEST)}
            lines[number] = line_of(rest | fields, str(target))
        yield b"\n".join(lines)
    except BaseException:
        if not os.path.lexists(target):
            for each in made:
                with suppress(OSError):
                    os.unlink(each)
        raise


def _machine_in(line: bytes, *, head: bool) -> dict[str, Any] | None:
    """The values of a line that holds or names a machine: of the head, or of such an entry."""
    if b'"machine' not in line:
        return None
    try:
        values = json.loads(line)
    except (ValueError, RecursionError):
        return None
    if not isinstance(values, dict) or not (head or values.get("kind") == COPY):
        return None
    return values if COPY in values or FILE in values else None


def _whole_copy(source: Path | None, values: dict[str, Any]) -> dict[str, Any] | None:
    with suppress(TripmarginError):
        copy = copy_kept(source, values)
        if digest_of(copy) == copy.get("digest"):
            return copy
    return None


def _folder(path: Path) -> Path:
    """Where the case itself is; a link to it may be elsewhere."""
    try:
        return Path(os.path.realpath(path)).parent
    except ValueError:  # no name of a file at all; opening it says so
        return path.parent


def _name_of(path: Path, digest: str) -> str:
    stem = _ELSEWHERE.sub("-", path.stem)
    while len(os.fsencode(stem)) > _LONGEST:
        stem = stem[:-1]
    return f"{stem}{_ending(digest)}"


def _ending(digest: str) -> str:
    return f".machine-{digest[:_SHOWN]}.json"


def _named(case: str, fields: Mapping[str, Any]) -> tuple[str, str]:
    """Name and digest that a head or an entry gives, if it is the name of such a copy.

    Nothing else is ever read, and above all not written over, because a case names it.
    """
    name, digest = fields.get(FILE), fields.get(DIGEST)
    if name is None:
        raise MachineBesideError(
            case, say("this case holds no machine and names no file with one"), ""
        )
    if not isinstance(digest, str) or not re.fullmatch("[0-9a-f]{64}", digest):
        raise CaseFileError(
            case,
            say("not the digest of a machine's copy"),
            say('"{field}" with 64 hexadecimal digits', field=DIGEST),
            say("Somebody changed the case. Its entries are left as they are."),
            value=repr(digest),
        )
    if not isinstance(name, str) or _ELSEWHERE.search(name) or not name.endswith(_ending(digest)):
        raise CaseFileError(
            case,
            say('"{field}" does not name the copy of a machine beside the case', field=FILE),
            say('a file name without a folder that ends in "{ending}"', ending=_ending(digest)),
            say("Somebody changed the case. Its entries are left as they are."),
            value=repr(name),
        )
    return name, digest


def _read(path: Path, name: str) -> tuple[dict[str, Any] | None, str]:
    """What a copy's file holds, or why it cannot be read."""
    beside = _folder(path) / name
    try:
        if not stat.S_ISREG(os.stat(beside).st_mode):
            return None, say("what has this name beside the case is not a file")
        values = json.loads(beside.read_bytes().decode())
    except FileNotFoundError:
        return None, say("there is no such file beside the case")
    except OSError as error:
        return None, os_words(error)
    except (ValueError, RecursionError):
        return None, say("it is damaged: not JSON")
    if not isinstance(values, dict):
        return None, say("it is damaged: not a table in braces")
    return values, ""


def _write(path: Path, name: str, digest: str, content: bytes) -> None:
    """Put a copy into its file, whole and through to the disk; a whole one stays as it is."""
    with suppress(CaseFileError):
        copy_kept(path, {FILE: name, DIGEST: digest})
        return
    folder = _folder(path)
    part = folder / f"{name}.{secrets.token_hex(4)}.part"
    try:
        try:
            flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY
            _fill(os.open(part, flags, 0o666), content)
            os.replace(part, folder / name)
        except BaseException:
            with suppress(OSError, ValueError):
                os.unlink(part)
            raise
    except (OSError, ValueError) as error:
        why = os_words(error) if isinstance(error, OSError) else str(error)
        raise CaseFileError(
            str(path), say("no file can be made here for the copy of the machine: {why}", why=why),
            say("a folder that is there, can be written to and has room"),
            say("Nothing was written."), value=name,
        ) from error  # fmt: skip
    settle_folder(folder)


def _fill(number: int, content: bytes) -> None:
    left = memoryview(content)
    try:
        while left:
            left = left[os.write(number, left) :]
        os.fsync(number)
    finally:
        os.close(number)
