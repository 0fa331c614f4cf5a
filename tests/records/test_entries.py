"""Writing to the log, on SQLite and on PostgreSQL."""

from __future__ import annotations

import threading
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from tripmargin.records.keeping.entries import (
    EntryConflictError,
    NewEntry,
    read_entry_values,
    write_entry,
)
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.kinds import EntryError
from tripmargin.records.store.models import Entry, Machine
from tripmargin.records.store.models.append_only import AppendOnlyError

GOOD = {"tripped": True, "reset": True}


@pytest.fixture
def machine(records: str) -> Machine:
    return add_demo_machine("whimbrel", who_name="Ann")


def test_the_second_try_of_an_entry_is_the_first(machine: Machine) -> None:
    new = NewEntry(kind="daily check", values=GOOD, uid=uuid4(), at=timezone.now())
    first, second = (write_entry(machine, new, who_name="Ann") for _ in range(2))
    assert (first.new, second.new) == (True, False)
    assert first.entry.pk == second.entry.pk
    assert Entry.objects.count() == 1


def test_an_id_used_for_another_entry_is_refused(machine: Machine) -> None:
    uid = uuid4()
    write_entry(machine, NewEntry(kind="daily check", values=GOOD, uid=uid), who_name="Ann")
    other = NewEntry(kind="note", values={"text": "another"}, uid=uid)
    with pytest.raises(EntryConflictError, match="another entry already"):
        write_entry(machine, other, who_name="Ann")
    assert Entry.objects.count() == 1


def test_rows_are_only_ever_added(machine: Machine) -> None:
    entry = write_entry(machine, NewEntry(kind="daily check", values=GOOD)).entry
    with pytest.raises(AppendOnlyError):
        entry.save()
    with pytest.raises(AppendOnlyError):
        entry.delete()
    for table in ("records_entry", "records_machineversion", "records_auditline"):
        statements = [f"UPDATE {table} SET id = id", f"DELETE FROM {table}"]
        if connection.vendor == "postgresql":
            statements.append(f"TRUNCATE {table} CASCADE")
        for statement in statements:
            with (
                pytest.raises(DatabaseError, match="only ever added"),
                transaction.atomic(),
                connection.cursor() as cursor,
            ):
                cursor.execute(statement)


def test_a_correction_points_at_what_it_corrects_and_only_once(machine: Machine) -> None:
    wrong = write_entry(machine, NewEntry(kind="daily check", values={"tripped": False})).entry
    write_entry(machine, NewEntry(kind="daily check", values=GOOD, corrects=wrong), who_name="Bo")
    with pytest.raises(EntryError, match=r"corrected already.*Bo corrected it"):
        write_entry(machine, NewEntry(kind="daily check", values=GOOD, corrects=wrong))
    taken_back = write_entry(
        machine, NewEntry(kind="withdrawn", values={}, corrects=wrong.corrected_by.get())
    )
    assert taken_back.new


def test_an_entry_of_another_machine_is_not_corrected(machine: Machine) -> None:
    other = add_demo_machine("dunlin")
    wrong = write_entry(other, NewEntry(kind="daily check", values=GOOD)).entry
    with pytest.raises(EntryError, match="another machine"):
        write_entry(machine, NewEntry(kind="daily check", values=GOOD, corrects=wrong))


@pytest.mark.parametrize(
    ("new", "said"),
    [
        (NewEntry(kind="dayly check", values=GOOD), 'Did you mean "daily check"'),
        (NewEntry(kind="daily check", values={"reset": True}), "tripped: needed"),
        (NewEntry(kind="daily check", values={"tripped": "yes"}), "not such a value"),
        (NewEntry(kind="stop time", values={"stop_time_s": float("nan")}), "not such a value"),
        (NewEntry(kind="note", values={}), "needed"),
        (NewEntry(kind="withdrawn", values={}), "takes an entry back"),
        (NewEntry(kind="daily check", values=GOOD, note="x" * 2001), "too long"),
    ],
)
def test_what_cannot_be_taken_is_said_with_its_field(
    machine: Machine, new: NewEntry, said: str
) -> None:
    with pytest.raises(EntryError, match=said):
        write_entry(machine, new)
    assert not Entry.objects.exists()


def test_a_clock_set_wrong_is_said(machine: Machine) -> None:
    later = timezone.now() + timedelta(days=2)
    with pytest.raises(EntryError, match="clock of the phone"):
        write_entry(machine, NewEntry(kind="daily check", values=GOOD, at=later))


def test_words_become_values_with_the_machines_own_names(machine: Machine) -> None:
    values = read_entry_values(
        machine, "adjustment", {"gap_before_m/lower": "5.5", "gap_after_m/upper": "3.5 mm"},
        units={"length": "mm"},
    )  # fmt: skip
    assert values == {"gap_before_m/lower": 0.0055, "gap_after_m/upper": 0.0035}
    with pytest.raises(EntryError, match=r"lower, upper"):
        read_entry_values(machine, "adjustment", {"gap_after_m/middle": "3 mm"})


def test_two_writers_at_a_time_lose_nothing(machine: Machine) -> None:
    troubles: list[BaseException] = []
    shared = [uuid4() for _ in range(20)]

    def write() -> None:
        try:
            for uid in shared:  # the same ones from both: kept once
                write_entry(
                    machine, NewEntry(kind="note", values={"text": "shared"}, uid=uid, at=when)
                )
            for _ in range(20):
                write_entry(machine, NewEntry(kind="note", values={"text": "own"}))
        except BaseException as error:
            troubles.append(error)
        finally:
            connection.close()

    when = timezone.now()
    threads = [threading.Thread(target=write) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not troubles
    assert Entry.objects.filter(values__text="shared").count() == 20
    assert Entry.objects.filter(values__text="own").count() == 80
