"""Classes in the records, on SQLite and on PostgreSQL."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import DatabaseError, connection, transaction
from django.utils import timezone

from tripmargin.records.keeping.classes import (
    LASTS,
    LETTERS,
    MOST_DRILLS,
    ClassError,
    NewDrill,
    called,
    class_of_code,
    close_class,
    is_open,
    join_class,
    open_class,
    show_answer,
    show_as,
)
from tripmargin.records.keeping.practices import On, Player, begin_practice, on_of, turn_at
from tripmargin.records.standing.practised import practised_in_class
from tripmargin.records.store.models import AuditLine, ClassLearner, Practice, PracticeClass

People = Callable[..., Any]
DRILLS = (NewDrill("fault", On(demo="dunlin"), 7), NewDrill("setting", On(demo="curlew"), 8))


def opened(trainer: Any, name: str = "Autumn") -> PracticeClass:
    return open_class(name, DRILLS, by=trainer, uid=uuid4())


def test_a_class_has_its_drills_and_a_code_that_is_read_from_a_wall(
    records: str, person: People
) -> None:
    trainer, uid = person("Ann", role=3), uuid4()
    room = open_class(" Autumn  days ", DRILLS, by=trainer, uid=uid)
    assert open_class("Autumn days", DRILLS, by=trainer, uid=uid) == room
    with pytest.raises(ClassError, match="used already"):
        open_class("Autumn", DRILLS, by=person("Bo", role=3), uid=uid)
    assert room.name == "Autumn days"
    assert [(d.number, d.kind, d.seed, d.machine_name) for d in room.drills.order_by("number")] == [
        (1, "fault", 7, "Dunlin"), (2, "setting", 8, "Curlew")
    ]  # fmt: skip
    assert set(room.code) <= set(LETTERS)
    assert not set("AEIOU01L8") & set(LETTERS)  # no word comes of it, and nothing looks like else
    typed = f" {room.code[:3].lower()}-{room.code[3:].lower()} "
    assert class_of_code(typed) == room
    assert class_of_code("") is None
    assert AuditLine.objects.filter(what="class opened", about="Autumn days").count() == 1


def test_a_class_is_refused_that_holds_too_much_or_nothing(
    sqlite_records: str, person: People
) -> None:
    trainer = person("Ann", role=3)
    one = DRILLS[0]
    many = tuple(NewDrill("fault", On(demo="dunlin"), k) for k in range(MOST_DRILLS + 1))
    for name, drills in (
        ("", DRILLS), ("x" * 61, DRILLS), ("A", ()), ("A", many),
        ("A", (NewDrill("fault", one.on, -1),)), ("A", (NewDrill("fault", one.on, 10**9 + 1),)),
    ):  # fmt: skip
        with pytest.raises(ClassError):
            open_class(name, drills, by=trainer, uid=uuid4())
    with pytest.raises(ClassError):
        open_class("A", DRILLS, by=trainer, uid=uuid4(), shows="faces")
    assert not PracticeClass.objects.exists()


def test_a_class_is_ended_not_deleted(records: str, person: People) -> None:
    trainer = person("Ann", role=3)
    room, other = opened(trainer), opened(trainer)
    bo = join_class(room, "Bo", uid=uuid4())
    for _ in range(2):
        close_class(room, by=trainer)
    room.refresh_from_db()
    assert not is_open(room)
    assert class_of_code(room.code) is None
    with pytest.raises(ClassError, match="has ended"):
        join_class(room, "Cy", uid=uuid4())
    assert AuditLine.objects.filter(what="class ended").count() == 1
    PracticeClass.objects.filter(pk=other.pk).update(ends_at=timezone.now() - timedelta(seconds=1))
    assert class_of_code(other.code) is None
    assert timedelta(hours=1) < LASTS <= timedelta(days=1)
    assert list(room.learners.all()) == [bo]


def test_many_who_join_at_once_have_each_a_number_and_a_name(records: str, person: People) -> None:
    room = opened(person("Ann", role=3))
    wrong: list[str] = []

    def join(name: str) -> None:
        try:
            join_class(room, name, uid=uuid4())
        except ClassError as error:
            wrong.append(str(error))
        finally:
            connection.close()

    names = ["Bo", "bo", "Cy", "CY", "Di", "Ed"]
    threads = [threading.Thread(target=join, args=[name]) for name in names]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    there = ClassLearner.objects.order_by("number")
    assert [each.number for each in there] == [1, 2, 3, 4]
    assert {each.name_key for each in there} == {"bo", "cy", "di", "ed"}
    assert len(wrong) == 2


def test_a_learner_plays_each_drill_once_and_is_never_changed(records: str, person: People) -> None:
    room = opened(person("Ann", role=3))
    bo, drill = join_class(room, "Bo Marsh", uid=uuid4()), room.drills.get(number=1)
    by = Player(learner=bo, class_drill=drill)
    first = begin_practice(drill.kind, drill.seed, on_of(drill), by=by, uid=uuid4())
    assert begin_practice(drill.kind, drill.seed, on_of(drill), by=by, uid=uuid4()) == first
    assert Practice.objects.count() == 1
    with turn_at(first, uuid4()) as turn:
        turn.add("hand over", "", "handed over")
        turn.end({"points": 10.0}, points=10.0, unsafe=0)
    (kept,) = practised_in_class(bo)
    assert (kept.kept, kept.class_name, kept.kind) == ({"points": 10.0}, "Autumn", "fault")
    with (
        pytest.raises(DatabaseError, match="only ever added"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute("UPDATE records_classlearner SET name = 'Cy'")


def test_the_first_showing_of_an_answer_counts(sqlite_records: str, person: People) -> None:
    room = opened(person("Ann", role=3))
    drill = room.drills.get(number=1)
    show_answer(drill)
    drill.refresh_from_db()
    first = drill.answer_shown_at
    show_answer(drill)
    drill.refresh_from_db()
    assert drill.answer_shown_at == first is not None


def test_the_board_calls_people_by_what_was_chosen(sqlite_records: str, person: People) -> None:
    room = opened(person("Ann", role=3))
    bo = join_class(room, "Bo Marsh", uid=uuid4())
    assert [called(bo, each) for each in ("names", "first names", "numbers")] == [
        "Bo Marsh", "Bo", "Number 1"
    ]  # fmt: skip
    with pytest.raises(ClassError):
        show_as(room, "faces")
