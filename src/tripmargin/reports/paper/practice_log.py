"""The drills that the records know of, for a training record. The records are open."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from tripmargin.drills import DrillResult, result_from
from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say
from tripmargin.records.keeping.classes import is_late, typed_code
from tripmargin.records.keeping.practices import KINDS
from tripmargin.records.store.models import Person, PracticeClass, PracticeResult
from tripmargin.reports.paper.class_records import ClassResults, LearnerResults
from tripmargin.reports.paper.reading import ReportError

MOST_NAMED = 6


def results_from_log(name: str) -> LearnerResults:
    """The ended drills of everybody of a name, in any case; of classes too.

    Raises
    ------
    DrillError
        If a kept result cannot be read.
    """
    found = _kept(PracticeResult.objects.filter(practice__who_name__iexact=name.strip()))
    return LearnerResults(name.strip(), [_read(one) for one in found], _late(found))


def class_from_log(code: str) -> ClassResults:
    """A class, open or ended, by its code however it is typed; with what its learners ended.

    Raises
    ------
    ReportError
        If no class has that code.
    DrillError
        If a kept result cannot be read.
    """
    room = PracticeClass.objects.filter(code=typed_code(code)).first()
    if room is None:
        newest = PracticeClass.objects.order_by("-opened_at")[:MOST_NAMED]
        there = ", ".join(f"{one.code} ({one.name}, {one.opened_at:%Y-%m-%d})" for one in newest)
        raise ReportError(
            say(
                'No class has the code "{code}".\n  Classes in the records: {classes}.',
                code=shortened(code),
                classes=there or say("none"),
            )
        )
    return results_of_class(room)


def results_of_class(room: PracticeClass) -> ClassResults:
    """What everybody in a class has ended; raises `DrillError` as above."""
    drills = [
        say("{number}. {machine}: {kind}", number=one.number, machine=one.machine_name,
            kind=say(KINDS[one.kind]))
        for one in room.drills.order_by("number")
    ]  # fmt: skip
    learners = []
    for one in room.learners.order_by("number"):
        found = _kept(PracticeResult.objects.filter(practice__learner=one))
        results = [replace(_read(each), name=str(one)) for each in found]
        after = [r for r, each in zip(results, found, strict=True) if is_late(each)]
        learners.append(LearnerResults(str(one), results, after))
    return ClassResults(room.name, room.opened_by_name, room.opened_at, drills, learners)


def names_in_log() -> list[str]:
    """Everybody of whom the records hold an ended drill."""
    found = PracticeResult.objects.order_by("practice__who_name")
    return list(found.values_list("practice__who_name", flat=True).distinct())


def results_of(person: Person) -> list[DrillResult]:
    """The ended drills of one person, under the name of now; raises as above."""
    found = _kept(PracticeResult.objects.filter(practice__who=person))
    return [replace(_read(one), name=str(person)) for one in found]


def _kept(found: Any) -> list[PracticeResult]:
    return list(found.select_related("practice__class_drill").order_by("at", "pk"))


def _late(found: list[PracticeResult]) -> list[DrillResult]:
    return [_read(one) for one in found if is_late(one)]


def _read(one: PracticeResult) -> DrillResult:
    return result_from(one.kept, f"practice {one.practice.uid}")
