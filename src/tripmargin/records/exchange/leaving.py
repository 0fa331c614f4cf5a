"""The entries that leave the records, in the order in which they came in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, NamedTuple

from tripmargin.records.store.models import Entry, Machine

AT_A_TIME = 2000


class Leaving(NamedTuple):
    """An entry as it leaves."""

    pk: int
    uid: Any
    machine: str
    kind: str
    at: Any
    received_at: Any
    clock_ahead_s: float | None
    who: str
    values: dict[str, Any]
    note: str
    corrects: Any
    version: int | None
    source: str


_COLUMNS = (
    "pk", "uid", "machine__name", "kind", "at", "received_at", "clock_ahead_s", "who_name",
    "values", "note", "corrects__uid", "version__number", "source",
)  # fmt: skip


def entries_leaving(machines: Sequence[Machine] | None) -> Iterator[Leaving]:
    """The entries of these machines, or of all; what an entry corrects comes before it."""
    entries = Entry.objects.order_by("id")
    if machines is not None:
        entries = entries.filter(machine__in=machines)
    for row in entries.values_list(*_COLUMNS).iterator(chunk_size=AT_A_TIME):
        yield Leaving(*row)


def keys_occurring(machines: Sequence[Machine] | None) -> set[str]:
    """The keys of all their values."""
    entries = Entry.objects.order_by()
    if machines is not None:
        entries = entries.filter(machine__in=machines)
    found: set[str] = set()
    for values in entries.values_list("values", flat=True).iterator(chunk_size=AT_A_TIME):
        found.update(values)
    return found


def moment(at: Any) -> str:
    """A time as it is written: UTC, ISO 8601."""
    return str(at.isoformat()).replace("+00:00", "Z")
