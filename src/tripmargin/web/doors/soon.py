"""A page that is being built, so that links to it hold."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse

from tripmargin.web.doors.roles import LOOK, needs


@needs(LOOK)
def soon(request: HttpRequest, **_: Any) -> HttpResponse:
    """Say so."""
    return HttpResponse("Being built.", status=501)
