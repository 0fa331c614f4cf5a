"""What was practised, and how it went: for whoever practised, for a class, for a certificate.

A kept result is what `tripmargin drill --save` writes; `tripmargin.drills.result_from` makes a
`DrillResult` of it. No licence comes of it: it says what was practised, and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tripmargin.records.store.models import ClassLearner, Person, Practice, PracticeResult


@dataclass(frozen=True, slots=True)
class Kept:
    """The result of one drill.

    Attributes
    ----------
    kept : dict
        As `tripmargin.drills.result_from` reads it: moves, score, both routes.
    kind : str
        "fault", "setting" or another kind of drill.
    class_name : str
        Of the class that it was made in; empty where somebody practised alone.
    begun_at, ended_at : datetime
    """

    kept: dict[str, Any]
    kind: str
    class_name: str
    begun_at: datetime
    ended_at: datetime


def practices_of(person: Person) -> list[Practice]:
    """A person's practices, newest first; those that ended have their `.result`."""
    return list(
        Practice.objects.filter(who=person)
        .select_related("result", "version__machine")
        .order_by("-begun_at", "-pk")
    )


def practised_by(person: Person) -> tuple[Kept, ...]:
    """Every drill that a person ended, in the order in which they ended."""
    return _kept(PracticeResult.objects.filter(practice__who=person))


def practised_in_class(learner: ClassLearner) -> tuple[Kept, ...]:
    """Every drill that a learner of a class ended, in the order in which they ended."""
    return _kept(PracticeResult.objects.filter(practice__learner=learner))


def _kept(results: Iterable[PracticeResult]) -> tuple[Kept, ...]:
    rows: Any = results
    return tuple(
        Kept(
            kept=row.kept,
            kind=row.practice.kind,
            class_name=row.practice.learner.of_class.name if row.practice.learner else "",
            begun_at=row.practice.begun_at,
            ended_at=row.at,
        )
        for row in rows.select_related("practice__learner__of_class").order_by("at", "pk")
    )
