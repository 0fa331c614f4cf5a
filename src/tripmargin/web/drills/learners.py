"""Who learns in a class: known by a signed cookie, good for the pages of the class alone."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from tripmargin.records.keeping.classes import class_of_code, is_open
from tripmargin.records.keeping.limits import take_turn, turns_left
from tripmargin.records.store.models import ClassLearner, Practice, PracticeClass
from tripmargin.web.doors.limits import address_of
from tripmargin.web.drills.places import Place

COOKIE, SALT = "tripmargin_learner", "tripmargin.web.drills.learner"
GOOD_FOR = timedelta(days=1)
"""A learner's own pages can be read for a day; no move is taken once the class has ended."""
WRONG_CODES, WITHIN = 20, timedelta(minutes=10)
"""Wrong codes from one address, before it waits: a class may share one address."""


def let_in(response: HttpResponse, learner: ClassLearner) -> HttpResponse:
    """Give the browser the learner's cookie: signed with the server's secret, seen by no script."""
    response.set_signed_cookie(
        COOKIE, str(learner.uid), salt=SALT, max_age=int(GOOD_FOR.total_seconds()), path="/class/",
        secure=settings.SESSION_COOKIE_SECURE, httponly=True, samesite="Lax",
    )  # fmt: skip
    return response


def learner_of(request: HttpRequest) -> ClassLearner | None:
    """Who learns at this browser; None where nobody does, or the class is over for a day."""
    said = request.get_signed_cookie(
        COOKIE, default=None, salt=SALT, max_age=int(GOOD_FOR.total_seconds())
    )
    if said is None:
        return None
    found: ClassLearner | None = (
        ClassLearner.objects.select_related("of_class").filter(uid=UUID(said)).first()
    )
    if found is None or found.of_class.ends_at + GOOD_FOR < timezone.now():
        return None
    return found


def open_class_of(request: HttpRequest, code: str) -> tuple[PracticeClass | None, timedelta | None]:
    """The open class of a code, or how long to wait: a wrong code is a turn, and they are counted.

    Where the turns are used up not even the right code is looked at.
    """
    address = address_of(request)
    wait = turns_left("class code", address, times=WRONG_CODES, within=WITHIN)
    if wait is not None:
        return None, wait
    room = class_of_code(code)
    if room is None:
        return None, take_turn("class code", address, times=WRONG_CODES, within=WITHIN)
    return room, None


def place_of_learner(practice: Practice) -> Place:
    """The pages of a learner's practice."""
    drill, uid = practice.class_drill, [practice.uid]
    assert drill is not None
    shown = drill.answer_shown_at is not None or not is_open(drill.of_class)
    return Place(
        page=reverse("class-practice", args=uid),
        move=reverse("class-move", args=uid),
        reading=reverse("class-reading", args=uid),
        wiring=reverse("class-wiring", args=uid),
        back=reverse("class-room"),
        learner=True,
        answers=shown,
        seed=False,
        open=is_open(drill.of_class),
    )


def learners_practice(learner: ClassLearner, uid: UUID) -> Practice:
    """The practice of an address, if it is this learner's own.

    Raises
    ------
    Http404
        If there is none, or it is somebody else's.
    """
    found: Practice | None = (
        Practice.objects.select_related("version", "class_drill__of_class")
        .filter(uid=uid, learner=learner)
        .first()
    )
    if found is None:
        raise Http404
    return found
