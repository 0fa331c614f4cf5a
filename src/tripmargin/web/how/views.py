"""How a machine stops: what to play, and the page that plays it.

The page that plays is served by itself and not in a frame: it has the whole of a phone's or a
projector's screen, is the same as the single file, and runs under its own policy, which lets it
load nothing at all.
"""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import language
from tripmargin.ground.units import shown
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.protection.remembered import Remembered
from tripmargin.records.keeping.machines import safe_name
from tripmargin.records.store.models import Machine
from tripmargin.reports.how.page import how_page, how_policy
from tripmargin.sensing import Piece
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import in_the_sun, us_units
from tripmargin.web.how.placed import Placed
from tripmargin.web.machines.asked import asked
from tripmargin.web.machines.turns import Turns, piece_names
from tripmargin.web.machines.working import a_few_at_once

_PAGES = Remembered[tuple[object, ...], str](8)  # some 350 kB each


@needs(LOOK)
@require_safe
def how(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What is to be played: the cut and the piece, with whatever else was turned."""
    found, loaded, turns = asked(request, uid)
    placed = Placed.of(loaded, request.GET, us=us_units(request))
    return render(request, "how/how.html", _page(request, found, loaded, turns, placed))


@needs(LOOK)
@require_safe
@a_few_at_once
def play(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The page that plays it; as a file to keep where `save` is asked for."""
    found, loaded, turns = asked(request, uid)
    us = us_units(request)
    placed = Placed.of(loaded, request.GET, us=us)
    page = _page(request, found, loaded, turns, placed)
    if turns.wrong or placed.wrong:
        return render(request, "how/how.html", page, status=422)
    save = "save" in request.GET
    back = "" if save else f"{reverse('machine-how', kwargs={'uid': uid})}?{page['query']}"
    sun = in_the_sun(request) and not save
    at = (placed.x, placed.height)
    key = (loaded, turns.cut_length, turns.piece, turns.query, at, us, sun, back, language())
    try:
        text = _PAGES.get(key, lambda: _played(loaded, turns, placed, us=us, sun=sun, back=back))
    except (TripmarginError, ValueError) as error:
        page["cannot"] = str(error)
        return render(request, "how/how.html", page, status=422)
    answer = HttpResponse(text, content_type="text/html; charset=utf-8")
    answer.headers["Content-Security-Policy"] = f"{how_policy()}; frame-ancestors 'none'"
    if save:
        name = f"how-{safe_name(found.name).removesuffix('.toml')}.html"
        answer.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _played(
    loaded: LoadedMachine, turns: Turns, placed: Placed, *, us: bool, sun: bool, back: str
) -> str:
    """The page's text; where settings are turned, with the machine's file beside them."""
    settings = turns.settings(loaded)
    return how_page(
        loaded.with_settings(settings) if settings else loaded,
        cut_length=turns.cut_length, piece=Piece.from_text(turns.piece),
        x=placed.x, height=placed.height,
        before=loaded if settings else None, us=us, sun=sun, back=back,
    )  # fmt: skip


def _page(
    request: HttpRequest, found: Machine, loaded: LoadedMachine, turns: Turns, placed: Placed
) -> dict[str, Any]:
    return {
        "machine": found,
        "turns": turns,
        "placed": placed,
        "cuts": _cuts(turns, us=us_units(request)),
        "pieces": piece_names(loaded),
        "kept": _kept(turns),
        "query": "&".join(part for part in (_query(turns), placed.query) if part),
        "unit": "in" if us_units(request) else "mm",
        "way": "how",
        "here": "machines",
    }


def _cuts(turns: Turns, *, us: bool) -> list[tuple[str, str, bool]]:
    """Cut lengths to pick from: the box's value, its words, whether it is picked."""
    lengths = sorted({*turns.offered, turns.cut_length})
    return [
        (f"{cut / turns.cut.size:.6g}", shown(cut, "length", us=us, digits=3),
         cut == turns.cut_length)
        for cut in lengths
    ]  # fmt: skip


def _kept(turns: Turns) -> list[tuple[str, str, str]]:
    """What else is turned, so that it is not lost: the box's name, its value, its words."""
    made = [
        (one.name, f"{one.value:g}", f"{one.label}: {one.shown}")
        for one in turns.sliders
        if one.moved
    ]
    if turns.suppression:
        made.append(("suppression", turns.suppression, turns.suppression))
    return made


def _query(turns: Turns) -> str:
    """All that is picked, as an address says it."""
    cut = urlencode({"cut": f"{turns.cut.value:g}", "piece": turns.piece})
    return "&".join(part for part in (cut, turns.query) if part)
