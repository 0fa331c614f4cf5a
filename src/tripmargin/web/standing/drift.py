"""How one machine drifts."""

from __future__ import annotations

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from tripmargin.records.standing.against_proof import closer_trips
from tripmargin.records.standing.asked import newest_version
from tripmargin.records.standing.at_a_glance import glance_at
from tripmargin.records.standing.drift import drift_of
from tripmargin.records.standing.drift_words import figures
from tripmargin.records.standing.gaps_in_file import outside_window
from tripmargin.records.standing.pawl_names import pawl_said
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.standing.charts import charts
from tripmargin.web.standing.covering import covering
from tripmargin.web.standing.pages import machine_at


@needs(LOOK)
@require_safe
def drift(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Signs first in words, then every figure with its picture and the table behind it."""
    machine, now, us = machine_at(uid), timezone.now(), us_units(request)
    found = drift_of(machine, now, us=us)
    coming = found.demand.found is not None and covering.want(newest_version(machine))
    told = figures(found, us)
    glance = glance_at(machine, now, us=us)
    context = {
        "here": "machines",
        "machine": machine,
        "way": "drift",
        "glance": glance,
        "outside": [pawl_said(gap.pawl) for gap in outside_window(glance.facts, now)],
        "drift": found,
        "figures": told,
        "demand": told[-1],
        "coverage_coming": coming,
        "closer": [one.words(us=us) for one in closer_trips(machine)],
        "charts": charts(found, us=us, sun=in_the_sun(request), width=picture_width(request))
        if found.entries
        else [],
    }
    return render(request, "standing/drift.html", context)
