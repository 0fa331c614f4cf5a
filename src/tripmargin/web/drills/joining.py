"""A learner's pages: the code, a name, the drills of the class, and each of them to play."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID, uuid4

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from tripmargin.ground.languages import say
from tripmargin.records.keeping.classes import ClassError, is_open, join_class
from tripmargin.records.keeping.practices import Player, begin_practice, on_of
from tripmargin.records.standing.practised import practised_in_class
from tripmargin.records.store.models import ClassDrill, ClassLearner, Practice, PracticeClass
from tripmargin.web.doors.limits import in_words, with_wait
from tripmargin.web.doors.roles import ANYBODY, needs
from tripmargin.web.drills import showing
from tripmargin.web.drills.kinds import KINDS
from tripmargin.web.drills.learners import (
    learner_of,
    learners_practice,
    let_in,
    open_class_of,
    place_of_learner,
)
from tripmargin.web.drills.practising import as_file, results_file
from tripmargin.web.whats_wrong.addressed import uid_sent

Act = Callable[..., HttpResponse]


def for_learners(act: Act) -> Act:
    """Hand over who learns here; whoever has not joined is sent to the door of the class."""

    @wraps(act)
    def view(request: HttpRequest, *args: Any, **more: Any) -> HttpResponse:
        learner = learner_of(request)
        if learner is None:
            return redirect("class-door")
        return act(request, learner, *args, **more)

    return view


@needs(ANYBODY)
@require_http_methods(["GET", "POST"])
def door(request: HttpRequest) -> HttpResponse:
    """The code of the class."""
    typed, trouble, status, wait = request.POST.get("code", ""), "", 200, None
    if request.method == "POST":
        room, wait = open_class_of(request, typed)
        if room is not None:
            return redirect("class-join", code=room.code)
        status, trouble = _no_class(wait)
    words = {"typed": typed[:20], "trouble": trouble, "learner": learner_of(request)}
    response = render(request, "drills/class_door.html", words, status=status)
    return response if wait is None else with_wait(response, wait)


def _no_class(wait: Any) -> tuple[int, str]:
    if wait is not None:
        return 429, say("Too many wrong codes. Wait {time}, then try again.", time=in_words(wait))
    return 422, say(
        "No class is open under this code. Look at it again: six letters and numbers, on the wall"
        " or on the trainer's screen."
    )


@needs(ANYBODY)
@require_http_methods(["GET", "POST"])
def join(request: HttpRequest, code: str) -> HttpResponse:
    """A name in the class."""
    room, wait = open_class_of(request, code)
    if room is None:
        status, trouble = _no_class(wait)
        words = {"typed": code[:20], "trouble": trouble, "learner": learner_of(request)}
        response = render(request, "drills/class_door.html", words, status=status)
        return response if wait is None else with_wait(response, wait)
    learner = learner_of(request)
    if learner is not None and learner.of_class_id == room.pk:
        return redirect("class-room")
    trouble = ""
    if request.method == "POST":
        try:
            learner = join_class(room, request.POST.get("name", ""), uid=uid_sent(request))
        except ClassError as error:
            trouble = str(error)
        else:
            return let_in(redirect("class-room"), learner)
    shown: dict[str, Any] = {
        "room": room,
        "typed": request.POST.get("name", "") if trouble else "",
        "trouble": trouble,
        "uid": uid_sent(request) if trouble else uuid4(),
    }
    return render(request, "drills/class_join.html", shown, status=422 if trouble else 200)


@needs(ANYBODY)
@require_safe
@for_learners
def own_room(request: HttpRequest, learner: ClassLearner) -> HttpResponse:
    """The drills of the class, and how far this learner is."""
    mine = {
        each.class_drill_id: each
        for each in Practice.objects.filter(learner=learner).select_related("result")
    }
    drills = [
        {
            "drill": drill,
            "kind": say(KINDS[drill.kind]),
            "practice": mine.get(drill.pk),
            "result": getattr(mine.get(drill.pk), "result", None),
        }
        for drill in learner.of_class.drills.order_by("number")
    ]
    room: PracticeClass = learner.of_class
    words = {"learner": learner, "room": room, "drills": drills, "open": is_open(room)}
    return render(request, "drills/class_room.html", words)


@needs(ANYBODY)
@require_POST
@for_learners
def begin(request: HttpRequest, learner: ClassLearner, number: int) -> HttpResponse:
    """Begin a drill of the class, or go on with it: each is played once."""
    drill = get_object_or_404(ClassDrill, of_class=learner.of_class, number=number)
    before = Practice.objects.filter(learner=learner, class_drill=drill).first()
    if before is None and not is_open(learner.of_class):
        return redirect("class-room")
    made = before or begin_practice(
        drill.kind, drill.seed, on_of(drill), by=Player(learner=learner, class_drill=drill),
        uid=uuid4(),
    )  # fmt: skip
    return redirect("class-practice", uid=made.uid)


@needs(ANYBODY)
@require_safe
@for_learners
def practice(request: HttpRequest, learner: ClassLearner, uid: UUID) -> HttpResponse:
    """One practice of this learner."""
    own = learners_practice(learner, uid)
    return showing.practice_page(request, own, place_of_learner(own))


@needs(ANYBODY)
@require_POST
@for_learners
def move(request: HttpRequest, learner: ClassLearner, uid: UUID) -> HttpResponse:
    """Make a move, while the class is open."""
    own = learners_practice(learner, uid)
    return showing.take_move(request, own, place_of_learner(own))


@needs(ANYBODY)
@require_safe
@for_learners
def reading(request: HttpRequest, learner: ClassLearner, uid: UUID) -> HttpResponse:
    """How far the reading of the machine is."""
    own = learners_practice(learner, uid)
    return showing.reading_part(request, own, place_of_learner(own))


@needs(ANYBODY)
@require_safe
@for_learners
def wiring(request: HttpRequest, learner: ClassLearner, uid: UUID) -> HttpResponse:
    """The wiring of a sound machine in the same state."""
    own = learners_practice(learner, uid)
    return showing.wiring_page(request, own, place_of_learner(own))


@needs(ANYBODY)
@require_safe
@for_learners
def results(request: HttpRequest, learner: ClassLearner) -> HttpResponse:
    """Results as a file, once the class has ended: they hold what was hidden."""
    if is_open(learner.of_class):
        raise Http404
    return as_file(results_file(learner.name, practised_in_class(learner)), "practised")
