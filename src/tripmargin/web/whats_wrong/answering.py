"""What a person does on a case's page: answer, take back, bring back, go on with a new version."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from tripmargin.faultfinding import HAND_OVER, MachineProblem
from tripmargin.faultfinding.cases.cards import FAILED
from tripmargin.faultfinding.wording.readings import finding_of, read_as, with_unit
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.records.keeping.cases import (
    SAME,
    Said,
    bring_back,
    go_on_with,
    open_case,
    record,
    take_back,
)
from tripmargin.records.store.models import FaultCase
from tripmargin.web.doors.roles import LOG, needs
from tripmargin.web.mending import take_mends
from tripmargin.web.whats_wrong.addressed import case_at, number_sent, sender
from tripmargin.web.whats_wrong.keeper import problem_of
from tripmargin.web.whats_wrong.showing import case_page

PATIENCE = 20.0
"""s. How long an answer waits for the machine to be read, as after a new start of the server."""
READING = "a reading"
"""What the plate beside the box for a reading sends."""

Act = Callable[[HttpRequest, FaultCase, MachineProblem], HttpResponse]


def with_problem(act: Act) -> Callable[..., HttpResponse]:
    """Wait for the machine to be read; where that takes too long, what was sent is shown again."""

    @wraps(act)
    def view(request: HttpRequest, uid: UUID) -> HttpResponse:
        row = case_at(uid)
        found = problem_of(row.version)
        found.done.wait(PATIENCE)
        if found.problem is None:
            words = {"case": row, "machine": row.machine, "way": "wrong", "found": found}
            words["sent"] = [(k, v) for k, v in request.POST.items() if k != "csrfmiddlewaretoken"]
            return render(request, "whats_wrong/send_again.html", words, status=503)
        return act(request, row, found.problem)

    return view


@needs(LOG)
@require_POST
@with_problem
def answer(request: HttpRequest, row: FaultCase, of: MachineProblem) -> HttpResponse:
    """Record an answer to a card; one that came too late is shown back."""
    mended = "reading" in take_mends(request)
    check = request.POST.get("card", "")
    word = READING if mended else request.POST.get("word", "")
    if "failed_at" in request.POST:
        word = FAILED
    try:
        finding = _finding(request, of, check, word)
        said = Said(check, finding, _note(request), _seen(request), _failed_at(request))
        done = record(row, of, said, by=sender(request))
    except TripmarginError as error:
        return case_page(request, row, of, picked=check, trouble=str(error), status=422)
    if done.aside == SAME:
        messages.info(
            request, say("Somebody had entered the same meanwhile. Yours is kept beside it.")
        )
    elif done.aside:
        return redirect("case-late", uid=row.uid, n=done.entry.n)
    elif done.new and "reading" in done.entry.fields:
        messages.info(request, read_as(open_case(row, of)))
    return redirect("case", uid=row.uid)


def _failed_at(request: HttpRequest) -> int | None:
    """The step at which the daily test failed; None where none was hit."""
    return number_sent(request, "failed_at") if "failed_at" in request.POST else None


def _finding(request: HttpRequest, of: MachineProblem, check: str, word: str) -> str | float:
    if check == HAND_OVER:
        return _sentence(request, "why")
    if word == READING:
        word = with_unit(request.POST.get("reading", ""), request.POST.get("unit", ""))
    return finding_of(of, check, word)


def _note(request: HttpRequest) -> str:
    return request.POST.get("note", "").strip()


def _seen(request: HttpRequest) -> int:
    return number_sent(request, "seen")


def _sentence(request: HttpRequest, name: str) -> str:
    said = request.POST.get(name, "").strip()
    if not said:
        raise TripmarginError(
            say("Say in a sentence why, for whoever goes on. Nothing was recorded.")
        )
    return str(said)


@needs(LOG)
@require_POST
@with_problem
def undo(request: HttpRequest, row: FaultCase, of: MachineProblem) -> HttpResponse:
    """Take the last entry back, if it is still the one that was meant."""
    if take_back(row, of, number_sent(request, "n"), by=sender(request)) is None:
        messages.warning(
            request,
            say(
                "Nothing was taken back: somebody entered or took back something meanwhile. Here is"
                " the case as it stands now."
            ),
        )
    else:
        words = say("Taken back. It stays in the case and can be brought back.")
        messages.info(request, words)
    return redirect("case", uid=row.uid)


@needs(LOG)
@require_POST
@with_problem
def redo(request: HttpRequest, row: FaultCase, of: MachineProblem) -> HttpResponse:
    """Bring back what was taken back last."""
    if bring_back(row, of, by=sender(request)):
        messages.info(request, say("Brought back."))
    else:
        messages.warning(request, say("There is nothing to bring back any more."))
    return redirect("case", uid=row.uid)


@needs(LOG)
@require_POST
def version(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Go on with the machine as its newest file has it."""
    row = case_at(uid)
    number: Any = number_sent(request, "number")
    found = row.machine.versions.filter(number=number).first()
    if found is not None:
        go_on_with(row, found, by=sender(request))
        words = say("The case goes on with version {number} of the machine.", number=found.number)
        messages.info(request, words)
    return redirect("case", uid=row.uid)
