"""Setting the threshold: false trips against reach, as a curve with today's point on it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from tripmargin.ground.errors import MachineFileError, NotKnownError
from tripmargin.ground.languages import say
from tripmargin.protection.setting.threshold_words import CAUTIONS
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.machines.working import a_few_at_once
from tripmargin.web.setting.asked import said_in
from tripmargin.web.setting.curve_form import CurveForm
from tripmargin.web.setting.curve_shown import curve_page
from tripmargin.web.setting.noise_noted import noted_noise
from tripmargin.web.setting.races import CURVES

WHOLE, PART = "setting/threshold.html", "setting/threshold_found.html"


@needs(LOOK)
@require_safe
def threshold(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The page at once; the curve a moment later, unless it was worked out before."""
    machine = machine_at(uid)
    version = version_at(machine)
    form = CurveForm.of(said_in(request), noted_noise(machine))
    page = {**frame(machine, version), "form": form}
    if not form.good:
        return render(request, WHOLE, page, status=422)
    if request.GET.get("show") or CURVES.there(form.key(version)):
        return _found(request, form, version, page)
    return render(request, WHOLE, {**page, "later": form.query() or "show"})


@a_few_at_once
def _found(
    request: Any, form: CurveForm, version: MachineVersion, page: dict[str, Any]
) -> HttpResponse:
    us = us_units(request)
    look = {"width": picture_width(request), "sun": in_the_sun(request), "us": us}
    template = PART if request.htmx else WHOLE
    try:
        with CURVES.of(form.key(version), lambda: form.work(version)) as work:
            page |= curve_page(form, work, us=us, look=look)
    except (NotKnownError, MachineFileError) as error:
        page["trouble"] = str(error)
    return render(request, template, page)


def frame(machine: Machine, version: MachineVersion) -> dict[str, Any]:
    """What both pages about the threshold share."""
    return {
        "machine": machine,
        "way": "measure",
        "here": "machines",
        "version": version,
        "cautions": [say(caution) for caution in CAUTIONS],
    }
