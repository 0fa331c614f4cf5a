"""What a fault-finding case is kept in: lines are only ever added, so nothing entered is lost."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

from tripmargin.faultfinding.cases.case_lines import (
    FORMAT,
    KIND,
    UNDO,
    CaseFileError,
    CaseHeadError,
    Entry,
    Unread,
    in_force,
    line_of,
    read_entry,
    read_head,
    standing,
)
from tripmargin.faultfinding.cases.case_store import (
    InMemory,
    OnDisk,
    Store,
    create,
    refuse_taken,
)
from tripmargin.faultfinding.cases.machine_beside import moved_beside
from tripmargin.ground.languages import say


class CaseFile:
    """A case's head and entries, one JSON object a line, in UTF-8; an undo is an entry too.

    Make one by `begin`, `open` or `in_memory`, or from any `Store` that holds one. Whatever cannot
    be read stays where it is, is told of by `torn` and `unread`, and hides nothing else. Several
    programs may add to one file: each addition is made under the file's lock where the system has
    one (fcntl, msvcrt), else by a single write at its end, and is numbered by what is there then.

    Attributes
    ----------
    head : dict
        The first line: "kind", "format", "begun", and what the caller put in; on the disk, the
        name of the machine's file in the place of the machine.
    path : Path or None
        None in memory.

    Examples
    --------
    >>> case = CaseFile.in_memory({"complaint": "will not reset"})
    >>> case.append("finding", check="lamp at the seat", result="dark").n
    1
    >>> case.undo().to_dict()["of"], case.standing, len(case.entries)
    (1, (), 2)
    >>> case.redo().kind, [entry["result"] for entry in case.standing]
    ('undo', ['dark'])
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self.path = store.path
        self._bytes = bytearray()
        self._lines: list[Entry | Unread] = []
        self._tail: Entry | Unread | None = None
        self._tail_from, self._whole = 0, 0
        with store.at_hand(writing=False) as file:
            self._take(file.read())
        self.head = read_head(bytes(self._bytes).partition(b"\n")[0], store.name, self.entries)

    @classmethod
    def begin(cls, path: str | os.PathLike[str], head: Mapping[str, Any]) -> CaseFile:
        """A new case in a new file, with this head.

        The head's "machine", as `copy_of` makes it, goes into a file beside the case first. The
        head then has its name and its digest instead, as "machine_file" and "machine_digest".

        Raises
        ------
        CaseFileError
            If the file is there already, or cannot be written; then nothing new is there.
        """
        return cls.in_memory(head, name=os.fspath(path)).save_as(path)

    @classmethod
    def open(cls, path: str | os.PathLike[str]) -> CaseFile:
        """A case from its file, which may have been cut anywhere below its head.

        Raises
        ------
        CaseHeadError
            If the first line is not the whole head of a case.
        CaseFileError
            If the file cannot be read.
        """
        return cls(OnDisk(Path(path)))

    @classmethod
    def in_memory(cls, head: Mapping[str, Any], *, name: str = "case") -> CaseFile:
        """A case without a file; `save_as` gives it one."""
        return cls(InMemory(name, first_line(head, name)))

    def save_as(self, path: str | os.PathLike[str]) -> CaseFile:
        """The same case in a new file, byte by byte but for the copies of its machine.

        Each goes into a file beside the new one; the line that held it, or named another, names
        that. Where a copy cannot be read, its line stays as it is.

        Raises
        ------
        CaseFileError
            As in `begin`.
        """
        target = Path(path)
        refuse_taken(target)
        with moved_beside(target, bytes(self._bytes), self.path) as content:
            create(target, content)
        return CaseFile.open(path)

    @property
    def entries(self) -> tuple[Entry, ...]:
        """All entries, those undone and the undoing among them, in the file's order."""
        return tuple(line for line in self._all_lines() if isinstance(line, Entry))

    @property
    def standing(self) -> tuple[Entry, ...]:
        """The entries that are not undone, in order; undoing is not among them."""
        return standing(self.entries)

    @property
    def unread(self) -> tuple[Unread, ...]:
        """The lines that cannot be read, torn or damaged, each with its number in the file."""
        return tuple(line for line in self._all_lines() if isinstance(line, Unread))

    @property
    def torn(self) -> str | None:
        """What is there of lines whose end was never written, or None where there is none."""
        return "\n".join(line.text for line in self.unread if line.torn) or None

    def append(self, kind: str, **fields: Any) -> Entry:
        """Add an entry; it is on the disk when this returns.

        Raises
        ------
        CaseFileError
            If a field cannot be written as JSON, is named "n" or "at", an undo's "of" is no entry
            before it, or the file cannot be written.
        """
        made = self._add(lambda: self._checked(kind, fields))
        assert made is not None
        return made

    def undo(self) -> Entry | None:
        """Undo the last standing entry by a new one; None where nothing stands."""

        def last() -> tuple[str, dict[str, Any]] | None:
            left = self.standing
            return (UNDO, {"of": left[-1].n}) if left else None

        return self._add(last)

    def redo(self) -> Entry | None:
        """Undo the last undo, if nothing but undoing was entered since; else None."""

        def last() -> tuple[str, dict[str, Any]] | None:
            undone = self.last_undo
            return None if undone is None else (UNDO, {"of": undone.n})

        return self._add(last)

    @property
    def last_undo(self) -> Entry | None:
        """The undo that `redo` would take back."""
        kinds = {entry.n: entry.kind for entry in self.entries}
        for entry in reversed(in_force(self.entries)):
            if entry.kind != UNDO:
                return None
            if kinds.get(entry.get("of"), UNDO) != UNDO:
                return entry
        return None

    def _checked(self, kind: str, fields: dict[str, Any]) -> tuple[str, dict[str, Any]]:
        if not isinstance(kind, str) or not kind or "n" in fields or "at" in fields:
            raise CaseFileError(
                self._store.name,
                say("an entry's number and time are not the caller's to give, its kind is"),
                say('a kind such as "finding", and fields of other names than "n" and "at"'),
                say("Nothing was written."),
                value=f"{kind!r}, {', '.join(fields)}",
            )
        numbers = [entry.n for entry in self.entries]
        if kind == UNDO and fields.get("of") not in numbers:
            raise CaseFileError(
                self._store.name,
                say("an undo of an entry that is not there"),
                say('"of" with one of the numbers {numbers}', numbers=_in_a_row(numbers)),
                say("Nothing was written."),
                value=repr(fields.get("of")),
            )
        return kind, fields

    def _add(self, choose: Callable[[], tuple[str, dict[str, Any]] | None]) -> Entry | None:
        """Read what others added, choose what to add to that, and write it, all under the lock."""
        with self._store.at_hand(writing=True) as file:
            self._catch_up(file.read())
            chosen = choose()
            if chosen is None:
                return None
            kind, fields = chosen
            values = {"n": self._next_number(), "at": _now(), "kind": kind, **fields}
            line = line_of(values, self._store.name)
            # What is torn stays on a line of its own.
            start = b"" if self._bytes.endswith(b"\n") else b"\n"
            file.write(start + line + b"\n")
            self._catch_up(file.read())  # where there are no locks, others may have come between
            added = read_entry(line, self._whole)
            assert isinstance(added, Entry)
            return added

    def _next_number(self) -> int:
        """One past the largest; a line that cannot be read counts as one, whatever it was."""
        lines = self._all_lines()
        return max([len(lines), *(line.n for line in lines if isinstance(line, Entry))]) + 1

    def _all_lines(self) -> list[Entry | Unread]:
        return self._lines if self._tail is None else [*self._lines, self._tail]

    def _catch_up(self, content: bytes) -> None:
        if not content.startswith(self._bytes):
            raise CaseFileError(
                self._store.name,
                say("the file does not begin any more with what was read from it"),
                say("a file that is only added to"),
                say(
                    "Another program put another text in its place. Nothing was written;"
                    " `save_as` writes all that was read and entered here to a new file."
                ),
            )
        self._take(content[len(self._bytes) :])

    def _take(self, more: bytes) -> None:
        """Read what came behind the bytes known so far; the last line may not be whole yet."""
        self._bytes += more
        *lines, tail = bytes(self._bytes[self._tail_from :]).split(b"\n")
        for line in lines:
            self._tail_from += len(line) + 1
            self._whole += 1
            if self._whole > 1 and line.strip():
                self._lines.append(read_entry(line, self._whole))
        self._tail = None
        if self._whole > 0 and tail.strip():
            last = read_entry(tail, self._whole + 1)
            self._tail = last if isinstance(last, Entry) else replace(last, torn=True)


def first_line(head: Mapping[str, Any], name: str) -> bytes:
    """The line that a new case begins with, for whatever store holds it.

    Raises
    ------
    CaseFileError
        If the head has a kind or a format of its own, or cannot be written as JSON.
    """
    made = {"kind": KIND, "format": FORMAT, "begun": _now(), **head}
    if (made["kind"], made["format"]) != (KIND, FORMAT):
        raise CaseFileError(
            name,
            say("the head has a kind or a format of its own"),
            say('"kind": "{kind}" and "format": {format}, or neither', kind=KIND, format=FORMAT),
            value=f"{made['kind']!r}, {made['format']!r}",
        )
    return line_of(made, name) + b"\n"


def _in_a_row(numbers: Sequence[int]) -> str:
    return ", ".join(map(str, numbers)) or say("(none yet)")


def _now() -> str:
    return datetime.now().astimezone().isoformat(timespec="seconds")


__all__ = ["CaseFile", "CaseFileError", "CaseHeadError", "Entry", "Unread", "first_line"]
