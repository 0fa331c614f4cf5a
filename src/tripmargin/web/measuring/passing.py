"""Test passes: which piece to pass, what came of it, and what all of them tell."""

from __future__ import annotations

from typing import Any
from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from tripmargin.ground.cautions import PASSING
from tripmargin.ground.languages import say, say_as
from tripmargin.ground.languages.own_words import as_written
from tripmargin.ground.typed import spelled_quantity
from tripmargin.ground.units import shown
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine.ageing import MeasuredInput
from tripmargin.pictures import protection_map_picture
from tripmargin.protection import Proof
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.machines.finding import machine_at
from tripmargin.web.machines.naming import called
from tripmargin.web.machines.working import a_few_at_once
from tripmargin.web.measuring import proving
from tripmargin.web.measuring.learning import Asked
from tripmargin.web.measuring.showing import file_words, page_of

_YOUNG = 0.05  # years in which no drift shows


@needs(LOOK)
@require_GET
def measure(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The page at once; what takes time comes a moment later, unless it was worked out before."""
    asked = Asked.of(machine_at(uid))
    learned = asked.kept()
    more = {"later": True} if learned is None else page_of(request, asked, learned)
    return render(request, "measuring/page.html", {**_frame(asked), **more})


@needs(LOOK)
@require_GET
@a_few_at_once
def learned(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The piece to pass next, and what was learned: a part of the page, or all of it."""
    asked = Asked.of(machine_at(uid))
    page = {**_frame(asked), **page_of(request, asked, asked.learned())}
    template = "measuring/learned.html" if request.htmx else "measuring/page.html"
    return render(request, template, page)


@needs(LOOK)
@require_GET
@a_few_at_once
def proved(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The machine's protection before and after what was learned: worked out beside the pages."""
    asked = Asked.of(machine_at(uid))
    made = asked.learned().calibration
    page = _frame(asked)
    if made is not None:
        both = {"before": asked.loaded, "after": made.machine}
        work = proving.PROVER.ask(asked.key, both)
        page |= {"trouble": work.trouble, "on_its_way": not work.done.is_set()}
        page["proofs"] = [_in_short(request, name, one) for name, one in work.proofs.items()]
    template = "measuring/proved.html" if request.htmx else "measuring/proved_page.html"
    return render(request, template, page)


def _frame(asked: Asked) -> dict[str, Any]:
    return {
        "machine": asked.machine,
        "way": "measure",
        "here": "machines",
        "version": asked.version,
        "passing": say(PASSING),
        "uid": uuid4(),
    }


def _in_short(request: HttpRequest, name: str, proof: Proof) -> dict[str, Any]:
    us = us_units(request)

    def said(value: float | None) -> str:
        return say_as("a size", "none") if value is None else shown(value, "length", us=us)

    found = proof.protection_map
    look: dict[str, Any] = {"width": picture_width(request), "sun": in_the_sun(request), "us": us}
    return {
        "name": say("Before, by the file") if name == "before" else say("After"),
        "verdict": proof.verdict,
        "ball": said(proof.smallest_protected_ball),
        "cut": said(proof.longest_protected_cut),
        "map": "" if found is None else protection_map_picture(found, **look),
    }


def measured_in(machine: LoadedMachine, *, us: bool) -> list[tuple[str, str, str]]:
    """Which inputs of a machine's file are measured: name, path, and value, when, by whom, age."""
    from django.utils import timezone

    from tripmargin.machine.ageing import aged

    found = aged(machine, timezone.now().date())[1]
    return [(called(one.field), one.field, _measured_words(one, us)) for one in found]


def _measured_words(one: MeasuredInput, us: bool) -> str:
    said = _measured_how(one, us)
    if one.drift is None:
        return say("{measured}; no drift is stated, so its age changes nothing", measured=said)
    drift = spelled_quantity(one.drift)
    if one.now is one.filed or one.seasons < _YOUNG:
        return say("{measured}; it may drift by {drift} a year", measured=said, drift=drift)
    return say(
        "{measured}; taken as {now} after {years:.1f} years at {drift} a year",
        measured=said,
        now=file_words(one.now, us=us),
        years=one.seasons,
        drift=drift,
    )


def _measured_how(one: MeasuredInput, us: bool) -> str:
    told = {
        "value": file_words(one.filed, us=us),
        "day": one.on.isoformat(),
        "who": one.by,
        "how": as_written(one.how) if one.how else "",
    }
    if one.by and one.how:
        return say("{value}, measured {day} by {who} with {how}", **told)
    if one.by:
        return say("{value}, measured {day} by {who}", **told)
    if one.how:
        return say("{value}, measured {day} with {how}", **told)
    return say("{value}, measured {day}", **told)
