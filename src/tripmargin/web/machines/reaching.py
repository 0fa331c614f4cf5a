"""What the sensor sees over the roll: the picked piece in the way that it lies, and balls."""

from __future__ import annotations

from threading import Lock
from time import perf_counter
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_GET

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.languages import say
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.pictures import reach_picture, reach_table
from tripmargin.pictures.piece_reach import piece_reach_picture, piece_reach_table
from tripmargin.protection.live import live_protection
from tripmargin.protection.remembered import Remembered
from tripmargin.protection.sights import sensed
from tripmargin.sensing import Piece
from tripmargin.sensing import reach as reach_of
from tripmargin.sensing.piece_reach import ATTITUDES, PieceReach, PieceReaching
from tripmargin.stopping import metal_speed
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.machines.asked import asked, part_of_page
from tripmargin.web.machines.turns import Turns, piece_names
from tripmargin.web.machines.working import a_few_at_once

AT_A_TIME = 0.7
"""Seconds of work before a page is told how far it has come."""


class _Work:
    """A piece's reach in the making: whoever asks works on it for a while, one at a time.

    No thread is left working when nobody waits any more. A ball has a last step: the share of all
    cases in which it is seen, for which a long piece would take as long as for all else.
    """

    def __init__(self, reaching: PieceReaching, loaded: LoadedMachine, turns: Turns) -> None:
        self.reaching, self._lock = reaching, Lock()
        self._loaded, self._cut, self._piece = loaded, turns.cut_length, turns.piece
        self.seen: float | None = None
        self.done, self.all = 0, len(reaching.ways) + (reaching.piece.kind == "ball")

    def go_on(self, seconds: float) -> PieceReach | None:
        """Work for a while; the reach when all is done."""
        until = perf_counter() + seconds
        while self.done < self.all and perf_counter() < until:
            with self._lock:
                self._step()
        return self.reaching.result if self.done == self.all else None

    def _step(self) -> None:
        if self.reaching.result is None:
            self.reaching.step()
        elif self.done < self.all:
            found = live_protection(self._loaded).at(cut_length=self._cut, piece=self._piece)
            self.seen = None if found.verdict is None else found.verdict.seen
        self.done = min(self.done + 1, self.all)


_WORK = Remembered[tuple[object, ...], _Work](32)  # 20 kB each


@needs(LOOK)
@require_GET
@a_few_at_once
def reach(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What the sensor sees over the roll, at the cut length in use."""
    found, loaded, turns = asked(request, uid)
    page: dict[str, Any] = {
        "machine": found, "turns": turns, "pieces": piece_names(loaded), "attitudes": _attitudes(),
        "attitude": _attitude(request), "query": _query(turns, _attitude(request)),
    }  # fmt: skip
    try:
        made = reach_of(loaded, speed=metal_speed(loaded, turns.cut_length))
        look: dict[str, Any] = {"width": picture_width(request), "sun": in_the_sun(request)}
        page["picture"] = reach_picture(made, **look, us=us_units(request))
        headers, cells = reach_table(made)
        page["table"] = ([say(header) for header in headers], cells)
    except NotKnownError as error:
        page["not_known"] = str(error)
    return part_of_page(request, "machines/reach.html", page)


@needs(LOOK)
@require_GET
@a_few_at_once
def piece(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Where the picked piece is seen, or how far the work on it has come.

    A page without a script waits for the whole.
    """
    found, loaded, turns = asked(request, uid)
    attitude = _attitude(request)
    page: dict[str, Any] = {
        "machine": found, "turns": turns, "attitude": attitude, "query": _query(turns, attitude),
    }  # fmt: skip
    try:
        work = _work(loaded, turns)
    except NotKnownError as error:
        return part_of_page(request, "machines/piece_reach.html", {**page, "not_known": str(error)})
    made = work.go_on(AT_A_TIME if request.htmx else float("inf"))
    if made is None:
        page |= {"done": work.done, "all": work.all}
    else:
        page |= {**_drawn(request, made, attitude), "seen": work.seen}
    return part_of_page(request, "machines/piece_reach.html", page)


def _work(loaded: LoadedMachine, turns: Turns) -> _Work:
    """The work on a piece at a cut; of what the sensor sees the same of it is remembered."""
    only = sensed(loaded, loaded.limits)
    picked, speed = Piece.from_text(turns.piece), metal_speed(loaded, turns.cut_length)
    return _WORK.get(
        (only, picked, speed),
        lambda: _Work(PieceReaching.of(only, picked, speed=speed), loaded, turns),
    )


def _drawn(request: HttpRequest, made: PieceReach, attitude: str) -> dict[str, Any]:
    us = us_units(request)
    look: dict[str, Any] = {"width": picture_width(request), "sun": in_the_sun(request), "us": us}
    return {
        "picture": piece_reach_picture(made, attitude, **look),
        "table": piece_reach_table(made, us),
        "one_way": len(made.lying) == 1,
    }


def _attitudes() -> dict[str, str]:
    words = {
        "worst": say("Worst attitude"),
        "typical": say("Typical attitude"),
        "best": say("Best attitude"),
    }
    return {each: words[each] for each in ATTITUDES}


def _attitude(request: HttpRequest) -> str:
    """The way to lie that was asked for; the worst where none was."""
    said = request.GET.get("attitude", "")
    return said if said in ATTITUDES else ATTITUDES[0]


def _query(turns: Turns, attitude: str) -> str:
    return urlencode({"cut": f"{turns.cut.value:g}", "piece": turns.piece, "attitude": attitude})
