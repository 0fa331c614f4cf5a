"""Signing in and out."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST

from tripmargin.ground.languages import later, say
from tripmargin.records.keeping.audit import note_change
from tripmargin.records.keeping.limits import forget_tries, try_to_sign_in
from tripmargin.records.keeping.people import has_owner, same_name
from tripmargin.records.store.models.people import LONGEST_NAME
from tripmargin.web.doors.limits import address_of, in_words, with_wait
from tripmargin.web.doors.passwords import password_field
from tripmargin.web.doors.roles import ANYBODY, needs
from tripmargin.web.said_later import NEEDED, said_later

NO_FIT = later("Name and password do not fit together.")


class SignIn(forms.Form):
    """Name and password."""

    name = forms.CharField(
        max_length=LONGEST_NAME, label=said_later(later("Name")),
        error_messages={"required": said_later(NEEDED)},
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "words"}),
    )  # fmt: skip
    password = password_field(later("Password"))


def safe_next(request: HttpRequest, fallback: str = "/") -> str:
    """Where to go on to: an address of this server, never of another."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    own = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure())
    # Without its slash it would be taken for the name of a page, and there may be none of it.
    return wanted if own and wanted.startswith("/") else fallback


@needs(ANYBODY)
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """The door."""
    form = SignIn(request.POST or None)
    if request.method == "GET":
        return _door(request, form, 200)
    if not form.is_valid():
        return _door(request, form, 422)
    name, password = same_name(form.cleaned_data["name"]), form.cleaned_data["password"]
    wait = try_to_sign_in(name, address_of(request))
    if wait is not None:
        form.add_error(None, too_many(wait))
        return with_wait(_door(request, form, 429), wait)
    person: Any = authenticate(request, username=name, password=password)
    if person is None:
        note_change("sign-in refused", name, address=address_of(request))
        form.add_error(None, say(NO_FIT))
        return _door(request, form, 422)
    forget_tries(name)
    login(request, person)
    note_change("signed in", person.name, who=person, address=address_of(request))
    return redirect(safe_next(request))


def too_many(wait: timedelta) -> str:
    """What somebody is told who tried too often."""
    return say("Too many tries. Wait {wait}, then try again.", wait=in_words(wait))


def _door(request: HttpRequest, form: SignIn, status: int) -> HttpResponse:
    said = {"form": form, "next": safe_next(request), "no_owner": not has_owner()}
    return render(request, "doors/sign_in.html", said, status=status)


@needs(ANYBODY)
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Out, and back to the door."""
    logout(request)
    return redirect("sign-in")
