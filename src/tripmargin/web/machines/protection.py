"""A machine's page: where it stands on its protection map, and what a turn of a setting does."""

from __future__ import annotations

from typing import Any
from uuid import UUID

import numpy as np
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import language, say
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.units import percent as percent_words
from tripmargin.ground.units import shown
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.pictures import (
    feed_path_picture,
    feed_path_table,
    protection_map_picture,
    race_picture,
    race_table,
)
from tripmargin.pictures.proof_sections import page_sections, page_table
from tripmargin.protection import Proof, ProtectionMap, prove
from tripmargin.protection.live import OFF, live_protection
from tripmargin.protection.verdicts import VERDICT_WORDS
from tripmargin.records.standing.against_proof import closer_trips
from tripmargin.records.standing.at_a_glance import glance_at
from tripmargin.records.standing.proving_versions import PROGRAM, keep_proof, kept_proof
from tripmargin.records.store.models import MachineVersion
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.machines.asked import asked, part_of_page
from tripmargin.web.machines.finding import version_at
from tripmargin.web.machines.measure_next import advice
from tripmargin.web.machines.shown import Shown
from tripmargin.web.machines.turns import SUPPRESSIONS, Turns, piece_names
from tripmargin.web.machines.working import a_few_at_once

SLOW = 20.0
TURNING, LET_GO, EXACT = "turning", "let-go", "exact"
"""The steps of a turn: while a slider moves, when it is let go, and the exact figures then."""
_SHOWN = Shown()


@needs(LOOK)
@require_GET
def machine(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The page: the map at once, the rest when it is asked for."""
    found, loaded, turns = asked(request, uid)
    page = {
        "machine": found,
        "let_go": True,
        "way": "protection",
        "here": "machines",
        "loaded": loaded,
        "glance": glance_at(found, us=us_units(request)),
        "closer": [one.words(us=us_units(request)) for one in closer_trips(found)[:1]],
        "by_cut": _by_cut(version_at(found), us=us_units(request)),
        "turns": turns,
        "suppressions": {name: say(words) for name, words in SUPPRESSIONS.items()},
        "pieces": piece_names(loaded),
        **_at_once(request, loaded, turns),
    }
    return render(request, "machines/machine.html", page)


@needs(LOOK)
@require_GET
@a_few_at_once
def turned(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The part of the page that moves with the sliders: quick while one is turned, then exact.

    A page without a script gets the exact figures at once.
    """
    found, loaded, turns = asked(request, uid)
    step = request.GET.get("step", TURNING) if request.htmx else EXACT
    page = {"machine": found, "turns": turns, **_turned(request, loaded, turns, step == EXACT)}
    if not request.htmx:
        return part_of_page(request, "machines/turned.html", page)
    page |= {"oob": True, "let_go": step == LET_GO}
    return render(request, "machines/turned.html", page, status=422 if turns.wrong else 200)


@needs(LOOK)
@require_GET
@a_few_at_once
def because(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The whole proof, with its reasons and what to measure next: a second or two."""
    found, loaded, turns = asked(request, uid)
    us, sun = us_units(request), in_the_sun(request)
    as_it_is = not turns.changed and _cuts(turns) is None
    key = ("because", loaded, us, sun, language())
    page = _SHOWN.get(key) if as_it_is else None
    if page is None:
        page = _proved(loaded, turns, us, sun)
        if as_it_is:
            _SHOWN.keep(key, page)
    if as_it_is:  # also where it was drawn before: for another version of the same content
        _keep(version_at(found), page["proof"])
    return part_of_page(request, "machines/because.html", {**page, "machine": found})


def _proved(loaded: LoadedMachine, turns: Turns, us: bool, sun: bool) -> dict[str, Any]:
    changed = loaded.with_settings(turns.settings(loaded))
    proof = prove(changed, cut_lengths=_cuts(turns))
    return {
        "proof": proof,
        "table": page_table(proof, us),
        "sections": [one for one in page_sections(proof, us) if one.title != say("Measure next")],
        "listed_one": say("Because"),
        "advice": advice(proof, changed, us=us, sun=sun),
    }


def _keep(version: MachineVersion, proof: Proof) -> None:
    """The proof of the file as it is, for the list; once for each version and program."""
    kept = kept_proof(version)
    if kept is None or kept.program != PROGRAM:
        keep_proof(version, proof)


@needs(LOOK)
@require_GET
@a_few_at_once
def feed(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The feed path in side view, still or played in slow motion."""
    found, loaded, turns = asked(request, uid)
    us, changed = us_units(request), loaded.with_settings(turns.settings(loaded))
    made = live_protection(loaded).at(
        cut_length=turns.cut_length, piece=turns.piece, **turns.settings(loaded)
    )
    page = {
        "machine": found,
        "turns": turns,
        "playing": request.GET.get("play") == "1",
        "slow": SLOW,
        "picture": feed_path_picture(
            changed, made.race, width=picture_width(request), sun=in_the_sun(request), us=us,
            playing=request.GET.get("play") == "1", slow=SLOW, missing=made.needs,
        ),
        "table": None if made.race is None else feed_path_table(made.race, us),
    }  # fmt: skip
    return part_of_page(request, "machines/feed.html", page)


def _cuts(turns: Turns) -> list[float] | None:
    """The cuts on offer and the one in use; the machine's own where that is one of them."""
    if turns.cut_length in turns.offered:
        return None
    return sorted({*turns.offered, turns.cut_length})


def _by_cut(version: MachineVersion, *, us: bool) -> list[tuple[str, str]]:
    """Verdicts and the cuts that have them, from the proof that is kept; empty without one."""
    kept = kept_proof(version)
    cuts = kept.summary.get("cuts", []) if kept else []
    found: dict[str, list[str]] = {}
    for cut in cuts:
        found.setdefault(cut["verdict"], []).append(shown(cut["cut_length_m"], "length", us=us))
    return [
        (say(VERDICT_WORDS[verdict]), listed(dict.fromkeys(lengths)))
        for verdict, lengths in found.items()
    ]


def _at_once(request: HttpRequest, loaded: LoadedMachine, turns: Turns) -> dict[str, Any]:
    """What is there when the page comes: what was drawn before, and what was asked for by "Show".

    Else the page comes first, and the map a moment later.
    """
    if turns.changed or turns.wrong:
        return _turned(request, loaded, turns, exact=True)
    return _remembered(request, loaded, turns) or {"later": True}


def _remembered(
    request: HttpRequest, loaded: LoadedMachine, turns: Turns, *, exact: bool = False
) -> dict[str, Any] | None:
    """What was drawn of the file as it is: exact figures, else quick ones where they will do."""
    found = _SHOWN.get(_key(request, loaded, turns, exact=True))
    return found or (None if exact else _SHOWN.get(_key(request, loaded, turns, exact=False)))


def _key(
    request: HttpRequest, loaded: LoadedMachine, turns: Turns, *, exact: bool
) -> tuple[object, ...]:
    look = (picture_width(request), in_the_sun(request), us_units(request))
    return (loaded, turns.cut_length, turns.piece, exact, language(), *look)


def _turned(
    request: HttpRequest, loaded: LoadedMachine, turns: Turns, exact: bool
) -> dict[str, Any]:
    """Map, race and verdict where the sliders stand; remembered where nothing is turned."""
    if turns.changed or turns.wrong:
        return _drawn(request, loaded, turns, exact)
    key = _key(request, loaded, turns, exact=exact)
    found = _remembered(request, loaded, turns, exact=exact)
    return found or _SHOWN.keep(key, _drawn(request, loaded, turns, exact))


def _drawn(
    request: HttpRequest, loaded: LoadedMachine, turns: Turns, exact: bool
) -> dict[str, Any]:
    us = us_units(request)
    look: dict[str, Any] = {"width": picture_width(request), "sun": in_the_sun(request), "us": us}
    try:
        made = live_protection(loaded).at(
            cut_length=turns.cut_length, piece=turns.piece, whole=exact, **turns.settings(loaded)
        )
    except (TripmarginError, ValueError) as error:
        return {"trouble": str(error)}
    page: dict[str, Any] = {"turned": made, "needs": made.needs, "off": OFF}
    if made.protection_map is not None:
        page["map"] = protection_map_picture(made.protection_map, **look, in_use=turns.cut_length)
        page["map_table"] = _map_rows(made.protection_map, us)
    if made.race is not None:
        page["race"] = race_picture(made.race, **look)
        page["race_table"] = race_table(made.race)
    return page


def _map_rows(made: ProtectionMap, us: bool) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The map along the piece that must be stopped: a row a cut length."""
    size = made.must_stop_diameter or float(made.diameters[len(made.diameters) // 2])
    at = int(np.argmin(np.abs(np.log(made.diameters / size))))
    ball = shown(float(made.diameters[at]), "length", us=us)
    headers = (
        say("cut length"),
        say("{ball} ball: protected", ball=ball),
        say("missed"),
        say("too late"),
    )
    rows = [
        (
            shown(float(cut), "length", us=us),
            *(percent_words(part[i, at]) for part in (made.protected, made.missed, made.too_late)),
        )
        for i, cut in enumerate(made.cut_lengths)
    ]
    return headers, rows
