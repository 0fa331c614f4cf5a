"""Signing in and out."""

from __future__ import annotations

from django import forms
from django.contrib.auth import authenticate, login, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST

from tripmargin.web.doors.roles import ANYBODY, needs


class SignIn(forms.Form):
    """Name and password."""

    name = forms.CharField(max_length=60, label="Name")
    password = forms.CharField(widget=forms.PasswordInput, label="Password", max_length=200)


def safe_next(request: HttpRequest, fallback: str = "/") -> str:
    """Where to go on to: an address of this server, never of another."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    own = url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure())
    return wanted if own else fallback


@needs(ANYBODY)
@require_http_methods(["GET", "POST"])
def sign_in(request: HttpRequest) -> HttpResponse:
    """The door."""
    form = SignIn(request.POST or None)
    if request.method == "POST" and form.is_valid():
        person = authenticate(
            request, username=form.cleaned_data["name"], password=form.cleaned_data["password"]
        )
        if person is not None:
            login(request, person)
            return redirect(safe_next(request))
        form.add_error(None, "Name and password do not fit together.")
    return render(request, "doors/sign_in.html", {"form": form, "next": safe_next(request)})


@needs(ANYBODY)
@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """Out, and back to the door."""
    logout(request)
    return redirect("sign-in")
