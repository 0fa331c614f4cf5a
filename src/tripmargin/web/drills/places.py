"""Where the pages of one practice lie: those of a person, or those of a learner in a class."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest
from django.urls import reverse

from tripmargin.records.store.models import Practice


@dataclass(frozen=True, slots=True)
class Place:
    """Addresses of one practice's pages, and whether what was hidden is shown at its end.

    Attributes
    ----------
    page, move, reading, wiring : str
    back : str
        The list that the practice stands in.
    learner : bool
        Whether somebody plays it in a class, without an account.
    answers : bool
        Whether its end shows what was hidden and the best route.
    seed : bool
        Whether the seed is shown: in a class it would bring the answers to whoever has the program.
    """

    page: str
    move: str
    reading: str
    wiring: str
    back: str
    learner: bool = False
    answers: bool = True
    seed: bool = True
    open: bool = True
    """Whether moves are still taken."""
    of: str = ""
    """Whose practice it is, where their trainer looks at it."""


def of_person(practice: Practice) -> Place:
    """The pages of somebody who practises alone."""
    uid = [practice.uid]
    return Place(
        page=reverse("practice", args=uid),
        move=reverse("practice-move", args=uid),
        reading=reverse("practice-reading", args=uid),
        wiring=reverse("practice-wiring", args=uid),
        back=reverse("practise"),
    )


def of_trainer(practice: Practice) -> Place:
    """A learner's practice as the trainer of the class looks at it: no move is taken."""
    assert practice.class_drill is not None
    back = reverse("class", args=[practice.class_drill.of_class.uid])
    return Place(
        page=back, move=back, reading=back, wiring=back, back=back, learner=True, open=False,
        of=str(practice.learner),
    )  # fmt: skip


def own_practice(request: HttpRequest, uid: UUID) -> Practice:
    """The practice of an address, if it is this person's own.

    Raises
    ------
    Http404
        If there is none, or it is somebody else's.
    """
    person: Any = request.user
    found = (
        Practice.objects.select_related("version", "version__machine")
        .filter(uid=uid, who=person)
        .first()
    )
    if found is None:
        raise Http404
    return found
