"""The season's review of all machines, and the record of one's own practice."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say
from tripmargin.reports.paper import ReportError
from tripmargin.reports.paper.practice_log import results_of
from tripmargin.reports.paper.season import season_review
from tripmargin.reports.paper.season_log import Season
from tripmargin.reports.paper.training import training_record
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import us_units
from tripmargin.web.machines.working import a_few_at_once
from tripmargin.web.reports.asked import AskedError, answer, manner_of, now, papers


@needs(LOOK)
@require_safe
def reports(request: HttpRequest) -> HttpResponse:
    """Which reports there are of the whole fleet."""
    return render(request, "reports/fleet.html", _page(request))


@needs(LOOK)
@require_safe
@a_few_at_once
def season(request: HttpRequest) -> HttpResponse:
    """The season's review as a file; with a mistake in what was asked, the page again."""
    try:
        manner = manner_of(request)
        today = now().date()
        meant = Season(_day(request, "from", date(today.year, 1, 1)), _day(request, "to", today))
    except AskedError as error:
        return _again(request, error.field, str(error))
    except ReportError as error:
        return _again(request, "to", str(error))
    document = season_review(
        meant, made=now(), by=str(request.user), us=us_units(request), paper=manner.paper
    )
    return answer(document, manner, f"season-{meant.first}-{meant.last}")


@needs(LOOK)
@require_safe
def training(request: HttpRequest) -> HttpResponse:
    """What whoever is signed in has practised, as a file."""
    try:
        manner = manner_of(request)
        document = training_record(
            results_of(request.user), made=now(), by=str(request.user), paper=manner.paper
        )
    except (AskedError, ReportError):
        return render(request, "reports/fleet.html", _page(request) | {"no_drill": True})
    return answer(document, manner, f"training-{document.subject}")


def _day(request: HttpRequest, field: str, usual: date) -> date:
    text = request.GET.get(field, "").strip()
    if not text:
        return usual
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise AskedError(
            field,
            say(
                '"{text}" is no day. Allowed: year, month, day, such as 2026-05-03.',
                text=shortened(text),
            ),
        ) from None


def _again(request: HttpRequest, field: str, words: str) -> HttpResponse:
    page = _page(request) | {"wrong": {"field": field, "words": words}}
    return render(request, "reports/fleet.html", page, status=422)


def _page(request: HttpRequest) -> dict[str, Any]:
    today = now().date()
    return {
        "here": "due",
        "papers": papers(),
        "said": request.GET,
        "first": request.GET.get("from", f"{today.year}-01-01"),
        "last": request.GET.get("to", today.isoformat()),
    }
