"""Practising alone: what is due again, which machine, and the pages of one practice."""

from __future__ import annotations

import json
import secrets
from collections.abc import Iterable
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from tripmargin import drills as d
from tripmargin.drills.repeating import WELL
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.machine import demo_machines
from tripmargin.records.keeping.practices import (
    MOST_SEED,
    On,
    Player,
    PracticeError,
    begin_practice,
    on_of,
    result_of,
)
from tripmargin.records.standing.practised import Kept, practices_of, practised_by
from tripmargin.records.store.models import Machine, Practice
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.drills import showing
from tripmargin.web.drills.kinds import FAULT, KINDS, STOP, fit_kinds, why_not
from tripmargin.web.drills.places import of_person, own_practice
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.whats_wrong.addressed import uid_sent
from tripmargin.web.whats_wrong.keeper import problem_on

LISTED = 30
RESULTS = "tripmargin drills 1"
ANY_SEED = 10_000
begins = limited("practise", times=60, within=timedelta(minutes=10))


@needs(LOOK)
@require_safe
def practise(request: HttpRequest) -> HttpResponse:
    """What to practise next, on which machine, and what was practised so far."""
    person: Any = request.user
    mine = practices_of(person)
    due = _due(mine)
    words = {
        "here": "practise",
        "due": due,
        "going_on": [each for each in mine if not hasattr(each, "result")][:LISTED],
        "ended": [each for each in mine if hasattr(each, "result")][:LISTED],
        "machines": Machine.objects.filter(put_away_at=None).order_by("name"),
        "demos": demo_machines(),
        "kinds": {kind: say(name) for kind, name in KINDS.items()},
        "uid": uuid4(),
    }
    return render(request, "drills/practise.html", words)


def _due(mine: list[Practice]) -> list[Practice]:
    """The last practice of each kind that is due again, longest overdue first.

    Which fault it was is not said: the drill that comes hides one of the same kind.
    """
    newest: dict[tuple[str, str], Practice] = {}
    results = []
    for each in mine:
        if hasattr(each, "result"):
            kept = d.result_from(each.result.kept)
            results.append(kept)
            for kind in (kind for kind, _ in kept.by_kind) if kept.by_kind else (kept.kind,):
                newest.setdefault((kept.machine, kind), each)
    now = timezone.now()
    due = (newest[p.machine, p.kind] for p in d.practised(results) if p.due <= now)
    return list(dict.fromkeys(due))


@needs(LOOK)
@require_http_methods(["GET", "POST"])
@begins
def machine_practise(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Begin a drill on a machine of the records."""
    machine = machine_at(uid)
    return _begin_page(request, On(version_at(machine)), {"machine": machine, "way": "practise"})


@needs(LOOK)
@require_http_methods(["GET", "POST"])
@begins
def demo_practise(request: HttpRequest, name: str) -> HttpResponse:
    """Begin a drill on an invented machine."""
    if name not in demo_machines():
        raise Http404
    return _begin_page(request, On(demo=name), {"demo": name})


def _begin_page(request: HttpRequest, on: On, words: dict[str, Any]) -> HttpResponse:
    person: Any = request.user
    loaded = on.loaded()
    trouble = ""
    if request.method == "POST":
        kind = request.POST.get("kind", "")
        try:
            seed = seed_sent(request)
            lacks = why_not(kind, loaded)
            if lacks:
                raise PracticeError(lacks)
            made = begin_practice(kind, seed, on, by=Player(who=person), uid=uid_sent(request))
        except TripmarginError as error:
            trouble = str(error)
        else:
            return redirect("practice", uid=made.uid)
    if not why_not(FAULT, loaded):
        problem_on(loaded)  # by the time that somebody has chosen, it is there
    words |= {
        "here": "practise",
        "name": loaded.name,
        "kinds": fit_kinds(loaded),
        "trouble": trouble,
        "typed": request.POST.get("seed", "") if trouble else "",
        "uid": uid_sent(request) if trouble else uuid4(),
    }
    return render(request, "drills/begin.html", words, status=422 if trouble else 200)


def seed_sent(request: HttpRequest) -> int:
    """The seed that was typed; any, where none was.

    Raises
    ------
    PracticeError
        If it is none.
    """
    said = request.POST.get("seed", "").strip()
    if not said:
        return secrets.randbelow(ANY_SEED)
    if not (said.isascii() and said.isdecimal() and len(said) < 11 and int(said) <= MOST_SEED):
        raise PracticeError(
            say(
                "Seed “{seed}”: not a whole number from 0 to {most}. Leave it empty for any drill.",
                seed=said[:20], most=MOST_SEED,
            )
        )  # fmt: skip
    return int(said)


@needs(LOOK)
@require_POST
@begins
def practise_due(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Another drill of the kind that is due: another seed, the same kind of fault."""
    person: Any = request.user
    last = own_practice(request, uid)
    ended = result_of(last)
    if ended is None:
        return redirect("practice", uid=last.uid)
    on = On(last.version and version_at(last.version.machine), last.demo)
    loaded, seed = on.loaded(), last.seed
    if last.kind == FAULT:
        found = problem_on(loaded)
        found.done.wait(showing.PATIENCE)
        if found.problem is None:
            words = showing.being_read(last, of_person(last), found)
            words["sent"] = [("uid", request.POST.get("uid", ""))]
            return render(request, "drills/send_again.html", words, status=503)
        kind = d.result_from(ended.kept).kind
        another = d.seed_for(found.problem, kind, after=last.seed)
        seed = last.seed if another is None else another
    else:
        seed += 1
    about = _lessons_due(person, loaded.name) if last.kind == STOP else ()
    try:
        made = begin_practice(
            last.kind, seed, on, by=Player(who=person), uid=uid_sent(request), about=about
        )
    except PracticeError:
        return redirect("practise")
    return redirect("practice", uid=made.uid)


def _lessons_due(person: Any, machine: str) -> tuple[str, ...]:
    """Kinds of lesson of "would it stop?" that went wrong, or are due again, on a machine."""
    results = [d.result_from(each.kept) for each in practised_by(person) if each.kind == STOP]
    mine = [each for each in results if each.machine == machine]
    wrong = [kind for each in mine[-1:] for kind, points in each.by_kind if points < WELL]
    due = d.kinds_due(mine, machine=machine, now=timezone.now())
    return tuple(dict.fromkeys((*due, *wrong)))


@needs(LOOK)
@require_safe
def practice(request: HttpRequest, uid: UUID) -> HttpResponse:
    """One practice as it stands."""
    own = own_practice(request, uid)
    return showing.practice_page(request, own, of_person(own))


@needs(LOOK)
@require_POST
def practice_move(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Make a move."""
    own = own_practice(request, uid)
    return showing.take_move(request, own, of_person(own))


@needs(LOOK)
@require_safe
def practice_reading(request: HttpRequest, uid: UUID) -> HttpResponse:
    """How far the reading of the machine is."""
    own = own_practice(request, uid)
    return showing.reading_part(request, own, of_person(own))


@needs(LOOK)
@require_safe
def practice_wiring(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The wiring of a sound machine in the same state."""
    own = own_practice(request, uid)
    return showing.wiring_page(request, own, of_person(own))


@needs(LOOK)
@require_safe
def practice_file(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The result as `tripmargin drill --save` writes it."""
    own = own_practice(request, uid)
    ended = result_of(own)
    if ended is None:
        raise Http404
    return as_file(ended.kept, f"drill-{own.machine_name}-{own.seed}")


@needs(LOOK)
@require_POST
@begins
def practice_again(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The same drill from its beginning: the same machine file, the same seed."""
    person: Any = request.user
    own = own_practice(request, uid)
    made = begin_practice(
        own.kind, own.seed, on_of(own), by=Player(who=person), uid=uid_sent(request),
        about=own.about.splitlines(),
    )  # fmt: skip
    return redirect("practice", uid=made.uid)


@needs(LOOK)
@require_safe
def practise_results(request: HttpRequest) -> HttpResponse:
    """Every result of this person in one file: what a training record is made of."""
    person: Any = request.user
    return as_file(results_file(str(person), practised_by(person)), "practised")


def results_file(name: str, kept: Iterable[Kept]) -> dict[str, Any]:
    """What somebody practised, ready for a file."""
    return {
        "form": RESULTS,
        "name": name,
        "said": say(
            "A record of what was practised. It is no licence: it shows nothing about who may work"
            " on a machine."
        ),
        "results": [
            {"class": each.class_name, "begun": each.begun_at.isoformat(timespec="seconds"),
             "ended": each.ended_at.isoformat(timespec="seconds"), "drill": each.kept}
            for each in kept
        ],
    }  # fmt: skip


def as_file(content: Any, name: str) -> HttpResponse:
    """JSON to take along, under a name that any system takes."""
    plain = "".join(c if c.isascii() and c.isalnum() else "-" for c in name)[:60]
    text = json.dumps(content, ensure_ascii=False, indent=2) + "\n"
    response = HttpResponse(text, content_type="application/json")
    response.headers["Content-Disposition"] = f'attachment; filename="{plain}.json"'
    return response
