"""The log as a file: of one machine, or of all; the same bytes as `tripmargin log export`."""

from __future__ import annotations

import tempfile
from datetime import timedelta
from uuid import UUID

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from tripmargin.ground.languages import say
from tripmargin.records.exchange.exporting import write_export
from tripmargin.records.keeping.limits import take_turn
from tripmargin.records.keeping.machines import safe_name
from tripmargin.records.store.models import Machine
from tripmargin.web.doors.limits import in_words, with_wait
from tripmargin.web.doors.refusals import refusal
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.machines.finding import machine_at

TYPES = {"csv": "text/csv; charset=utf-8", "json": "application/json"}
MOST, WITHIN = 30, timedelta(minutes=10)
"""Files that one person may take in a while: a large log keeps a server busy for half a minute."""


@needs(LOOK)
@require_GET
def of_machine(request: HttpRequest, uid: UUID, ending: str) -> HttpResponse | FileResponse:
    """The log of one machine."""
    return _taken_along(request, ending, machine_at(uid))


@needs(LOOK)
@require_GET
def of_all(request: HttpRequest, ending: str) -> HttpResponse | FileResponse:
    """The log of all machines, those that are put away too: whoever may look may see them all."""
    return _taken_along(request, ending)


def _taken_along(
    request: HttpRequest, ending: str, machine: Machine | None = None
) -> HttpResponse | FileResponse:
    if ending not in TYPES:
        raise Http404("no such format")
    wait = take_turn("export", f"person {request.user.pk}", times=MOST, within=WITHIN)
    if wait is not None:
        words = say(
            "{most} files in {within} are the most. Wait {wait}, go back, and take it again.",
            most=MOST,
            within=in_words(WITHIN),
            wait=in_words(wait),
        )
        return with_wait(refusal(request, 429, say("Too often"), words), wait)
    # Not in the memory: a log of many years has hundreds of megabytes. Nobody else can open it, and
    # it is gone when the answer is closed.
    file = tempfile.TemporaryFile()  # noqa: SIM115
    try:
        write_export(file, f".{ending}", None if machine is None else [machine])
        file.seek(0)
    except BaseException:
        file.close()
        raise
    return FileResponse(
        file,
        as_attachment=True,
        filename=file_name(machine, ending),
        content_type=TYPES[ending],
        headers={
            "X-Content-Type-Options": "nosniff",
            "Content-Security-Policy": "default-src 'none'; sandbox",
        },
    )


def file_name(machine: Machine | None, ending: str) -> str:
    """What the file is called: whose log it is and of which day (UTC), as any system takes it."""
    whose = safe_name(machine.name).removesuffix(".toml") if machine else "all-machines"
    return f"log-{whose}-{timezone.now():%Y-%m-%d}.{ending}"
