"""Practice in the records, on SQLite and on PostgreSQL: only ever added to, and never twice."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import DatabaseError, connection, transaction

from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.keeping.practices import (
    MOST_MOVES,
    On,
    Player,
    PracticeError,
    begin_practice,
    moves_of,
    on_of,
    result_of,
    turn_at,
)
from tripmargin.records.standing.practised import practices_of, practised_by
from tripmargin.records.store.models import Practice, PracticeMove
from tripmargin.records.store.models.append_only import AppendOnlyError

People = Callable[..., Any]
KEPT = {"form": "tripmargin drill 1", "score": {"points": 50.0}}


def begun(who: Any, uid: UUID | None = None, seed: int = 7) -> Practice:
    by = Player(who=who)
    return begin_practice("fault", seed, On(demo="dunlin"), by=by, uid=uid or uuid4())


def ended(who: Any) -> Practice:
    practice = begun(who)
    with turn_at(practice, uuid4()) as turn:
        turn.add("hand over", "", "handed over")
        turn.end(KEPT, points=50.0, unsafe=0)
    return practice


def test_a_practice_is_begun_once_whatever_is_sent_twice(records: str, person: People) -> None:
    ann, bo, uid = person("Ann", role=1), person("Bo", role=1), uuid4()
    assert begun(ann, uid) == begun(ann, uid)
    with pytest.raises(PracticeError, match="used already"):
        begun(bo, uid)
    assert Practice.objects.count() == 1
    for seed in (-1, 10**9 + 1):
        with pytest.raises(PracticeError, match="not a whole number"):
            begun(ann, seed=seed)
    with pytest.raises(PracticeError, match="no invented machine"):
        begin_practice("fault", 1, On(demo="../secret"), by=Player(who=ann), uid=uuid4())


def test_a_practice_names_the_file_that_it_was_begun_with(records: str, person: People) -> None:
    machine = add_demo_machine("dunlin")
    on = On(version=machine.versions.get())
    made = begin_practice("fault", 1, on, by=Player(who=person("Ann")), uid=uuid4())
    assert on_of(made).loaded().name == "Dunlin"
    assert made.machine_mark == machine.versions.get().digest


def test_moves_are_numbered_in_their_order_and_an_id_is_known_again(
    records: str, person: People
) -> None:
    practice, uid = begun(person("Ann")), uuid4()
    with turn_at(practice, uid) as turn:
        turn.add("go", "standing", "")
        turn.add("look", "a lamp", "on")
    with turn_at(practice, uid) as turn:
        assert turn.came is not None
        assert (turn.came.do, turn.came.number) == ("go", 1)
    assert [(m.number, m.uid) for m in moves_of(practice)] == [(1, uid), (2, None)]


def test_what_fails_midway_leaves_nothing(records: str, person: People) -> None:
    practice = begun(person("Ann"))

    def half() -> None:
        with turn_at(practice, uuid4()) as turn:
            turn.add("go", "standing", "")
            raise KeyError

    with pytest.raises(KeyError):
        half()
    assert moves_of(practice) == []


def test_several_at_once_lose_no_move(records: str, person: People) -> None:
    practice, troubles = begun(person("Ann")), []

    def add() -> None:
        try:
            for _ in range(5):
                with turn_at(practice, uuid4()) as turn:
                    turn.add("hint", "", "")
        except Exception as error:
            troubles.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=add) for _ in range(4)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert troubles == []
    assert [move.number for move in moves_of(practice)] == list(range(1, 21))


def test_an_ended_practice_takes_no_move(records: str, person: People) -> None:
    practice = ended(person("Ann"))
    with turn_at(practice, uuid4()) as turn:
        assert turn.ended
        with pytest.raises(PracticeError, match="has ended"):
            turn.add("hint", "", "")
    assert result_of(practice) is not None


def test_nobody_fills_the_disk_with_moves(sqlite_records: str, person: People) -> None:
    practice = begun(person("Ann"))
    rows = [PracticeMove(practice=practice, number=k, do="hint") for k in range(1, MOST_MOVES + 1)]
    PracticeMove.objects.bulk_create(rows)
    with turn_at(practice, uuid4()) as turn, pytest.raises(PracticeError, match="the most"):
        turn.add("hint", "", "")


def test_what_was_played_is_neither_changed_nor_deleted(records: str, person: People) -> None:
    practice = ended(person("Ann"))
    result = result_of(practice)
    for row in (practice, moves_of(practice)[0], result):
        with pytest.raises(AppendOnlyError):
            row.save()
        with pytest.raises(AppendOnlyError):
            row.delete()
        for statement in ("DELETE FROM {}", "UPDATE {} SET id = id"):
            with (
                pytest.raises(DatabaseError, match="only ever added"),
                transaction.atomic(),
                connection.cursor() as cursor,
            ):
                cursor.execute(statement.format(row._meta.db_table))
    assert Practice.objects.count() == 1


def test_what_was_practised_is_handed_over_in_its_order(records: str, person: People) -> None:
    ann = person("Ann")
    first, open_one, last = ended(ann), begun(ann), ended(ann)
    ended(person("Bo"))
    assert practices_of(ann) == [last, open_one, first]
    kept = practised_by(ann)
    assert [(each.kept["score"]["points"], each.class_name) for each in kept] == [(50.0, "")] * 2
    assert kept[0].begun_at == first.begun_at
