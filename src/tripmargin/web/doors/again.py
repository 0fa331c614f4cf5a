"""A form that came in after the session had ended: kept, shown after signing in, sent again."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from tripmargin.web.doors.roles import LOOK, needs

TYPED = "typed"
MOST = 200_000  # letters; a machine file pasted as text is a few thousand
_NOT_KEPT = ("csrfmiddlewaretoken",)


def keep_typed(request: HttpRequest) -> bool:
    """Keep a form's fields in the session of whoever is not signed in; whether there was one.

    No password is kept: the session lies in the database.
    """
    fields = [
        [key, value]
        for key, values in request.POST.lists()
        for value in values
        if key not in _NOT_KEPT and "password" not in key
    ]
    if not fields or sum(len(key) + len(value) for key, value in fields) > MOST:
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
