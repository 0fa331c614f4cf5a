"""Nobody gets further than the door without signing in."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from urllib.parse import quote

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from tripmargin.web.doors.again import forget_typed, keep_typed
from tripmargin.web.doors.roles import ANYBODY


class SignedIn:
    """Sends whoever is not signed in to the door, for every page that does not say ANYBODY."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass on; the view is not known yet here."""
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], *_: Any
    ) -> HttpResponse | None:
        """Refuse a view without a role, and whoever is not signed in."""
        role = getattr(view, "role", None)
        if role is None:
            raise LookupError(f"{view.__module__}.{view.__name__} does not say what it needs")
        if role == ANYBODY:
            return None
        if request.user.is_authenticated:
            if request.method == "POST":
                forget_typed(request)
            return None
        wanted = request.get_full_path()
        if request.method == "POST":
            wanted = reverse("again") if keep_typed(request) else reverse("machines")
        door = f"{reverse('sign-in')}?next={quote(wanted)}"
        if getattr(request, "htmx", False):
            # A part of a page would put the door into the middle of it.
            return HttpResponse(status=204, headers={"HX-Redirect": door})
        return redirect(door)
