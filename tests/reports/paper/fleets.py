"""Records with a season in them, all invented: two machines that met metal, one with nothing."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

FIRST_DAY = datetime(2026, 5, 4, 6, 0, tzinfo=UTC)
DAYS = 120
TOOTH = "#panic(1) <b>Ruff</b> *1*"
"""What the third machine is called."""


def entry(machine: Any, kind: str, day: float, values: dict[str, Any]) -> Any:
    """An entry so many days after the first, not saved yet."""
    from tripmargin.records.store.models import Entry

    at = FIRST_DAY + timedelta(days=day)
    return Entry(
        uid=uuid4(), machine=machine, kind=kind, at=at, received_at=at, who_name="Ida",
        source="import", values=values,
    )  # fmt: skip


def season_entries(machine: Any) -> list[Any]:
    """A check a day, of which one fails; three trips, a false one, gaps and stop times."""
    made = [
        entry(machine, "daily check", day,
              {"tripped": day != 77, "reset": True, "hours_s": 3600.0 * (100 + 5 * day)})
        for day in range(DAYS)
    ]  # fmt: skip
    for day, found in ((10, "wire"), (40, "tool"), (80, "wire")):
        values = {"found": found, "size_m": 0.012, "left_m": 0.12, "cut_length_m": 0.012}
        made.append(entry(machine, "trip", day + 0.2, values))
    made.append(entry(machine, "false trip", 55.2, {"searched": "thoroughly"}))
    made.append(entry(machine, "missed metal", 77.3, {"found": "bolt or nut", "why": "not seen"}))
    made.append(entry(machine, "part replaced", 78.1, {"part": "plunger spring"}))
    for day in range(0, DAYS, 14):
        gap = {"gap_before_m/lower": 0.0034 + 2e-6 * day}
        made.append(entry(machine, "adjustment", day + 0.1, gap))
    for day in (0, 30, 60, 90, 110):
        made.append(entry(machine, "stop time", day + 0.15, {"stop_time_s": 0.048 + 2e-5 * day}))
    return made


def made_fleet(person: Any) -> list[Any]:
    """Whimbrel and Sanderling with a season each, and one without any entry."""
    from tripmargin.records.keeping.machines import add_demo_machine, add_machine, read_machine_file
    from tripmargin.records.standing.refreshing import refresh
    from tripmargin.records.store.models import Entry, Machine

    for name in ("whimbrel", "sanderling"):
        add_demo_machine(name, who=person)
    text = f"format = 1\n[machine]\nname = '{TOOTH}'\n"
    add_machine(*read_machine_file(text.encode(), "ruff.toml"), who=person)
    machines = list(Machine.objects.order_by("pk"))
    for machine in machines[:2]:
        Entry.objects.bulk_create(season_entries(machine))
    for machine in machines:
        refresh(machine)
    return machines
