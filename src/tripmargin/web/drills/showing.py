"""The page of a practice: being read, being played, ended. One for alone and for a class."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from tripmargin import drills as d
from tripmargin.drills.move_words import parts_shown
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import ENGLISH, language, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.records.keeping.practices import moves_of, on_of, result_of
from tripmargin.records.store.models import Practice, PracticeResult
from tripmargin.web.drills.fault_page import card_steps, fault_page
from tripmargin.web.drills.kinds import FAULT, KINDS, SETTING, STOP
from tripmargin.web.drills.places import Place
from tripmargin.web.drills.playing import (
    AnyDrill,
    ChangedError,
    make,
    moves_made,
    played,
    reading_of,
)
from tripmargin.web.drills.setting_page import setting_page, setting_steps
from tripmargin.web.drills.stop_page import stop_page, stop_steps
from tripmargin.web.drills.stop_pictures import Judged, judged
from tripmargin.web.drills.words import MoveShown, moves_shown
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.whats_wrong.addressed import number_sent, uid_sent
from tripmargin.web.whats_wrong.keeper import FIRST_TIME, Reading

PATIENCE = 20.0
"""s. How long a move waits for the machine to be read, as after a new start of the server."""
MEANWHILE = "stale"


def practice_page(request: HttpRequest, practice: Practice, place: Place) -> HttpResponse:
    """The practice as it stands."""
    ended = result_of(practice)
    if ended is not None:
        return _end_page(request, practice, place, ended)
    found = reading_of(practice)
    if found is not None and found.problem is None:
        return render(request, "drills/reading.html", being_read(practice, place, found))
    return _play_page(request, practice, place, found)


def looked_at(request: HttpRequest, practice: Practice, place: Place) -> HttpResponse:
    """A learner's practice for the trainer: its end, or how far it is."""
    ended = result_of(practice)
    if ended is not None:
        return _end_page(request, practice, place, ended)
    found, words = reading_of(practice), {"practice": practice, "place": place}
    words |= {"kind": say(KINDS[practice.kind]), "unsafe": 0}
    try:
        drill = played(practice, moves_of(practice), None if found is None else found.problem)
    except ChangedError as error:
        waits = found is not None and not found.done.is_set()
        words["trouble"] = "" if waits else str(error)
        return render(request, "drills/looked_at.html", words | {"waits": waits})
    made = moves_made(drill)
    words |= {
        "moves": moves_shown(made, us=us_units(request))[::-1],
        "minutes": sum(move.minutes for move in made),
        "unsafe": sum(move.unsafe for move in made),
    }
    return render(request, "drills/looked_at.html", words)


def reading_part(request: HttpRequest, practice: Practice, place: Place) -> HttpResponse:
    """How far the reading of the machine is; once it is done, the waiting page reloads."""
    found = reading_of(practice) or Reading()
    response = render(request, "drills/reading_part.html", being_read(practice, place, found))
    if found.problem is not None:
        response.headers["HX-Refresh"] = "true"
    return response


def being_read(practice: Practice, place: Place, found: Reading) -> dict[str, Any]:
    """What a waiting page says."""
    share = min(found.seconds / FIRST_TIME, 0.95)
    stop = practice.kind == STOP
    return {"practice": practice, "place": place, "found": found, "share": share, "stop": stop}


def take_move(request: HttpRequest, practice: Practice, place: Place) -> HttpResponse:
    """Make the move that was sent; then the page anew. What cannot be made is said beside it."""
    if not place.open:
        return practice_page(request, practice, place)
    found = reading_of(practice)
    if found is not None:
        found.done.wait(PATIENCE)
        if found.problem is None:
            words = being_read(practice, place, found)
            words["sent"] = [(k, v) for k, v in request.POST.items() if k != "csrfmiddlewaretoken"]
            return render(request, "drills/send_again.html", words, status=503)
    problem = None if found is None else found.problem
    try:
        steps = _steps_sent(request, practice, problem)
        made = make(
            practice, problem, steps, uid=uid_sent(request), seen=number_sent(request, "seen")
        )
    except ChangedError:
        return practice_page(request, practice, place)
    except TripmarginError as error:
        return _play_page(request, practice, place, found, trouble=trouble_words(error))
    query = f"?{MEANWHILE}=1" if made.stale else ""
    return redirect(f"{place.page}{query}#now")


def _steps_sent(request: HttpRequest, practice: Practice, problem: Any) -> list[tuple[str, str]]:
    if practice.kind == SETTING:
        return setting_steps(request.POST, us_units(request))
    if practice.kind == STOP:
        return stop_steps(request.POST)
    do, _, what = request.POST.get("move", "").partition(":")
    if do != "card":
        return [(do, what)]
    steps = card_steps(played(practice, moves_of(practice), problem))  # type: ignore[arg-type]
    if not steps:
        raise TripmarginError(say("There is no card to follow. Ask for the next one."))
    return steps


def trouble_words(error: TripmarginError) -> str:
    """What could not be done, and what to do first."""
    if isinstance(error, d.DrillError):
        said = f"{error.problem[:1].upper()}{error.problem[1:]}."
        more = error.hint or say("Allowed: {allowed}.", allowed=error.allowed)
        return f"{said} {more}"
    return str(error)


def _play_page(
    request: HttpRequest,
    practice: Practice,
    place: Place,
    found: Reading | None,
    *,
    trouble: str = "",
) -> HttpResponse:
    moves = moves_of(practice)
    us = us_units(request)
    try:
        drill = played(practice, moves, None if found is None else found.problem)
    except ChangedError as error:
        words = {"practice": practice, "place": place, "trouble": str(error)}
        return render(request, "drills/changed.html", words, status=409)
    words = {
        "practice": practice,
        "place": place,
        "kind": say(KINDS[practice.kind]),
        "fault": practice.kind == FAULT,
        "stop": practice.kind == STOP,
        "moves": _hushed(practice, place, _moves_shown(practice, moves_made(drill), us))[::-1],
        "minutes": sum(move.minutes for move in moves_made(drill)),
        "seen": len(moves),
        "uid": uuid4(),
        "trouble": trouble,
        "stale": MEANWHILE in request.GET,
        **_page_of(request, drill, place, us),
    }
    return render(request, "drills/practice.html", words, status=422 if trouble else 200)


def _moves_shown(practice: Practice, moves: Iterable[d.Move], us: bool) -> list[MoveShown]:
    return moves_shown(moves, us=us, setting=practice.kind == SETTING)


def _hushed(practice: Practice, place: Place, moves: list[MoveShown]) -> list[MoveShown]:
    """Of pieces to judge, what was calculated is not told while others still answer."""
    if practice.kind != STOP or place.answers:
        return moves
    return [replace(move, came="") for move in moves]


def _page_of(request: HttpRequest, drill: AnyDrill, place: Place, us: bool) -> dict[str, Any]:
    if isinstance(drill, d.WouldItStop):
        width, sun = picture_width(request), in_the_sun(request)
        return stop_page(drill, us=us, told=place.answers, said=request.POST, width=width, sun=sun)
    if isinstance(drill, d.Drill):
        return fault_page(drill, width=picture_width(request), sun=in_the_sun(request))
    return setting_page(drill, us=us, said=request.POST)


def _end_page(
    request: HttpRequest, practice: Practice, place: Place, ended: PracticeResult
) -> HttpResponse:
    result = shown_result(practice, ended)
    us = us_units(request)
    words = {
        "practice": practice,
        "place": place,
        "kind": say(KINDS[practice.kind]),
        "fault": practice.kind == FAULT,
        "result": result,
        "score": result.score,
        "parts": parts_shown(result.score, result.moves, us=us),
        "unsafe": ended.unsafe,
        "lessons": d.lessons_of(result) if place.answers else (),
        "stop": practice.kind == STOP,
        "hushed": practice.kind == STOP and not place.answers,
        "moves": _hushed(practice, place, _moves_shown(practice, result.moves, us)),
        "best": _moves_shown(practice, result.best, us) if place.answers else (),
        "judged": _judged(request, practice, us) if place.answers else (),
        "new_uid": uuid4,  # called at each form: no two share one
    }
    return render(request, "drills/end.html", words)


def _judged(request: HttpRequest, practice: Practice, us: bool) -> tuple[Judged, ...]:
    """The pieces of a "would it stop?" drill on the map; none while they are being chosen again."""
    found = reading_of(practice) if practice.kind == STOP else None
    if found is None or found.problem is None:
        return ()
    try:
        drill = played(practice, moves_of(practice), found.problem)
    except ChangedError:
        return ()
    assert isinstance(drill, d.WouldItStop)
    width, sun = picture_width(request), in_the_sun(request)
    return tuple(judged(drill, width=width, sun=sun, us=us))


def shown_result(practice: Practice, ended: PracticeResult) -> d.DrillResult:
    """The kept result; in another language than it was kept in, where it can be said in that."""
    kept = d.result_from(ended.kept)
    if language() == ENGLISH:
        return kept
    found = reading_of(practice)
    if found is not None and found.problem is None:
        return kept
    try:
        again = played(practice, moves_of(practice), None if found is None else found.problem)
        said = again.result(when=ended.at, name=kept.name)
    except TripmarginError:
        return kept
    return said if abs(said.score.points - kept.score.points) < 1e-9 else kept


def wiring_page(request: HttpRequest, practice: Practice, place: Place) -> HttpResponse:
    """The wiring of a sound machine in the state that this one stands in, for comparison."""
    from tripmargin.circuit import network_from_machine, operate
    from tripmargin.pictures.current_paths import current_paths_picture

    found = reading_of(practice)
    if (
        practice.kind != FAULT
        or found is None
        or found.problem is None
        or result_of(practice) is not None
    ):
        return redirect(place.page)
    try:
        drill = played(practice, moves_of(practice), found.problem)
    except ChangedError:
        return redirect(place.page)
    assert isinstance(drill, d.Drill)
    state = drill.of.states[drill.play.at]
    network = network_from_machine(on_of(practice).loaded())
    sound = operate(network, state.steps)[state.steps[-1]]
    width = picture_width(request)
    picture = current_paths_picture(
        network, sound, width=1200.0 if width > 520 else width, sun=in_the_sun(request)
    )
    words = {
        "practice": practice,
        "place": place,
        "state": as_written(state.name),
        "picture_of": picture,
    }
    return render(request, "drills/wiring.html", words)
