"""What a person sets for himself: units, password, sessions, sun mode."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from tripmargin.ground.languages import say
from tripmargin.records.keeping.audit import note_change
from tripmargin.records.keeping.limits import forget_tries, try_to_sign_in
from tripmargin.records.keeping.people import (
    PersonError,
    change_password,
    choose_units,
    end_sessions,
)
from tripmargin.web.doors.limits import address_of
from tripmargin.web.doors.passwords import OwnPassword
from tripmargin.web.doors.roles import ANYBODY, LOOK, needs
from tripmargin.web.doors.signing_in import safe_next, too_many
from tripmargin.web.frame import SUN_COOKIE, in_the_sun


@needs(LOOK)
@require_safe
def you(request: HttpRequest) -> HttpResponse:
    """Oneself."""
    return _page(request, OwnPassword(), 200)


def _page(request: HttpRequest, form: OwnPassword, status: int) -> HttpResponse:
    return render(request, "doors/you.html", {"here": "you", "form": form}, status=status)


@needs(LOOK)
@require_POST
def units(request: HttpRequest) -> HttpResponse:
    """Metric or US units, from now on."""
    choose_units(request.user, us=request.POST.get("units") == "us")
    return redirect("you")


@needs(LOOK)
@require_POST
def password(request: HttpRequest) -> HttpResponse:
    """A new password; whoever else is signed in under this name is signed out."""
    form, person = OwnPassword(request.POST), request.user
    if form.is_valid() and _knows_the_old(request, form, person):
        try:
            change_password(
                person, form.cleaned_data["password"], by=person, address=address_of(request)
            )
        except PersonError as error:
            form.add_error("password", list(error.wrong["password"]))
        else:
            update_session_auth_hash(request, person)
            messages.success(
                request, say("Your password is changed. Other browsers are signed out.")
            )
            return redirect("you")
    return _page(request, form, 422)


def _knows_the_old(request: HttpRequest, form: OwnPassword, person: Any) -> bool:
    """Guessing is slowed down here too: the phone may lie open on a bench."""
    wait = try_to_sign_in(person.name, address_of(request))
    if wait is not None:
        form.add_error("old", too_many(wait))
        return False
    if person.check_password(form.cleaned_data["old"]):
        forget_tries(person.name)
        return True
    note_change("password not changed", person.name, who=person, address=address_of(request))
    form.add_error("old", say("This is not your password."))
    return False


@needs(LOOK)
@require_POST
def sign_out_everywhere(request: HttpRequest) -> HttpResponse:
    """Out here and in every other browser."""
    person = request.user
    end_sessions(person, by=person, address=address_of(request))
    logout(request)
    return redirect("sign-in")


@needs(ANYBODY)
@require_POST
def sun(request: HttpRequest) -> HttpResponse:
    """Turn sun mode on or off for this browser."""
    response = redirect(safe_next(request))
    response.set_cookie(
        SUN_COOKIE, "0" if in_the_sun(request) else "1", max_age=365 * 86400, samesite="Lax",
        httponly=True, secure=request.is_secure(),
    )  # fmt: skip
    return response
