"""Machines and logs for tests of standing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.keeping.machines import add_machine, read_machine_file
from tripmargin.records.store.models import Entry, Machine

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
GOOD = {"tripped": True, "reset": True, "lamps": True}
NO_TRIP = {"tripped": False}
BARE = '[machine]\nname = "{name}"\n'
WITH_PAWLS = (
    BARE + '[limits]\nclearance = "2.5 mm .. 5 mm"\nstop_time = "60 ms"\n'
    '[feed]\nsensor_to_shear_bar = "330 mm"\n'
    '[chain]\n[[chain.pawls]]\nname = "lower"\nclearance = "3.5 mm"\n'
    '[[chain.pawls]]\nname = "upper"\nclearance = "3.5 mm"\n'
)


def ago(**how: float) -> datetime:
    return NOW - timedelta(**how)


def new_machine(text: str = WITH_PAWLS, name: str = "") -> Machine:
    """A machine of a small file, of a name of its own unless one is given."""
    full = text.format(name=name or f"Knot {uuid4().hex[:8]}")
    return add_machine(*read_machine_file(full.encode(), "knot.toml"), who_name="Ann")


def write(machine: Machine, kind: str, values: dict[str, Any], at: datetime, **more: Any) -> Entry:
    new = NewEntry(kind=kind, values=values, at=at, **more)
    return write_entry(machine, new, who_name="Ann").entry


def facts(machine: Machine) -> dict[str, Any]:
    found: dict[str, Any] = (
        Machine.objects.select_related("standing").get(pk=machine.pk).standing.facts
    )
    return found
