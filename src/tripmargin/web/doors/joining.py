"""Coming in by a one-time link: the first owner, somebody invited, somebody with a new password."""

from __future__ import annotations

from django.contrib.auth import login
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from tripmargin.ground.languages import say
from tripmargin.records.keeping.invitations import LinkError, accept, invitation_of
from tripmargin.records.keeping.people import PersonError
from tripmargin.web.doors.limits import address_of
from tripmargin.web.doors.passwords import Join, NewPassword
from tripmargin.web.doors.refusals import refusal
from tripmargin.web.doors.roles import ANYBODY, needs

BACKEND = "django.contrib.auth.backends.ModelBackend"


@needs(ANYBODY)
@require_http_methods(["GET", "POST"])
def join(request: HttpRequest, token: str) -> HttpResponse:
    """Ask for name and password; a look at the page does not use the link up."""
    try:
        invitation = invitation_of(token)
    except LinkError as error:
        return _void(request, error)
    kind = NewPassword if invitation.person else Join
    form = kind(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        try:
            person = accept(
                token, name=form.cleaned_data.get("name", ""),
                password=form.cleaned_data["password"], address=address_of(request),
            )  # fmt: skip
        except LinkError as error:
            return _void(request, error)
        except PersonError as error:
            for field, words in error.wrong.items():
                form.add_error(field, list(words))
        else:
            login(request, person, backend=BACKEND)
            return redirect("machines")
    said = {"form": form, "invitation": invitation}
    return render(request, "doors/join.html", said, status=422 if form.errors else 200)


def _void(request: HttpRequest, error: LinkError) -> HttpResponse:
    words = say(
        "{trouble} Ask an owner of this workshop for a new one. Where there is no owner yet, start"
        " the server again: it prints a new link.",
        trouble=error,
    )
    return refusal(request, 404, say("This link is void"), words)
