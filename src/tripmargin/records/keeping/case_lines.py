"""The lines of a fault-finding case in the database, for whoever reads and adds to them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID

from django.db import transaction

from tripmargin.faultfinding.cases.case_file import CaseFile, Entry
from tripmargin.faultfinding.cases.case_lines import read_entry
from tripmargin.records.store.models import CaseLine, FaultCase, Person


@dataclass(frozen=True, slots=True)
class By:
    """Who adds to a case; `uid` is made by whoever sends it, so that a second try is known."""

    who: Person | None = None
    name: str = ""
    uid: UUID | None = None

    def __str__(self) -> str:
        return str(self.who) if self.who else self.name


@dataclass(frozen=True, slots=True)
class Line:
    """One addition to a case: the entry, who made it, when it came in."""

    entry: Entry
    who: str
    at: datetime


class InDatabase:
    """A `Store` of a case's bytes: one row an addition, each made under the lock of the case's row.

    Several processes that add at once are numbered one after the other: on PostgreSQL by the row's
    lock, on SQLite by that of the database, which a transaction takes at its start.
    """

    path: Path | None = None

    def __init__(self, case: FaultCase, by: By | None = None) -> None:
        self.name = f"case {case.uid}"
        self._case, self._by = case, by or By()
        self._uid = self._by.uid

    @contextmanager
    def at_hand(self, *, writing: bool) -> Iterator[InDatabase]:
        """Themselves; for writing, in a transaction that nobody else writes this case in."""
        if not writing:
            yield self
            return
        with transaction.atomic():
            locked(self._case)
            yield self

    def read(self) -> bytes:
        """All of them."""
        rows = self._case.lines.order_by("pk").values_list("content", flat=True)
        return b"".join(bytes(row) for row in rows)

    def write(self, more: bytes) -> None:
        """Add a row. The first one has the sender's id: what belongs to it is written with it."""
        CaseLine.objects.create(
            case=self._case, uid=self._uid, content=more, who=self._by.who, who_name=str(self._by)
        )
        self._uid = None


def locked(case: FaultCase) -> FaultCase:
    """The case as it is now, held against other writers until the transaction ends."""
    found: FaultCase = FaultCase.objects.select_for_update().get(pk=case.pk)
    return found


def case_file(case: FaultCase, by: By | None = None) -> CaseFile:
    """The case's file, as the fault-finding room reads and writes it."""
    return CaseFile(InDatabase(case, by))


def lines_of(case: FaultCase, *, behind: int = 0) -> tuple[Line, ...]:
    """Entries in order, each with its writer.

    `behind`: only those behind so many rows, the head among them.
    """
    rows = case.lines.order_by("pk").values_list("content", "who_name", "at")[behind:]
    found = []
    for number, (content, who, at) in enumerate(rows, behind + 1):
        if number > 1:
            entry = read_entry(bytes(content).strip(), number)
            if isinstance(entry, Entry):
                found.append(Line(entry, who, at))
    return tuple(found)


def came_already(case: FaultCase, uid: UUID | None) -> Entry | None:
    """The entry that this sender's id brought; None where it is new."""
    row = None if uid is None else case.lines.filter(uid=uid).first()
    entry = None if row is None else read_entry(bytes(row.content).strip(), 0)
    return entry if isinstance(entry, Entry) else None
