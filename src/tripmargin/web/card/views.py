"""The page of a machine's phone card: to take it along, and to bring back what was entered."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.records.keeping.entries import names_of, newest_version
from tripmargin.records.keeping.machines import machine_of, safe_name
from tripmargin.records.standing.past_settings import past_settings
from tripmargin.records.store.models import Machine
from tripmargin.reports.card.page import card_page
from tripmargin.web.card.bringing import bring_in
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import LOG, LOOK, needs
from tripmargin.web.frame import us_units
from tripmargin.web.machines.finding import machine_at
from tripmargin.web.machines.working import a_few_at_once
from tripmargin.web.whats_wrong.keeper import FIRST_TIME, problem_of


@needs(LOOK, to_write=LOG)
@require_http_methods(["GET", "HEAD", "POST"])
@limited("card", times=60, within=timedelta(minutes=10), with_files=True)
def card(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What the card is, how it gets onto a phone, and where what was entered comes back."""
    machine = machine_at(uid)
    page = _page(machine)
    if request.method != "POST":
        return render(request, "card/card.html", page)
    brought = bring_in(machine, request.FILES.getlist("files"), by=request.user)
    if brought.trouble:
        return render(request, "card/card.html", {**page, "trouble": brought.trouble}, status=422)
    messages.success(request, brought.words)
    return redirect("machine-log", uid=uid)


@needs(LOOK)
@require_safe
@a_few_at_once
def file(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The card itself; where the machine's faults are not worked out yet, the page that waits."""
    machine = machine_at(uid)
    version = newest_version(machine)
    if version is None:
        return redirect("machine-card", uid=uid)
    reading = problem_of(version)
    if not reading.done.is_set():
        return redirect("machine-card", uid=uid)
    pawls, _ = names_of(machine)
    without = ""
    if reading.trouble:
        without = f"{say('This card cannot find faults.')} {reading.trouble}"
    try:
        text = card_page(
            machine_of(version), us=us_units(request), version=version.number,
            history=past_settings(machine, pawls), problem=reading.problem,
            no_faults=without,
        )  # fmt: skip
    except TripmarginError as error:
        page = {**_page(machine), "cannot": str(error)}
        return render(request, "card/card.html", page, status=422)
    made = HttpResponse(text, content_type="text/html; charset=utf-8")
    name = f"card-{safe_name(machine.name).removesuffix('.toml')}.html"
    made.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return made


def _page(machine: Machine) -> dict[str, Any]:
    version = newest_version(machine)
    reading = None if version is None else problem_of(version)
    return {
        "machine": machine,
        "version": version,
        "reading": None if reading is None or reading.done.is_set() else reading,
        "share": 0.0 if reading is None else min(reading.seconds / FIRST_TIME, 0.95),
        "way": "card",
        "here": "machines",
    }
