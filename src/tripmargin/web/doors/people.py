"""The people of the workshop: who they are, what they may do, whether they are let in."""

from __future__ import annotations

from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from tripmargin.ground.languages import later, say
from tripmargin.records.keeping import people as keeping
from tripmargin.records.keeping.invitations import open_invitations
from tripmargin.records.keeping.people import LastOwnerError
from tripmargin.records.store.models import AuditLine, Person
from tripmargin.web.doors.limits import address_of
from tripmargin.web.doors.roles import LOG, LOOK, OWN, SET, needs, role_said

ROLES: tuple[tuple[int, str], ...] = (
    (int(LOOK), later("sees everything, changes nothing")),
    (int(LOG), later("enters what happened: checks, trips, hours, photos")),
    (int(SET), later("also adds and changes machines")),
    (int(OWN), later("also lets people in and out")),
)
"""Number, and what it may do besides those before it."""

LINES_A_PAGE = 50


def roles_said() -> list[tuple[int, str, str]]:
    """Each role in the reader's language: number, word, what it may do."""
    return [(number, role_said(number), say(does)) for number, does in ROLES]


@needs(OWN)
@require_safe
def people(request: HttpRequest) -> HttpResponse:
    """Everybody, and the links that still let somebody in."""
    said = {
        "people": Person.objects.order_by("-is_active", "name"),
        "invitations": open_invitations(),
        "now": timezone.now(),
    }
    return render(request, "doors/people.html", said)


@needs(OWN)
@require_safe
def person(request: HttpRequest, pk: int) -> HttpResponse:
    """One person, and what an owner may do about him."""
    return _page(request, get_object_or_404(Person, pk=pk))


def _page(request: HttpRequest, whom: Person, trouble: str = "", about: str = "") -> HttpResponse:
    said = {"whom": whom, "roles": roles_said(), "trouble": trouble, "about": about, "uid": uuid4()}
    return render(request, "doors/person.html", said, status=422 if trouble else 200)


@needs(OWN)
@require_POST
def role(request: HttpRequest, pk: int) -> HttpResponse:
    """Another role."""
    whom = get_object_or_404(Person, pk=pk)
    wanted = chosen_role(request)
    if wanted is None:
        return _page(request, whom, say("Choose one of the four roles."), "role")
    try:
        keeping.change_role(whom, wanted, by=request.user, address=address_of(request))
    except LastOwnerError as error:
        return _page(request, whom, str(error), "role")
    words = say(
        "The role of {name} is “{role}” from now on.", name=whom.name, role=role_said(wanted)
    )
    messages.success(request, words)
    # Who gave up the role himself may not see the page any more.
    return redirect("you") if request.user == whom and wanted != OWN else redirect("person", pk)


@needs(OWN)
@require_POST
def switch(request: HttpRequest, pk: int) -> HttpResponse:
    """Shut somebody out, or let him in again."""
    whom, address = get_object_or_404(Person, pk=pk), address_of(request)
    if request.POST.get("to") == "on":
        keeping.switch_on(whom, by=request.user, address=address)
        messages.success(request, say("{name} may sign in again.", name=whom.name))
    elif request.POST.get("to") == "off":
        try:
            keeping.switch_off(whom, by=request.user, address=address)
        except LastOwnerError as error:
            return _page(request, whom, str(error), "switch")
        words = say("{name} is switched off and signed out everywhere.", name=whom.name)
        messages.success(request, words)
    else:
        return _page(request, whom, say("Neither on nor off was asked for."), "switch")
    return redirect("person", pk)


@needs(OWN)
@require_POST
def sign_out_person(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign somebody out everywhere: a phone was lost."""
    whom = get_object_or_404(Person, pk=pk)
    keeping.end_sessions(whom, by=request.user, address=address_of(request))
    messages.success(request, say("{name} is signed out everywhere.", name=whom.name))
    return redirect("person", pk)


@needs(OWN)
@require_safe
def changes(request: HttpRequest) -> HttpResponse:
    """Who changed what, the newest first; `?before=` goes on from a line."""
    lines, before = AuditLine.objects.order_by("-pk"), request.GET.get("before", "")
    if before.isascii() and before.isdigit() and len(before) < 19:
        lines = lines.filter(pk__lt=int(before))
    found = list(lines[: LINES_A_PAGE + 1])
    shown = found[:LINES_A_PAGE]
    older = shown[-1].pk if len(found) > LINES_A_PAGE else None
    return render(request, "doors/changes.html", {"lines": shown, "older": older})


def chosen_role(request: HttpRequest) -> int | None:
    """The role that a form asks for, None where it names none."""
    said = request.POST.get("role", "")
    return next((number for number, *_ in ROLES if str(number) == said), None)
