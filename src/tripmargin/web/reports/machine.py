"""A machine's reports: the page that offers them, and each as a file."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from tripmargin.faultfinding.charts.chart import complaints_of
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.ground.units import shown
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.pictures.trade_words import complaint_words
from tripmargin.records.keeping.entries import newest_version
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.store.models import Machine
from tripmargin.reports.paper import Document
from tripmargin.reports.paper.commissioning import commissioning_report
from tripmargin.reports.paper.daily_check import MOST_WEEKS, daily_check_sheet
from tripmargin.reports.paper.fault_chart import fault_chart_report
from tripmargin.reports.paper.trials import state_by_log_of, trials_of
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import us_units
from tripmargin.web.machines.finding import machine_at
from tripmargin.web.machines.working import a_few_at_once
from tripmargin.web.reports.asked import AskedError, Manner, answer, manner_of, now, papers
from tripmargin.web.whats_wrong.keeper import FIRST_TIME, problem_of

KINDS = ("commissioning", "daily-check", "fault-chart")


@needs(LOOK)
@require_safe
def reports(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Which reports there are of a machine, and how each is wanted."""
    return render(request, "reports/machine.html", _page(request, machine_at(uid)))


@needs(LOOK)
@require_safe
@a_few_at_once
def report(request: HttpRequest, uid: UUID, kind: str) -> HttpResponse:
    """One report as a file; with a mistake in what was asked, the page again."""
    if kind not in KINDS:
        raise Http404
    machine = machine_at(uid)
    version = newest_version(machine)
    page = _page(request, machine)
    if version is None or (kind == "fault-chart" and page["reading"]):
        return render(request, "reports/machine.html", page)
    try:
        manner = manner_of(request)
        document = _document(request, machine, machine_of(version), kind, manner)
    except AskedError as error:
        page["wrong"] = {"kind": kind, "field": error.field, "words": str(error)}
        return render(request, "reports/machine.html", page, status=422)
    except TripmarginError as error:
        page["cannot"] = str(error)
        return render(request, "reports/machine.html", page, status=422)
    return answer(document, manner, f"{kind}-{machine.name}")


def _document(
    request: HttpRequest, machine: Machine, loaded: LoadedMachine, kind: str, manner: Manner
) -> Document:
    told: dict[str, Any] = {"made": now(), "by": str(request.user), "paper": manner.paper}
    us = us_units(request)
    if kind == "daily-check":
        return daily_check_sheet(loaded, weeks=_weeks(request), **told)
    if kind == "fault-chart":
        version = newest_version(machine)
        assert version is not None
        reading = problem_of(version)
        if reading.problem is None:
            raise TripmarginError(reading.trouble)
        return fault_chart_report(
            reading.problem,
            complaints=_complaints(request, reading.problem),
            steps_only=request.GET.get("steps") == "only",
            **told,
        )
    cut = _cut(request, loaded)
    return commissioning_report(
        loaded,
        cut_length=cut,
        tests=trials_of(machine, us=us),
        by_log=state_by_log_of(machine, told["made"], us=us),
        us=us,
        **told,
    )


def _weeks(request: HttpRequest) -> int:
    text = request.GET.get("weeks", "1").strip()
    weeks = int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else 0
    if not 1 <= weeks <= MOST_WEEKS:
        raise AskedError("weeks", say("A whole number of weeks from 1 to {most}.", most=MOST_WEEKS))
    return weeks


def _complaints(request: HttpRequest, problem: MachineProblem) -> tuple[str, ...]:
    """The complaint that was chosen; none: the whole chart."""
    chosen = request.GET.get("complaint", "")
    if not chosen:
        return ()
    if chosen not in complaints_of(problem):
        raise AskedError("complaint", say("No such complaint. Choose one of the list."))
    return (chosen,)


def _cut(request: HttpRequest, loaded: LoadedMachine) -> float | None:
    """The cut in use, by its place among those on offer; None: the longest."""
    text = request.GET.get("cut", "")
    if not text:
        return None
    cuts = loaded.feed.cut_lengths if loaded.feed is not None else ()
    place = int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else len(cuts)
    if place >= len(cuts):
        raise AskedError("cut", say("No such cut length. Choose one of the machine's file."))
    return cuts[place]


def _page(request: HttpRequest, machine: Machine) -> dict[str, Any]:
    version = newest_version(machine)
    reading = None if version is None else problem_of(version)
    loaded = None if version is None else machine_of(version)
    cuts = loaded.feed.cut_lengths if loaded is not None and loaded.feed is not None else ()
    us = us_units(request)
    return {
        "machine": machine,
        "version": version,
        "cuts": [(str(k), shown(cut, "length", us=us)) for k, cut in enumerate(cuts)],
        "complaints": []
        if reading is None or reading.problem is None
        else [(one, complaint_words(one)) for one in complaints_of(reading.problem)],
        "papers": papers(),
        "most_weeks": MOST_WEEKS,
        "said": request.GET,
        "reading": None if reading is None or reading.done.is_set() else reading,
        "no_faults": "" if reading is None else reading.trouble,
        "share": 0.0 if reading is None else min(reading.seconds / FIRST_TIME, 0.95),
        "way": "file",
        "here": "machines",
    }
