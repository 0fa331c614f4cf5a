"""The list of machines: which are protected, which are due."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from tripmargin.records.standing.at_a_glance import machines_at_a_glance
from tripmargin.records.store.models import Machine
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import us_units


@needs(LOOK)
@require_GET
def machines(request: HttpRequest) -> HttpResponse:
    """Every machine, with its state at a glance."""
    glances = machines_at_a_glance(us=us_units(request))
    counts = [
        (words, look, sum(1 for one in glances if one.state == state))
        for state, words, look in (
            ("not", "not protected", "not"),
            ("doubtful", "doubtful", "doubtful"),
            ("not known", "not known", "unknown"),
            ("protected", "protected", "protected"),
        )
    ]
    page = {"glances": glances, "counts": [c for c in counts if c[2]], "here": "machines"}
    return render(request, "machines/list.html", page)


@needs(LOOK)
@require_GET
def away(request: HttpRequest) -> HttpResponse:
    """The machines that were put away."""
    found = Machine.objects.exclude(put_away_at=None).order_by("name")
    return render(request, "machines/away.html", {"machines": found, "here": "machines"})
