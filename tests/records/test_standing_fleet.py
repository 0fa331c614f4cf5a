"""All machines at a glance and in the order of visits."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests.records.standing_help import GOOD, NO_TRIP, NOW, ago, new_machine, write
from tripmargin.records.standing.at_a_glance import machines_at_a_glance
from tripmargin.records.standing.fleet import fleet
from tripmargin.records.standing.refreshing import refresh
from tripmargin.records.store.models import Entry, Machine, Standing, VersionProof


def look_after(machine: Machine, verdict: str | None = "protected") -> Machine:
    gaps = {f"gap_{w}_m/{p}": 0.0035 for w in ("before", "after") for p in ("lower", "upper")}
    write(machine, "adjustment", gaps, ago(days=2))
    write(machine, "stop time", {"stop_time_s": 0.052}, ago(days=20))
    write(machine, "daily check", GOOD, ago(hours=5))
    if verdict:
        VersionProof.objects.create(
            version=machine.versions.get(), verdict=verdict, summary={}, program="test"
        )
    return machine


@pytest.mark.parametrize("ask", [machines_at_a_glance, fleet])
def test_the_number_of_queries_does_not_grow_with_the_machines(records: str, ask: object) -> None:
    asked = []
    for many in (3, 57):
        for _ in range(many):
            write(new_machine(), "daily check", GOOD, ago(hours=5))
        with CaptureQueriesContext(connection) as found:
            answer = ask(NOW)  # type: ignore[operator]
        asked.append(len(found))
    assert len(answer) == 60
    assert asked == [1, 1]


def test_at_a_glance_names_state_reasons_and_when_it_was_proved(records: str) -> None:
    look_after(new_machine(name="Knot"))
    new_machine(name="Ruff")
    Machine.objects.create(name="Away", put_away_at=timezone.now())
    knot, ruff = machines_at_a_glance(NOW)
    assert (knot.name, knot.state, knot.look, knot.passed_at) == (
        "Knot", "protected", "protected", ago(hours=5),
    )  # fmt: skip
    assert knot.proved_at is not None
    assert (ruff.state, ruff.look, ruff.proved_at, ruff.passed_at) == (
        "not known",
        "unknown",
        None,
        None,
    )
    assert ruff.urgency_words == "Before the next work"


def test_a_machine_without_facts_is_still_told_of(records: str) -> None:
    machine = look_after(new_machine())
    Standing.objects.update(facts={})
    assert machines_at_a_glance(NOW)[0].state == "protected"
    Standing.objects.all().delete()
    assert machines_at_a_glance(NOW)[0].passed_at == ago(hours=5)
    Entry.objects.create(machine=Machine.objects.create(name="No file"), kind="hours", at=NOW)
    none = next(one for one in machines_at_a_glance(NOW) if one.name == "No file")
    assert (none.state, none.machine.pk == machine.pk) == ("not known", False)


def test_whom_to_visit_first(records: str) -> None:
    look_after(new_machine(name="Sound"))
    look_after(new_machine(name="Doubtful"), "doubtful")
    failed = look_after(new_machine(name="Failed"))
    write(failed, "daily check", NO_TRIP, ago(hours=1))
    new_machine(name="Never checked")
    visits = fleet(NOW)
    assert [(v.place, v.glance.name) for v in visits] == [
        (1, "Failed"), (2, "Never checked"), (3, "Doubtful"), (4, "Sound"),
    ]  # fmt: skip
    assert visits[0].reason.startswith("The daily check of 2026-06-01 failed")
    assert visits[2].reason == "By calculation its protection is doubtful as set."
    assert visits[3].urgency_words == "Sound"
    assert "The check passed 5 h ago" in visits[3].reason


def test_a_rise_in_false_trips_brings_a_machine_forward(records: str) -> None:
    look_after(new_machine(name="Quiet"))
    noisy = look_after(new_machine(name="Noisy"))
    often = [*range(1, 25, 2), 100, 200, 300]
    Entry.objects.bulk_create(
        Entry(machine=noisy, kind="false trip", at=NOW - timedelta(days=d), values={})
        for d in often
    )
    refresh(noisy)
    first, second = fleet(NOW)
    assert (first.glance.name, first.signs[0].kind) == ("Noisy", "rate")
    assert "12 false trips" in first.reason
    assert "hours of the calendar" in first.reason
    assert second.signs == ()


def test_of_machines_alike_the_one_that_has_waited_longest_comes_first(records: str) -> None:
    for name, minutes in (("Young", 30), ("Old", 90)):
        machine = look_after(new_machine(name=name))
        write(machine, "daily check", NO_TRIP, ago(minutes=minutes))
    assert [visit.glance.name for visit in fleet(NOW)] == ["Old", "Young"]
