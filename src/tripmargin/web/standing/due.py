"""What is due, over all machines."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from tripmargin.ground.languages import say
from tripmargin.records.standing.at_a_glance import Glance, machines_at_a_glance
from tripmargin.records.standing.due import URGENCIES
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import us_units


@dataclass(frozen=True, slots=True)
class Group:
    """Machines whose most urgent thing is equally urgent."""

    title: str
    machines: list[Glance]


@needs(LOOK)
@require_safe
def due(request: HttpRequest) -> HttpResponse:
    """What is due, the most urgent first, by machine."""
    found = machines_at_a_glance(us=us_units(request))
    with_due = sorted((one for one in found if one.due), key=lambda one: (one.urgency, one.name))
    groups = [
        Group(say(URGENCIES[urgency]), list(machines))
        for urgency, machines in groupby(with_due, key=lambda one: one.urgency)
    ]
    nothing = [one for one in found if not one.due]
    context = {"here": "due", "groups": groups, "nothing": nothing, "any": bool(found)}
    return render(request, "standing/due.html", context)
