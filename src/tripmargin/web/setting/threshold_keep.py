"""A picked threshold kept as a new version of the machine's file: looked at first."""

from __future__ import annotations

import difflib
from datetime import timedelta
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import numeral, say
from tripmargin.machine.rewriting import with_values
from tripmargin.protection.setting.threshold_words import volts
from tripmargin.records.keeping.machines import add_version, machine_of, read_machine_file
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import SET, needs
from tripmargin.web.frame import us_units
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.machines.keeping import MEANWHILE, WhyForm, done, sent_twice
from tripmargin.web.machines.turns import in_file
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.setting.asked import said_in
from tripmargin.web.setting.curve_form import LEAST, MOST
from tripmargin.web.setting.curve_shown import same
from tripmargin.web.setting.threshold import frame

FIELD = "detector.threshold"
_TEMPLATE = "setting/threshold_keep.html"


@needs(SET)
@require_http_methods(["GET", "HEAD", "POST"])
@limited("upload", times=60, within=timedelta(minutes=10))
def keep(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What the new version would say otherwise; then the version, proved."""
    machine = machine_at(uid)
    version = version_at(machine)
    loaded = machine_of(version)
    posted = request.method == "POST"
    said = said_in(request)
    box = Number("at", say("Threshold"), "V", LEAST, MOST, said.get("at", ""))
    at, now = box.read(), loaded.get(FIELD)
    if at is not None:  # from an address, which has a point
        box.text = numeral(at, ".6g")
    page = {**frame(machine, version), "box": box, "next": version.number + 1}
    if now is None:
        page["trouble"] = say("The machine's file gives no threshold (detector.threshold).")
    if at is None or now is None:
        return render(request, _TEMPLATE, page, status=422 if said.get("at") or posted else 200)
    if same(at, now.nominal):
        if posted and sent_twice(request, version):
            return done(request, machine, version, new=False)
        return render(request, _TEMPLATE, {**page, "unchanged": True})
    try:
        text = with_values(version.text, {FIELD: at}, machine=loaded)
        text, made = read_machine_file(text.encode(), version.file_name)
    except MachineFileError as error:
        return render(request, _TEMPLATE, {**page, "trouble": str(error)}, status=422)
    form = page["form"] = WhyForm(request.POST if posted else None,
                                  initial={"note": _why(now.nominal, at)})  # fmt: skip
    us = us_units(request)
    page |= {
        "kept": True,
        "was": in_file(now, us=us),
        "then": in_file(made.get(FIELD), us=us),
        "lines": [
            line
            for line in difflib.ndiff(version.text.splitlines(), text.splitlines())
            if line[:2] in ("- ", "+ ")
        ],
    }
    if posted and form.is_valid():
        if request.POST.get("version") == str(version.number):
            added, new = add_version(
                machine, text, made, file_name=version.file_name, who=request.user,
                note=form.cleaned_data["note"],
            )  # fmt: skip
            return done(request, machine, added, new=new)
        page["trouble"] = say(MEANWHILE)
    return render(request, _TEMPLATE, page, status=422 if posted else 200)


def _why(was: float, then: float) -> str:
    return say("Threshold set from {was} to {then}.", was=volts(was), then=volts(then))
