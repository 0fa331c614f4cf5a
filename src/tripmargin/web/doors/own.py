"""What a person sets for himself: units, sun mode, password."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from tripmargin.web.doors.roles import ANYBODY, LOOK, needs
from tripmargin.web.doors.signing_in import safe_next
from tripmargin.web.frame import SUN_COOKIE, in_the_sun


@needs(LOOK)
def you(request: HttpRequest) -> HttpResponse:
    """Oneself."""
    return render(request, "doors/you.html", {"here": "you"})


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
