"""A form that came in after the session had ended: kept, shown after signing in, sent again."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from tripmargin.records.keeping.limits import take_turn
from tripmargin.web.doors.limits import address_of
from tripmargin.web.doors.roles import LOOK, needs

TYPED = "typed"
MOST = 200_000  # letters; a machine file pasted as text is a few thousand
_NOT_KEPT = ("csrfmiddlewaretoken",)


def keep_typed(request: HttpRequest) -> bool:
    """Keep a form's fields in the session of whoever is not signed in; whether there was one.

    A form with a password is not kept at all, whatever the boxes beside it are called: the session
    lies in the database, and the page would show what is in it.
    """
    if any("password" in key for key in request.POST):
        return False
    fields = [
        [key, value]
        for key, values in request.POST.lists()
        for value in values
        if key not in _NOT_KEPT
    ]
    if not fields or sum(len(key) + len(value) for key, value in fields) > MOST:
        return False
    # Whoever may not come in must not fill the disk either.
    if take_turn("typed", address_of(request), times=60, within=timedelta(minutes=10)) is not None:
        return False
    request.session[TYPED] = {
        "path": request.get_full_path(),
        "fields": fields,
        "files": sorted(request.FILES),
    }
    return True


def forget_typed(request: HttpRequest) -> None:
    """Forget the kept form once it came in at its address."""
    kept = request.session.get(TYPED)
    if kept and kept["path"] == request.get_full_path():
        del request.session[TYPED]


@needs(LOOK)
@require_http_methods(["GET", "POST"])
def again(request: HttpRequest) -> HttpResponse:
    """What was typed before signing in, to be sent now or thrown away."""
    kept: dict[str, Any] | None = request.session.get(TYPED)
    if request.method == "POST":
        request.session.pop(TYPED, None)
        return redirect("machines")
    if kept is None:
        return redirect("machines")
    shown = [
        (key.removeprefix("v."), value) for key, value in kept["fields"] if value and key != "uid"
    ]
    return render(request, "doors/again.html", {"kept": kept, "shown": shown})
