"""One-time links that an owner makes: shown once, as an address and as a picture for a phone."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from tripmargin.ground.languages import say
from tripmargin.records.keeping.invitations import Link, LinkError, invite, take_back
from tripmargin.records.store.models import Invitation, Person
from tripmargin.web.doors.limits import address_of
from tripmargin.web.doors.people import chosen_role, roles_said
from tripmargin.web.doors.refusals import refusal
from tripmargin.web.doors.roles import LOG, OWN, needs
from tripmargin.web.serving.qr import qr_picture

LOOPBACK = ("localhost", "127.", "[::1]")


@needs(OWN)
@require_http_methods(["GET", "POST"])
def invitation(request: HttpRequest) -> HttpResponse:
    """Choose a role; the answer is the link."""
    uid, wanted, trouble = _uid(request), chosen_role(request), ""
    if request.method == "POST":
        if wanted is not None:
            return _link(request, wanted, None, uid)
        trouble = say("Choose one of the four roles.")
    said = {"roles": roles_said(), "uid": uid, "chosen": int(LOG), "trouble": trouble}
    return render(request, "doors/invite.html", said, status=422 if trouble else 200)


@needs(OWN)
@require_POST
def password_link(request: HttpRequest, pk: int) -> HttpResponse:
    """A link by which somebody gives himself a new password."""
    whom = get_object_or_404(Person, pk=pk)
    if not whom.is_active:
        messages.error(request, say("{name} is switched off. Switch him on first.", name=whom.name))
        return redirect("person", pk)
    return _link(request, whom.role, whom, _uid(request))


@needs(OWN)
@require_POST
def invitation_back(request: HttpRequest, pk: int) -> HttpResponse:
    """Make a link void that nobody used yet."""
    found = get_object_or_404(Invitation, pk=pk, person=None)
    take_back(found, by=request.user, address=address_of(request))
    messages.success(request, say("The link is void."))
    return redirect("people")


def _link(request: HttpRequest, role: int, whom: Person | None, uid: UUID) -> HttpResponse:
    try:
        link = invite(role=role, by=request.user, person=whom, uid=uid, address=address_of(request))
    except LinkError as error:
        words = say("{trouble} Make a new one.", trouble=error)
        return refusal(request, 409, say("This link is void"), words)
    address = _address(request, link)
    said = {
        "link": link, "whom": whom, "address": address, "qr": qr_picture(address),
        "here_only": address.startswith(tuple(f"http://{name}" for name in LOOPBACK)),
    }  # fmt: skip
    return render(request, "doors/link.html", said)


def _address(request: HttpRequest, link: Link) -> str:
    """The link as others reach it: an owner at the server itself sees it as localhost."""
    path = reverse("join", args=[link.token])
    if settings.YARD_ADDRESS and request.get_host().startswith(LOOPBACK):
        return f"{settings.YARD_ADDRESS.rstrip('/')}{path}"
    return str(request.build_absolute_uri(path))


def _uid(request: HttpRequest) -> UUID:
    """The form's own id, made anew where it names none."""
    try:
        return UUID(request.POST.get("uid", ""))
    except ValueError:
        return uuid4()
