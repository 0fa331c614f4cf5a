"""The drills that the records know of, for a training record. The records are open."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from tripmargin.drills import DrillResult, result_from
from tripmargin.records.store.models import Person, PracticeResult


def results_from_log(name: str) -> list[DrillResult]:
    """The ended drills of everybody of a name, in any case; of classes too.

    Raises
    ------
    DrillError
        If a kept result cannot be read.
    """
    return _read(PracticeResult.objects.filter(practice__who_name__iexact=name.strip()))


def names_in_log() -> list[str]:
    """Everybody of whom the records hold an ended drill."""
    found = PracticeResult.objects.order_by("practice__who_name")
    return list(found.values_list("practice__who_name", flat=True).distinct())


def results_of(person: Person) -> list[DrillResult]:
    """The ended drills of one person, under the name of now; raises as above."""
    found = _read(PracticeResult.objects.filter(practice__who=person))
    return [replace(one, name=str(person)) for one in found]


def _read(found: Any) -> list[DrillResult]:
    return [
        result_from(one.kept, f"practice {one.practice.uid}")
        for one in found.select_related("practice").order_by("at", "pk")
    ]
