"""Writers of one process stand in line; machines are read once and shared."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from django.db import OperationalError, connection, connections

from tests.databases import using_database
from tripmargin.records.keeping.entries import NewEntry, names_of, write_entry
from tripmargin.records.keeping.in_turn import writing_in_turn
from tripmargin.records.keeping.machines import add_demo_machine, machine_of
from tripmargin.records.standing import asked
from tripmargin.records.standing.log_rows import log_of
from tripmargin.records.store.models import Entry, LimitedAct, Machine, MachineVersion


def a_check(**values: Any) -> NewEntry:
    return NewEntry(kind="daily check", values={"tripped": True, "reset": True, **values})


@pytest.fixture
def no_patience(sqlite_records: str) -> Any:
    """SQLite refuses at once where another one writes, instead of trying again for 30 s."""
    settings = connections.databases["default"]
    before = settings["OPTIONS"]["timeout"]
    connections.close_all()
    settings["OPTIONS"]["timeout"] = 0
    yield
    connections.close_all()
    settings["OPTIONS"]["timeout"] = before


def meanwhile(write: Any) -> list[BaseException]:
    """Write in a second thread while this one is in the middle of a write of its own."""
    inside, failed = threading.Event(), []

    def second() -> None:
        inside.wait(20)
        started.set()
        try:
            write()
        except BaseException as error:
            failed.append(error)
        finally:
            connections.close_all()

    started = threading.Event()
    thread = threading.Thread(target=second)
    thread.start()
    with writing_in_turn():
        LimitedAct.objects.create(what="first", by="x")
        inside.set()
        assert started.wait(20)
        thread.join(0.2)  # time to try, and to be refused where there is no line
    thread.join(20)
    assert not thread.is_alive()
    return failed


def test_a_second_writer_waits_in_line_and_asks_the_database_only_then(no_patience: None) -> None:
    machine = add_demo_machine("dunlin", who_name="Ann")
    assert meanwhile(lambda: write_entry(machine, a_check(), who_name="Ben")) == []
    assert Entry.objects.count() == 1

    def past_the_line() -> None:
        LimitedAct.objects.create(what="second", by="x")

    # Whoever does not stand in line is refused: the line, and not luck, made the first one pass.
    assert [type(error) for error in meanwhile(past_the_line)] == [OperationalError]


def test_within_a_transaction_nobody_waits(no_patience: None) -> None:
    with writing_in_turn(), writing_in_turn():
        LimitedAct.objects.create(what="inner", by="x")
    assert LimitedAct.objects.count() == 1


def test_a_line_that_broke_lets_the_next_one_in(records: str) -> None:
    def broken() -> None:
        with writing_in_turn():
            LimitedAct.objects.create(what="lost", by="x")
            raise ValueError("broken")

    with pytest.raises(ValueError, match="broken"):
        broken()
    with writing_in_turn():
        LimitedAct.objects.create(what="kept", by="x")
    assert [act.what for act in LimitedAct.objects.all()] == ["kept"]
    connection.close()


@pytest.fixture
def readings(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The machines that were read from their copies, by the copy's name."""
    read: list[str] = []
    before = asked.machine_from_copy

    def counting(copy: Any) -> Any:
        read.append(copy["name"])
        return before(copy)

    monkeypatch.setattr(asked, "machine_from_copy", counting)
    asked._loaded.cache_clear()
    asked._asked.cache_clear()
    return read


def test_a_machine_is_read_once_for_its_log_its_page_and_where_it_stands(
    sqlite_records: str, readings: list[str]
) -> None:
    machine = add_demo_machine("dunlin", who_name="Ann")
    pawls, steps = names_of(machine)
    write_entry(machine, a_check(), who_name="Ann")
    loaded = machine_of(machine.versions.get())
    assert pawls == tuple(pawl.name for pawl in loaded.chain.pawls)
    assert steps == tuple(step.name for step in loaded.circuit.steps)
    assert readings == ["Dunlin"]


def test_two_who_ask_for_the_same_machine_at_once_have_it_read_once(
    sqlite_records: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    version = add_demo_machine("dunlin", who_name="Ann").versions.get()
    asked._loaded.cache_clear()
    before, begun, go_on = asked.machine_from_copy, [], threading.Event()

    def slow(copy: Any) -> Any:
        begun.append(copy["name"])
        go_on.wait(20)
        return before(copy)

    monkeypatch.setattr(asked, "machine_from_copy", slow)
    found: list[Any] = []

    def ask() -> None:
        found.append(machine_of(version))
        connections.close_all()

    threads = [threading.Thread(target=ask) for _ in range(3)]
    for each in threads:
        each.start()
    threads[0].join(0.3)  # time for all of them to begin
    go_on.set()
    for each in threads:
        each.join(20)
    assert begun == ["Dunlin"]
    assert found[0] is found[1] is found[2]


def test_a_fleet_is_remembered_whole(sqlite_records: str, readings: list[str]) -> None:
    """With room for 64, going round a hundred machines found none of them again."""
    first = add_demo_machine("dunlin", who_name="Ann").versions.get()
    fleet = [first]
    for number in range(2, 201):
        machine = Machine.objects.create(name=f"Dunlin {number}")
        fleet.append(
            MachineVersion.objects.create(
                machine=machine, number=1, file_name=first.file_name, text="", copy=first.copy,
                digest=first.digest,
            )
        )  # fmt: skip
    asked._loaded.cache_clear()
    readings.clear()
    for version in (*fleet, *fleet):
        machine_of(version)
    assert len(readings) == len(fleet)


def test_another_database_has_other_machines(
    sqlite_records: str, tmp_path: Any, readings: list[str]
) -> None:
    from tripmargin.records.opening import bring_up_to_date

    here = machine_of(add_demo_machine("dunlin", who_name="Ann").versions.get())
    with using_database(f"sqlite:///{tmp_path}/other.sqlite3"):
        bring_up_to_date()
        there = machine_of(add_demo_machine("curlew", who_name="Ann").versions.get())
    assert (here.name, there.name) == ("Dunlin", "Curlew")


def test_a_log_is_read_past_the_models_as_the_models_have_it(records: str) -> None:
    machine = add_demo_machine("dunlin", who_name="Ann")
    write_entry(machine, a_check(hours_s=3600.5), who_name="Ann")
    write_entry(machine, a_check(), who_name="Ann")
    taken_back = write_entry(machine, a_check(hours_s=9e7), who_name="Ann").entry
    write_entry(machine, NewEntry(kind="withdrawn", values={}, corrects=taken_back), who_name="Ann")
    entries = Entry.objects.filter(machine=machine).order_by("at", "pk")[:2]
    read = log_of(machine, entries[1].at).rows
    assert [(row.kind, row.time, row.values) for row in read] == [
        (one.kind, one.at.timestamp(), one.values) for one in entries
    ]
