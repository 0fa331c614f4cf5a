"""A case: the card that is due, and what others entered meanwhile."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from tripmargin.faultfinding import ASK, CANNOT_TELL, CLOSED, HAND_OVER, SAW_ELSE, Card, Case
from tripmargin.faultfinding.wording.card_words import other_words
from tripmargin.records.keeping.cases import Line, lines_of, open_case
from tripmargin.records.store.models import FaultCase
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import in_the_sun
from tripmargin.web.whats_wrong.addressed import case_at, number_sent
from tripmargin.web.whats_wrong.keeper import FIRST_TIME, Reading, problem_of
from tripmargin.web.whats_wrong.telling import (
    OTHERS,
    card_shown,
    case_words,
    due_card,
    part_replaced,
)


@needs(LOOK)
@require_safe
def case(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The case as it stands: where its machine is not read yet, how far that is."""
    row = case_at(uid)
    found = problem_of(row.version)
    if found.problem is None:
        return render(request, "whats_wrong/reading.html", _being_read(row, found))
    picked, skipped = request.GET.get("card", ""), request.GET.getlist("skip")
    return case_page(request, row, found.problem, picked=picked, skipped=skipped)


@needs(LOOK)
@require_safe
def reading(request: HttpRequest, uid: UUID) -> HttpResponse:
    """How far the reading of the machine is; once it is done, the waiting page reloads."""
    row = case_at(uid)
    found = problem_of(row.version)
    response = render(request, "whats_wrong/reading_part.html", _being_read(row, found))
    if found.problem is not None:
        response.headers["HX-Refresh"] = "true"
    return response


def _being_read(row: FaultCase, found: Reading) -> dict[str, Any]:
    return {
        "case": row,
        "machine": row.machine,
        "way": "wrong",
        "found": found,
        "share": min(found.seconds / FIRST_TIME, 0.95),
    }


@needs(LOOK)
@require_safe
def news(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What was entered since the page was made, so that two people on one case see each other."""
    row, seen = case_at(uid), number_sent(request, "seen")
    fresh = lines_of(row, behind=seen) if seen else ()
    if "told" in request.GET and len(fresh) == number_sent(request, "told"):
        return HttpResponse(status=204)  # told already: a screen reader must not say it again
    words = {
        "case": row,
        "seen": seen,
        "count": len(fresh),
        "who": sorted({line.who for line in fresh if line.who != str(request.user)}),
        "last": fresh[-1] if fresh else None,
    }
    return render(request, "whats_wrong/news.html", words)


def case_page(
    request: HttpRequest,
    row: FaultCase,
    of: Any,
    *,
    picked: str = "",
    skipped: list[str] | None = None,
    trouble: str = "",
    status: int = 200,
) -> HttpResponse:
    """The page of a case; with `trouble` what was typed stays in it."""
    lines = lines_of(row)
    opened = open_case(row, of)
    card, all_skipped = due_card(opened, picked, skipped or [])
    newest = row.machine.versions.order_by("-number").first()
    words: dict[str, Any] = {
        "case": row,
        "machine": row.machine,
        "way": "wrong",
        "rows": len(lines) + 1,
        "last_n": max([0, *(line.entry.n for line in lines)]),
        "new_uid": uuid4,  # called at each form: no two share one
        "cannot_tell": CANNOT_TELL,
        "saw_else": SAW_ELSE,
        "hand_over": HAND_OVER,
        "trouble": trouble,
        "typed": request.POST if trouble else {},
        "beside": _beside(picked, card) if trouble else "",
        "all_skipped": all_skipped,
        "newest": newest if newest is not None and newest.pk != row.version_id else None,
        "part_link": _part_link(row, opened),
        "check_link": _check_link(row, opened),
        **case_words(opened, lines, sun=in_the_sun(request)),
    }
    if card is not None:
        words["shown"] = card_shown(opened, card, goes_on=_goes_on(lines, str(request.user)))
        words["others"] = [
            (f"?{urlencode({'card': each.id})}", other_words(each))
            for each in opened.next_checks(OTHERS)
            if each.id != card.id
        ]
        words["skip"] = f"?{urlencode([('skip', each) for each in (*(skipped or []), card.id)])}"
    return render(request, "whats_wrong/case.html", words, status=status)


def _beside(sent: str, card: Card | None) -> str:
    """Which form a trouble stands beside: "card", "hand over", or none where neither is shown."""
    if card is not None and sent == HAND_OVER:
        return HAND_OVER
    return "card" if card is not None and sent == card.id else ""


def _goes_on(lines: Sequence[Line], who: str) -> bool:
    """Whether this person answered the last card, and so read its cautions."""
    return bool(lines) and lines[-1].who == who and lines[-1].entry.get("check") != ASK


def _check_link(row: FaultCase, opened: Case) -> str:
    """The log's form for the daily test that ended the case: the log knows only its own entries."""
    if opened.status != CLOSED:
        return ""
    form = reverse("new-entry", args=[row.machine.uid, "daily-check"])
    return f"{form}?{urlencode({'tripped': 'yes', 'reset': 'yes'})}"


def _part_link(row: FaultCase, opened: Case) -> str:
    """The log's form for the part that cured, filled in; empty where the case is not so far."""
    part = part_replaced(opened) if opened.status == CLOSED else ""
    if not part:
        return ""
    form = reverse("new-entry", args=[row.machine.uid, "part-replaced"])
    return f"{form}?{urlencode({'part': part, 'cured': 'yes'})}"
