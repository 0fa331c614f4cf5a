"""Whom to visit first."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from tripmargin.records.standing.fleet import fleet as ranked
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import us_units


@needs(LOOK)
@require_safe
def fleet(request: HttpRequest) -> HttpResponse:
    """All machines in the order of visits, each with its reason."""
    visits = ranked(us=us_units(request))
    return render(request, "standing/fleet.html", {"here": "due", "visits": visits})
