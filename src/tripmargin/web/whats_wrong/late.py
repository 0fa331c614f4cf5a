"""An answer that came too late: it is kept, and its sender says whether it counts."""

from __future__ import annotations

from uuid import UUID, uuid4

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from tripmargin.faultfinding import ProblemError
from tripmargin.ground.languages import later, say
from tripmargin.records.keeping.cases import (
    ENDED,
    MENDED,
    OTHER,
    SAME,
    lines_of,
    open_case,
    record_after_all,
    replaced_by,
    waiting,
)
from tripmargin.web.doors.roles import LOG, LOOK, needs
from tripmargin.web.whats_wrong.addressed import case_at, sender
from tripmargin.web.whats_wrong.keeper import problem_of
from tripmargin.web.whats_wrong.telling import said_words

WHY_LATE = {
    SAME: later("Somebody had entered the same meanwhile."),
    OTHER: later("Somebody had answered this card otherwise meanwhile."),
    MENDED: later(
        "Something was mended meanwhile, so the machine is not the one any more that you looked at."
    ),
    ENDED: later("The case had ended meanwhile."),
}


@needs(LOOK, to_write=LOG)
def late(request: HttpRequest, uid: UUID, n: int) -> HttpResponse:
    """What was answered, what another one had entered, and which of them counts."""
    row = case_at(uid)
    of = problem_of(row.version).problem
    if of is None:
        return redirect("case", uid=row.uid)  # it says how far the reading is, and lists this one
    trouble = ""
    if request.method == "POST":
        try:
            record_after_all(row, of, n, by=sender(request))
        except ProblemError as error:
            trouble = str(error)
        else:
            messages.info(request, say("Recorded."))
            return redirect("case", uid=row.uid)
    opened, lines = open_case(row, of), {line.entry.n: line for line in lines_of(row)}
    aside = next((each for each in waiting(opened) if each.n == n), None)
    if aside is None:
        if n in lines:
            return redirect("case", uid=row.uid)
        raise Http404
    there = replaced_by(opened, aside)
    words = {
        "case": row,
        "machine": row.machine,
        "way": "wrong",
        "uid": uuid4(),
        "trouble": trouble,
        "why": say(WHY_LATE[str(aside["why_late"])]),
        "mine": lines[n],
        "mine_said": said_words(aside),
        "theirs": None if there is None else lines.get(there.n),
        "theirs_said": "" if there is None else said_words(there),
    }
    return render(request, "whats_wrong/late.html", words, status=422 if trouble else 200)
