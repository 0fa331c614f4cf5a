"""Measured pawl gaps into the machine's file, as a new version of it."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import later, say
from tripmargin.ground.typed import spelled_quantity
from tripmargin.ground.units import shown
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine.rewriting import with_values
from tripmargin.pictures.trade_words import pawl_place, pawl_title
from tripmargin.records.keeping.machines import add_version, machine_of, read_machine_file
from tripmargin.records.standing.at_a_glance import glance_at
from tripmargin.records.standing.gaps_in_file import MeasuredGap, measured_gaps
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.web.doors.roles import SET, needs
from tripmargin.web.frame import us_units
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.machines.keeping import done

STEP = "chain.feeler_step"
CHANGED = later("The machine's file was changed meanwhile. Look at it again, then put the gaps in.")
LONGEST_NOTE = 500


@needs(SET)
@require_http_methods(["GET", "HEAD", "POST"])
def into_file(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What the log measured beside what the file says; then a new version, proved."""
    machine = machine_at(uid)
    version = version_at(machine)
    facts = glance_at(machine).facts
    gaps = [gap for gap in measured_gaps(facts, timezone.now()) if gap.is_other]
    trouble = ""
    if request.method == "POST" and gaps:
        if request.POST.get("number") != str(version.number):
            trouble = say(CHANGED)
        else:
            try:
                return _taken(request, machine, version, gaps)
            except MachineFileError as error:
                trouble = str(error)
    return _page(request, machine, version, gaps, trouble)


def _page(
    request: HttpRequest, machine: Machine, version: MachineVersion, gaps: list[MeasuredGap],
    trouble: str,
) -> HttpResponse:  # fmt: skip
    us, loaded = us_units(request), machine_of(version)
    rows = [
        {
            "pawl": pawl_title(gap.pawl),
            "measured": shown(gap.gap, "length", us=us),
            "at": gap.at,
            "filed": _said(loaded, f"chain.pawls.{gap.pawl}.clearance"),
            "filed_us": shown(gap.filed[0], "length", us=True) if us and gap.filed else "",
            "doubt": shown(gap.step / 2, "length", us=us, digits=2),
            "assumed": gap.step_assumed,
        }
        for gap in gaps
    ]
    page = {
        "machine": machine, "way": "log", "here": "machines", "version": version, "rows": rows,
        "next": version.number + 1, "trouble": trouble,
    }  # fmt: skip
    return render(request, "log/gaps.html", page, status=422 if trouble else 200)


def _said(loaded: LoadedMachine, path: str) -> str:
    """A field as the file has it; empty where it does not give it."""
    given = loaded.get(path)
    return "" if given is None or given.source == "assumed" else spelled_quantity(str(given.text))


def _taken(
    request: HttpRequest, machine: Machine, version: MachineVersion, gaps: list[MeasuredGap]
) -> HttpResponse:
    loaded = machine_of(version)
    text = with_values(version.text, values_of(gaps, loaded), machine=loaded)
    made = read_machine_file(text.encode(), version.file_name)
    told = "; ".join(
        say(
            "{pawl} {gap} on {day}",
            pawl=pawl_place(gap.pawl),
            gap=shown(gap.gap, "length"),
            day=f"{gap.at:%Y-%m-%d}",
        )
        for gap in gaps
    )
    note = say("Gaps as measured: {gaps}", gaps=told)
    new, _ = add_version(
        machine, *made, file_name=version.file_name, who=request.user, note=note[:LONGEST_NOTE]
    )
    return done(request, machine, new, new=True)


def values_of(gaps: list[MeasuredGap], loaded: LoadedMachine) -> dict[str, Any]:
    """What is written into the file: by path, in SI, or as text with its tolerance.

    The file's own tolerance stays: it is of the gap while the feed runs, and a gap that was set
    anew is no better known. Where it is less than half a step of the gauge, that takes its place.
    """
    values: dict[str, Any] = {}
    for gap in gaps:
        half = (gap.filed[2] - gap.filed[1]) / 2 if gap.filed else 0.0
        known = half >= gap.step / 2
        values[f"chain.pawls.{gap.pawl}.clearance"] = (
            gap.gap if known else f"{1e3 * gap.gap:.6g} mm +- {1e3 * gap.step / 2:.6g} mm"
        )
    steps = [gap.step for gap in gaps if not gap.step_assumed]
    filed = loaded.get(STEP)
    if steps and (filed is None or abs(filed.nominal - max(steps)) > 1e-9):
        values[STEP] = f"{1e3 * max(steps):.6g} mm"
    return values
