"""What was learned, kept as a new version of the machine's file: shown first, then kept."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_http_methods

from tripmargin.ground.cautions import PASSING
from tripmargin.ground.errors import MachineFileError, NotKnownError
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.lists import listed
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine.measured_section import MeasuredField
from tripmargin.machine.measured_text import with_measured
from tripmargin.machine.rewriting import with_values
from tripmargin.recordings.calibrating.stops import StopDoubt
from tripmargin.records.keeping.machines import add_version, read_machine_file
from tripmargin.records.standing.findings import Finding
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import SET, needs
from tripmargin.web.frame import us_units
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.machines.keeping import WhyForm, done
from tripmargin.web.machines.naming import called
from tripmargin.web.machines.working import a_few_at_once
from tripmargin.web.measuring.drift_boxes import drift_boxes
from tripmargin.web.measuring.learning import Asked, Learned, counted
from tripmargin.web.measuring.showing import file_words
from tripmargin.web.mending import take_mends

MEANWHILE = later(
    "Something was entered meanwhile, or another version came into force. Look at the values again:"
    " they are worked out with that."
)
LONGEST_HOW = 300


@dataclass(frozen=True, slots=True)
class Kept:
    """The file with the learned fields in it, and its lines that change."""

    text: str
    machine: LoadedMachine
    lines: tuple[str, ...]


@needs(SET)
@require_http_methods(["GET", "HEAD", "POST"])
@limited("upload", times=60, within=timedelta(minutes=10))
@a_few_at_once
def keep(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What the new version would say otherwise; then the version, proved."""
    machine = machine_at(uid)
    if request.method == "POST" and (again := _again(machine, request)) is not None:
        return done(request, machine, again, new=True)
    take_mends(request)
    asked = Asked.of(machine)
    learned = asked.learned()
    page: dict[str, Any] = {
        "machine": machine, "way": "measure", "here": "machines", "version": asked.version,
        "next": asked.version.number + 1, "key": asked.key, "learned": learned,
        "passing": say(PASSING),
    }  # fmt: skip
    if not learned.may_be_kept:
        return render(request, "measuring/keep.html", page)
    why = say("Learned from {findings} in the log.", findings=listed(counted(learned.used)))
    form = page["form"] = WhyForm(request.POST or None, initial={"note": why})
    assert learned.calibration is not None
    drifts = page["drifts"] = drift_boxes(learned.calibration, asked.loaded, request.POST)
    wrong = page["drift_wrong"] = any(box.troubles for box in drifts)
    said = {} if wrong else {box.path: box.drift for box in drifts}
    try:
        kept = page["kept"] = kept_of(asked, learned, said)
    except MachineFileError as error:
        return render(request, "measuring/keep.html", {**page, "trouble": str(error)}, status=422)
    page["rows"] = _rows(learned, us=us_units(request))
    if request.method == "POST" and form.is_valid() and not wrong:
        if request.POST.get("key") == asked.key:
            made, _ = add_version(
                machine, kept.text, kept.machine, file_name=asked.version.file_name,
                who=request.user, note=form.cleaned_data["note"],
            )  # fmt: skip
            request.session["kept_learned"] = [
                *request.session.get("kept_learned", []), [asked.key, made.number],
            ][-5:]  # fmt: skip
            return done(request, machine, made, new=True)
        page["trouble"] = say(MEANWHILE)
    return render(request, "measuring/keep.html", page, status=422 if form.is_bound else 200)


def kept_of(asked: Asked, learned: Learned, drifts: Mapping[str, str | None] | None = None) -> Kept:
    """The file's text with what was learned, read again as it would be from a person.

    `drifts`: by field, how much it may drift in a year.

    Raises
    ------
    MachineFileError
        If it cannot be put into the text, or what comes out is no machine file.
    """
    assert learned.calibration is not None
    version = asked.version
    values = {one.path: one.after for one in learned.calibration.fields}
    text = with_values(version.text, values, machine=asked.loaded)
    text = with_measured(text, measured_entries(asked.loaded, learned, drifts or {}))
    _, made = read_machine_file(text.encode(), version.file_name)
    lines = difflib.ndiff(version.text.splitlines(), text.splitlines())
    return Kept(text, made, tuple(line for line in lines if line[:2] in ("- ", "+ ")))


def measured_entries(
    loaded: LoadedMachine, learned: Learned, drifts: Mapping[str, str | None]
) -> list[MeasuredField]:
    """What is said of each learned field: when it was measured last, by whom, with what."""
    assert learned.calibration is not None
    of_stop = _of_stop(loaded)
    made = []
    for one in learned.calibration.fields:
        found = tuple(f for f in learned.used if (f.kind != "test pass") == (one.path in of_stop))
        if found:
            made.append(_entry(one.path, found, drifts.get(one.path)))
    return made


def _of_stop(loaded: LoadedMachine) -> set[str]:
    """The fields of which timed stops and found metal tell; test passes tell of all others."""
    try:
        return {path for path, _ in StopDoubt.of(loaded).inputs}
    except NotKnownError:
        return set()


def _entry(path: str, found: tuple[Finding, ...], drift: str | None) -> MeasuredField:
    who = ", ".join(dict.fromkeys(one.who for one in found if one.who))
    last = max(one.at for one in found)
    how = listed(counted(found))
    return MeasuredField(
        field=path,
        on=f"{last:%Y-%m-%d}",
        by=who[:LONGEST_HOW] or None,
        how=how[:LONGEST_HOW],
        drift=drift,
    )


def _rows(learned: Learned, *, us: bool) -> list[tuple[str, str, str, str]]:
    """Name, path, value before and after."""
    assert learned.calibration is not None
    return [
        (
            called(one.path),
            one.path,
            file_words(one.before, us=us),
            file_words(one.after, us=us),
        )
        for one in learned.calibration.fields
    ]


def _again(machine: Machine, request: HttpRequest) -> MachineVersion | None:
    """The version that this form made already, where it is sent a second time."""
    for key, number in request.session.get("kept_learned", []):
        if key == request.POST.get("key"):
            newest = version_at(machine)
            return newest if newest.number == number else None
    return None
