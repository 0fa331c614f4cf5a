"""What is wrong with a machine: its cases, and a new one from what the operator says."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from tripmargin.faultfinding import COMPLAINTS, OPEN, PROVING, ProblemError
from tripmargin.faultfinding.wording.standing_words import lacking
from tripmargin.ground.languages import say
from tripmargin.records.keeping.cases import By, begin_case
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.web.doors.roles import LOG, LOOK, needs
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.whats_wrong.addressed import uid_sent
from tripmargin.web.whats_wrong.keeper import problem_of

ENDED_SHOWN = 20


@needs(LOOK, to_write=LOG)
def wrong(request: HttpRequest, uid: UUID) -> HttpResponse:
    """A machine's cases; or begin one."""
    machine = machine_at(uid)
    newest = version_at(machine)
    missing = lacking(machine_of(newest))
    trouble = ""
    if request.method == "POST" and not missing:
        by = By(request.user, uid=uid_sent(request))
        try:
            case = begin_case(newest, request.POST.get("complaint", ""), by=by)
        except ProblemError as error:
            trouble = str(error)
        else:
            return redirect("case", uid=case.uid)
    if not missing:
        problem_of(newest)  # by the time that somebody has chosen, it is there
    return _page(request, machine, newest, missing, trouble)


def _page(
    request: HttpRequest, machine: Machine, newest: MachineVersion, missing: list[str], trouble: str
) -> HttpResponse:
    cases = machine.cases.select_related("version").order_by("-begun_at")
    words = {
        "machine": machine,
        "way": "wrong",
        "open_cases": cases.filter(status__in=(OPEN, PROVING)),
        "ended_cases": cases.exclude(status__in=(OPEN, PROVING))[:ENDED_SHOWN],
        "complaints": {name: say(sentence) for name, sentence in COMPLAINTS.items()},
        "newest": newest,
        "missing": missing,
        "trouble": trouble,
        "uid": uid_sent(request) if trouble else uuid4(),
    }
    return render(request, "whats_wrong/machine.html", words, status=422 if trouble else 200)
