"""The rows of the list of machines: drawn when something changed, and not all at once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.standing.refreshing import refresh
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.web.machines import listing

FLEET = 60


@pytest.fixture
def fleet(sqlite_records: str) -> list[Machine]:
    first = add_demo_machine("dunlin", who_name="Ann")
    version = first.versions.get()
    for number in range(2, FLEET + 1):
        machine = Machine.objects.create(name=f"Dunlin {number}")
        MachineVersion.objects.create(
            machine=machine, number=1, file_name=version.file_name, text="", copy=version.copy,
            digest=version.digest,
        )  # fmt: skip
        refresh(machine)
    return list(Machine.objects.all())


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The machines whose rows were drawn."""
    names: list[str] = []
    before: Callable[..., str] = listing.render_to_string

    def counting(template: str, context: dict[str, Any]) -> str:
        names.append(context["one"].name)
        return before(template, context)

    monkeypatch.setattr(listing, "render_to_string", counting)
    return names


def test_a_minute_passes_for_a_few_rows_at_a_time(
    fleet: list[Machine], drawn: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    start = datetime(2026, 5, 4, 7, 59, 58, tzinfo=UTC)
    now = start
    monkeypatch.setattr(timezone, "now", lambda: now)
    listing.rows_of(us=False)
    at_most = 0
    drawn.clear()
    for second in range(1, 61):
        before = len(drawn)
        now = start + timedelta(seconds=second)
        listing.rows_of(us=False)
        at_most = max(at_most, len(drawn) - before)
    assert sorted(drawn) == sorted(machine.name for machine in fleet)  # each once in the minute
    assert at_most <= FLEET // 10


def test_an_entry_has_its_own_row_drawn_again_and_no_other(
    fleet: list[Machine], drawn: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    now = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: now)
    listing.rows_of(us=False)
    drawn.clear()
    now += timedelta(milliseconds=5)
    check = NewEntry(kind="daily check", values={"tripped": False})
    write_entry(fleet[3], check, who_name="Ann")
    rows = listing.rows_of(us=False)
    assert drawn == [fleet[3].name]
    assert len(rows) == FLEET
    assert sum("did not trip" in row["html"] for row in rows) == 1
