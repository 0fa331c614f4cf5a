"""The board of a class, on SQLite and on PostgreSQL: what compares, and who needs help first."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

import pytest

from tripmargin import drills
from tripmargin.machine import load_machine
from tripmargin.records.keeping.classes import NewDrill, join_class, open_class, show_answer
from tripmargin.records.keeping.practices import On, Player, begin_practice, on_of, turn_at
from tripmargin.records.store.models import ClassDrill, ClassLearner
from tripmargin.web.drills.board import BY_NEED, board_of

People = Callable[..., Any]


def end(
    learner: ClassLearner, drill: ClassDrill, *before: tuple[str, str], ends: bool = True
) -> None:
    """Play a setting drill: some moves, then the planner's own."""
    by = Player(learner=learner, class_drill=drill)
    practice = begin_practice(drill.kind, drill.seed, on_of(drill), by=by, uid=uuid4())
    played = drills.setting_drill(load_machine("dunlin"), seed=drill.seed)
    best = [(move.do, move.what) for move in played.best.moves] if ends else []
    with turn_at(practice, uuid4()) as turn:
        for do, what in (*before, *best):
            made = played.move(do, what)
            turn.add(made.do, made.what, made.came)
        if ends:
            result = played.result(when=datetime(2026, 11, 29, tzinfo=UTC), name=learner.name)
            unsafe = sum(move.unsafe for move in played.play.moves)
            turn.end(result.to_dict(), points=result.score.points, unsafe=unsafe)


UNSAFE = ("measure", "lower")  # before anything is at rest


def test_who_is_how_far_and_what_to_talk_about(records: str, person: People) -> None:
    on = On(demo="dunlin")
    wanted = [NewDrill("setting", on, 0), NewDrill("setting", on, 1), NewDrill("setting", on, 2)]
    room = open_class("Autumn", wanted, by=person("Ann", role=3), uid=uuid4())
    one, two, three = room.drills.order_by("number")
    bo, cy, di = (join_class(room, name, uid=uuid4()) for name in ("Bo", "Cy", "Di"))
    end(bo, one)
    end(cy, one, UNSAFE)
    end(bo, two, UNSAFE, UNSAFE)
    end(di, two, UNSAFE, ends=False)
    board = board_of(room)
    assert [row.called for row in board.rows] == ["Bo", "Cy", "Di"]
    first, second, third = board.rows
    assert first.cells[0].points == pytest.approx(100)
    assert first.cells[1].points == pytest.approx(49)
    assert first.mean == pytest.approx(74.5)
    assert (second.cells[0].unsafe, second.cells[1].points) == (1, None)
    assert (third.cells[1].moves, third.cells[1].unsafe, third.mean) == (1, 1, None)
    assert third.cells[0].moves is None
    assert [told.drill.number for told in board.worst_first] == [2, 1, 3]
    assert board.worst_first[0].talk.mean == pytest.approx(49)
    assert board.worst_first[0].begun == 2
    assert board.worst_first[1].talk.mean == pytest.approx(85)
    assert board.unsafe == 4
    # two unsafe moves, then one with points, then one without
    assert [row.called for row in board_of(room, BY_NEED).rows] == ["Bo", "Di", "Cy"]
    show_answer(one)
    end(di, one)
    late = board_of(room)
    assert late.rows[2].cells[0].late
    assert late.rows[2].mean is None
    assert {told.drill.number: told.talk.ended for told in late.worst_first} == {1: 2, 2: 1, 3: 0}
    assert [told.shown for told in sorted(late.worst_first, key=lambda t: t.drill.number)] == [
        True, False, False
    ]  # fmt: skip
    assert three.number == 3
