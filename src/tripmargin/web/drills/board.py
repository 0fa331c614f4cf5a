"""The board of a class: who is how far, and what to talk about. For the wall, and for a phone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Count, Q

from tripmargin import drills as d
from tripmargin.drills.moves import REFUSED
from tripmargin.ground.languages import later, say
from tripmargin.records.keeping.classes import called, is_late, is_open
from tripmargin.records.store.models import ClassDrill, ClassLearner, Practice, PracticeClass
from tripmargin.web.drills.kinds import KINDS

BY_NUMBER, BY_NEED = "number", "need"
ORDERS = {BY_NUMBER: later("in the order of joining"), BY_NEED: later("who needs help first")}


@dataclass(frozen=True, slots=True)
class Cell:
    """One learner in one drill."""

    points: float | None = None
    moves: int | None = None
    """Made so far, of a drill that has not ended; None where it was not begun."""
    unsafe: int = 0
    late: bool = False
    """Whether it ended after the answer was shown: it does not compare."""
    practice: UUID | None = None
    """For the trainer's look at what was done; None where it was not begun."""


@dataclass(frozen=True, slots=True)
class Row:
    """One learner: a cell a drill, the mean of what compares, unsafe moves in all."""

    learner: ClassLearner
    called: str
    cells: tuple[Cell, ...]
    mean: float | None
    unsafe: int
    ended: int


@dataclass(frozen=True, slots=True)
class Told:
    """One drill of the class, over all who learn."""

    drill: ClassDrill
    kind: str
    begun: int
    talk: d.Talk
    shown: bool


@dataclass(frozen=True, slots=True)
class Board:
    """Everything on it."""

    room: PracticeClass
    drills: tuple[ClassDrill, ...]
    rows: tuple[Row, ...]
    worst_first: tuple[Told, ...]
    mean: float | None
    unsafe: int


def board_of(room: PracticeClass, order: str = BY_NUMBER) -> Board:
    """The board as it stands now.

    Parameters
    ----------
    room : PracticeClass
    order : str
        One of `ORDERS`. `BY_NEED`: whoever made unsafe moves, then whoever has the fewest points.
    """
    drills = tuple(room.drills.order_by("number"))
    played: dict[tuple[int, int], Practice] = {
        (each.learner_id, each.class_drill_id): each
        for each in Practice.objects.filter(class_drill__of_class=room)
        .select_related("result__practice__class_drill", "class_drill")
        # what came of a move is kept in English (playing.py)
        .annotate(count=Count("moves"), refused=Count("moves", filter=Q(moves__came=REFUSED)))
    }
    rows = [_row(learner, drills, played, room) for learner in room.learners.order_by("number")]
    points = [row.mean for row in rows if row.mean is not None]
    told = [_told(drill, played) for drill in drills]
    return Board(
        room=room,
        drills=drills,
        rows=tuple(sorted(rows, key=_need) if order == BY_NEED else rows),
        worst_first=tuple(sorted(told, key=_worst)),
        mean=sum(points) / len(points) if points else None,
        unsafe=sum(row.unsafe for row in rows),
    )


def _row(
    learner: ClassLearner,
    drills: tuple[ClassDrill, ...],
    played: dict[tuple[int, int], Practice],
    room: PracticeClass,
) -> Row:
    cells = tuple(_cell(played.get((learner.pk, drill.pk))) for drill in drills)
    points = [each.points for each in cells if each.points is not None and not each.late]
    return Row(
        learner=learner,
        called=called(learner, room.shows),
        cells=cells,
        mean=sum(points) / len(points) if points else None,
        unsafe=sum(each.unsafe for each in cells),
        ended=sum(each.points is not None for each in cells),
    )


def _cell(practice: Any) -> Cell:
    if practice is None:
        return Cell()
    result = getattr(practice, "result", None)
    if result is None:
        return Cell(moves=practice.count, unsafe=practice.refused, practice=practice.uid)
    return Cell(result.points, unsafe=result.unsafe, late=is_late(result), practice=practice.uid)


def _told(drill: ClassDrill, played: dict[tuple[int, int], Practice]) -> Told:
    mine: list[Any] = [each for (_, pk), each in played.items() if pk == drill.pk]
    ended = [each.result for each in mine if hasattr(each, "result")]
    compare = [d.result_from(each.kept) for each in ended if not is_late(each)]
    shown = drill.answer_shown_at is not None or not is_open(drill.of_class)
    return Told(drill, say(KINDS[drill.kind]), len(mine), d.talk_about(compare), shown)


def _need(row: Row) -> tuple[int, float, int]:
    """Unsafe moves first, then few points; whoever has ended nothing comes in between."""
    return (-row.unsafe, 50.0 if row.mean is None else row.mean, row.learner.number)


def _worst(told: Told) -> tuple[float, int]:
    return (101.0 if told.talk.mean is None else told.talk.mean, told.drill.number)
