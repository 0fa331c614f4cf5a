"""What to practise next: what went wrong comes back sooner.

Boxes after S. Leitner (So lernt man lernen, 1972; from memory): everything begins in the first box,
goes one box up when it went well, and back to the first when it did not. Each box waits twice as
long as the one before. The number of boxes, the days and the score that counts as well are our own
choice.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from tripmargin.drills.drilling import drill, kind_of
from tripmargin.drills.results import DrillResult
from tripmargin.drills.would_it_stop_kinds import KINDS
from tripmargin.faultfinding import MachineProblem

BOXES = 5
FIRST_WAIT = timedelta(days=1)
WELL = 80.0
"""Points from which a drill went well."""
MOST_SEEDS = 200
"""Drills looked through for one of a kind."""


@dataclass(frozen=True, slots=True)
class Practised:
    """A kind of fault, or of lesson, on one machine, and when it is due again.

    Attributes
    ----------
    machine, kind : str
    said : str
        The fault that was last hidden, in words.
    box : int
        From 1 to `BOXES`.
    due : datetime
    """

    machine: str
    kind: str
    said: str
    box: int
    due: datetime

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready; the time as ISO text."""
        return {
            "machine": self.machine,
            "kind": self.kind,
            "said": self.said,
            "box": self.box,
            "due": self.due.isoformat(timespec="seconds"),
        }


def practised(results: Iterable[DrillResult]) -> tuple[Practised, ...]:
    """Every kind of fault that was practised, what is due first in front.

    Parameters
    ----------
    results : iterable of DrillResult
        Of one person, in any order. A time without a zone is taken as UTC.
    """
    found: dict[tuple[str, str], Practised] = {}
    for result in sorted(results, key=_at):
        for kind, said, points in _lessons(result):
            place = (result.machine, kind)
            before = found.get(place)
            box = 0 if before is None else before.box
            box = min(max(box, 1) + 1, BOXES) if points >= WELL else 1
            due = _at(result) + FIRST_WAIT * 2 ** (box - 1)
            found[place] = Practised(*place, said, box, due)
    return tuple(sorted(found.values(), key=lambda each: (each.due, each.box)))


def practise_next(results: Iterable[DrillResult], *, now: datetime) -> Practised | None:
    """The kind of fault that is due, longest overdue first; None where nothing is: take a new one.

    Parameters
    ----------
    results : iterable of DrillResult
    now : datetime
        With its zone.
    """
    return next((each for each in practised(results) if each.due <= now), None)


def kinds_due(results: Iterable[DrillResult], *, machine: str, now: datetime) -> tuple[str, ...]:
    """Kinds of lesson of "would it stop?" that are due again on a machine, longest overdue first.

    Parameters
    ----------
    results : iterable of DrillResult
    machine : str
        Its name.
    now : datetime
        With its zone.
    """
    found = practised(each for each in results if each.machine == machine and each.by_kind)
    return tuple(each.kind for each in found if each.due <= now and each.kind in KINDS)


def seed_for(of: MachineProblem, kind: str, *, after: int = 0) -> int | None:
    """The first seed after `after` whose drill hides a fault of a kind; None where none comes.

    Parameters
    ----------
    of : MachineProblem
    kind : str
        As `DrillResult.kind` says it.
    after : int
        The seed that was played, so that another drill of the kind comes.
    """
    for seed in range(after + 1, after + 1 + MOST_SEEDS):
        if kind_of(drill(of, seed=seed).fault) == kind:
            return seed
    return None


def _lessons(result: DrillResult) -> list[tuple[str, str, float]]:
    """What a drill was about, in an id and in words, and its points: one thing, or several."""
    if result.by_kind:
        return [(kind, kind, points) for kind, points in result.by_kind]
    return [(result.kind, result.said, result.score.points)]


def _at(result: DrillResult) -> datetime:
    at = datetime.fromisoformat(result.when)
    return at if at.tzinfo is not None else at.replace(tzinfo=UTC)
