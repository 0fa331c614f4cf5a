"""A trainer's pages: opening a class, its code, its board, what to talk about, and its end."""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from tripmargin import drills as d
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.records.keeping.classes import (
    SHOWS,
    ClassError,
    close_class,
    is_late,
    is_open,
    open_class,
    show_answer,
    show_as,
)
from tripmargin.records.store.models import ClassDrill, Practice, PracticeClass
from tripmargin.reports.paper.class_records import class_records as records_of
from tripmargin.reports.paper.practice_log import results_of_class
from tripmargin.web.doors.inviting import LOOPBACK
from tripmargin.web.doors.limits import address_of, limited
from tripmargin.web.doors.roles import SET, needs
from tripmargin.web.drills.answers import answer_of
from tripmargin.web.drills.board import BY_NEED, BY_NUMBER, ORDERS, Board, board_of
from tripmargin.web.drills.class_form import drills_of, form_words
from tripmargin.web.drills.places import of_trainer
from tripmargin.web.drills.showing import looked_at
from tripmargin.web.reports.asked import AskedError, answer, manner_of, now, papers
from tripmargin.web.serving.qr import qr_picture
from tripmargin.web.whats_wrong.addressed import uid_sent

LISTED = 50
ENOUGH = 3
"""How many must have ended a drill before the wall says what to talk about: with fewer it points at
somebody. Our own choice."""


@needs(SET)
@require_safe
def classes(request: HttpRequest) -> HttpResponse:
    """Classes that are open, and those that have ended."""
    rooms = PracticeClass.objects.order_by("-opened_at")[:LISTED]
    words = {
        "here": "practise",
        "open_ones": [room for room in rooms if is_open(room)],
        "ended": [room for room in rooms if not is_open(room)],
    }
    return render(request, "drills/classes.html", words)


@needs(SET)
@require_http_methods(["GET", "POST"])
@limited("open class", times=20, within=timedelta(minutes=10))
def new_class(request: HttpRequest) -> HttpResponse:
    """Open a class."""
    said, trouble = (request.POST if request.method == "POST" else None), ""
    person: Any = request.user
    if said is not None:
        try:
            room = open_class(
                said.get("name", ""), drills_of(said), by=person, shows=said.get("shows", ""),
                uid=uid_sent(request), address=address_of(request),
            )  # fmt: skip
        except TripmarginError as error:
            trouble = str(error)
        else:
            return redirect("class", uid=room.uid)
    words = {
        "here": "practise",
        "trouble": trouble,
        "uid": uid_sent(request) if trouble else uuid4(),
        **form_words(said),
    }
    return render(request, "drills/class_new.html", words, status=422 if trouble else 200)


@needs(SET)
@require_safe
def one_class(request: HttpRequest, uid: UUID) -> HttpResponse:
    """A class for its trainer: the code, the drills with their answers, what to talk about."""
    room = _class_at(uid)
    words = {
        "here": "practise",
        "open": is_open(room),
        **_addresses(request, room),
        "shows": [(key, say(words)) for key, words in SHOWS.items()],
        "papers": papers(),
        # this also has each machine read before the first learner asks for it
        "answers": {each.number: answer_of(each) for each in room.drills.all()},
        **board_words(room, BY_NEED),
    }
    return render(request, "drills/class.html", words)


@needs(SET)
@require_safe
def board(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The board for the wall; the part that changes comes again by itself."""
    room = _class_at(uid)
    part = "part" in request.GET
    words = {
        "open": is_open(room),
        **_addresses(request, room),
        **board_words(room, request.GET.get("order", BY_NUMBER)),
    }
    return render(request, "drills/board_part.html" if part else "drills/board.html", words)


def board_words(room: PracticeClass, order: str) -> dict[str, Any]:
    """The board, and the orders that it may be shown in."""
    order = order if order in ORDERS else BY_NUMBER
    found: Board = board_of(room, order)
    return {
        "room": room,
        "board": found,
        "order": order,
        "enough": ENOUGH,
        "orders": [(key, say(words)) for key, words in ORDERS.items()],
    }


@needs(SET)
@require_POST
def change_class(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Show an answer, choose how the board calls people, or end the class."""
    room = _class_at(uid)
    person: Any = request.user
    do, _, what = request.POST.get("do", "").partition(":")
    if do == "end":
        close_class(room, by=person, address=address_of(request))
        messages.success(request, say("The class has ended. Its results stay."))
    elif do == "answer":
        show_answer(_drill_at(room, what))
        messages.success(
            request, say("The answer is shown to the class. What ends later does not compare.")
        )
    elif do == "shows":
        try:
            show_as(room, what)
        except ClassError as error:
            messages.error(request, str(error))
    else:
        raise Http404
    return redirect("class", uid=room.uid)


@needs(SET)
@require_safe
def class_results(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The results of a class as CSV (RFC 4180): one line for each drill that ended."""
    room = _class_at(uid)
    file = io.StringIO()
    rows = csv.writer(file)
    rows.writerow(["number", "name", "drill", "machine", "kind", "seed", "points", "unsafe_moves",
                   "minutes", "best_minutes", "after_the_answer", "ended_at"])  # fmt: skip
    for drill in room.drills.order_by("number"):
        for each in drill.practices.exclude(result=None).select_related(
            "result__practice__class_drill", "learner"
        ):
            ended, score = each.result, d.result_from(each.result.kept).score
            rows.writerow(
                [each.learner.number, _plain(each.learner.name), drill.number,
                 _plain(drill.machine_name), drill.kind, drill.seed, f"{ended.points:.2f}",
                 ended.unsafe, f"{score.minutes:.1f}", f"{score.best_minutes:.1f}",
                 "yes" if is_late(ended) else "no", ended.at.isoformat(timespec="seconds")]
            )  # fmt: skip
    response = HttpResponse(file.getvalue(), content_type="text/csv; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="class-{room.code}.csv"'
    return response


@needs(SET)
@require_safe
def class_records(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The training records of all who ended a drill, one sheet each, as a file."""
    room = _class_at(uid)
    try:
        manner = manner_of(request)
    except AskedError as error:
        messages.error(request, str(error))
        return redirect("class", uid=room.uid)
    document = records_of(results_of_class(room), made=now(), by=str(request.user),
                          paper=manner.paper)  # fmt: skip
    return answer(document, manner, f"class-{room.opened_at:%Y-%m-%d}-{room.name}")


@needs(SET)
@require_safe
def class_look(request: HttpRequest, uid: UUID, practice: UUID) -> HttpResponse:
    """What somebody in the class has done in a drill, for the trainer."""
    found = (
        Practice.objects.select_related("version", "class_drill__of_class", "learner")
        .filter(uid=practice, class_drill__of_class=_class_at(uid))
        .first()
    )
    if found is None:
        raise Http404
    return looked_at(request, found, of_trainer(found))


def _plain(text: str) -> str:
    """A cell that no spreadsheet takes for a formula: whoever joined typed his own name.

    >>> _plain("=1+1"), _plain("Bo")
    ("'=1+1", 'Bo')
    """
    return f"'{text}" if text[:1] in "=+-@\t\r" else text


def _class_at(uid: UUID) -> PracticeClass:
    found: PracticeClass | None = PracticeClass.objects.filter(uid=uid).first()
    if found is None:
        raise Http404
    return found


def _drill_at(room: PracticeClass, number: str) -> ClassDrill:
    known = number.isascii() and number.isdecimal() and len(number) < 4
    found: ClassDrill | None = room.drills.filter(number=int(number)).first() if known else None
    if found is None:
        raise Http404
    return found


def _addresses(request: HttpRequest, room: PracticeClass) -> dict[str, Any]:
    """The address to type, and the one with the code in it, for a camera."""
    whole = _for_others(request, reverse("class-join", args=[room.code]))
    return {
        "address": _for_others(request, reverse("class-door")),
        "qr": qr_picture(whole),
        "here_only": whole.startswith(tuple(f"http://{name}" for name in LOOPBACK)),
    }


def _for_others(request: HttpRequest, path: str) -> str:
    """An address as phones reach it: a trainer at the server itself sees it as localhost."""
    if settings.YARD_ADDRESS and request.get_host().startswith(LOOPBACK):
        return f"{settings.YARD_ADDRESS.rstrip('/')}{path}"
    return str(request.build_absolute_uri(path))
