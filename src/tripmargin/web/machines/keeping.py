"""Settings that were turned, kept as a new version of the machine's file: looked at first."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import later, say
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine as LoadedMachine
from tripmargin.machine import differences
from tripmargin.machine.rewriting import with_values
from tripmargin.protection.verdicts import VERDICT_WORDS
from tripmargin.records.keeping.machines import add_version, machine_of, read_machine_file
from tripmargin.records.standing.proving_versions import proof_of
from tripmargin.records.store.models import Machine, MachineVersion
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import SET, needs
from tripmargin.web.frame import us_units
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.machines.naming import called
from tripmargin.web.machines.turns import in_file, turns_of
from tripmargin.web.said_later import NEEDED, said_later

MEANWHILE = later(
    "Another version came into force meanwhile. Look at the differences again: they are against"
    " that one now."
)


class WhyForm(forms.Form):
    """Why the file says something else from now on."""

    note = forms.CharField(
        label=said_later(later("Why? What was done at the machine?")),
        max_length=500,
        error_messages={"required": said_later(NEEDED)},
        help_text=said_later(later('Such as "Gap set anew after the relay was replaced".')),
        widget=forms.Textarea(attrs={"rows": 3}),
    )


@dataclass(frozen=True, slots=True)
class Kept:
    """The file with the turned settings in it, and what that changes."""

    text: str
    machine: LoadedMachine
    rows: tuple[tuple[str, str, str, str], ...]
    """Name, value before, value after, field: one a difference."""
    lines: tuple[str, ...]
    """Of the file: those that go, marked "-", and those that come, marked "+"."""


@needs(SET)
@require_http_methods(["GET", "HEAD", "POST"])
@limited("upload", times=60, within=timedelta(minutes=10))
def keep(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What the new version would say otherwise; then the version, proved."""
    machine = machine_at(uid)
    version, us = version_at(machine), us_units(request)
    loaded = machine_of(version)
    said = QueryDict(request.POST.get("turned", "")) if request.method == "POST" else request.GET
    turns = turns_of(loaded, said, us=us)
    page: dict[str, Any] = {
        "machine": machine, "way": "file", "here": "machines", "version": version, "turns": turns,
        "next": version.number + 1,
    }  # fmt: skip
    form = page["form"] = WhyForm(request.POST or None)
    try:
        kept = _kept(version, loaded, turns.settings(loaded), us=us) if turns.changed else None
    except MachineFileError as error:
        return render(request, "machines/keep.html", {**page, "trouble": str(error)}, status=422)
    if turns.wrong or kept is None or not kept.rows:
        if sent_twice(request, version):
            return done(request, machine, version, new=False)
        return render(request, "machines/keep.html", page, status=422 if turns.wrong else 200)
    page["kept"] = kept
    if request.method == "POST" and form.is_valid():
        if request.POST.get("version") == str(version.number):
            made, new = add_version(
                machine, kept.text, kept.machine, file_name=version.file_name, who=request.user,
                note=form.cleaned_data["note"],
            )  # fmt: skip
            return done(request, machine, made, new=new)
        page["trouble"] = say(MEANWHILE)
    return render(request, "machines/keep.html", page, status=422 if form.is_bound else 200)


def _kept(
    version: MachineVersion, loaded: LoadedMachine, settings: dict[str, Any], *, us: bool
) -> Kept:
    """The file's text with these settings, read again as it would be from a person."""
    text = with_values(version.text, settings, machine=loaded)
    _, made = read_machine_file(text.encode(), version.file_name)
    rows = tuple(
        (called(one.field), _words(loaded, one.field, one.before, us),
         _words(made, one.field, one.after, us), one.field)
        for one in differences(loaded, made)
    )  # fmt: skip
    lines = difflib.ndiff(version.text.splitlines(), text.splitlines())
    return Kept(text, made, rows, tuple(line for line in lines if line[:2] in ("- ", "+ ")))


def _words(machine: LoadedMachine, field: str, written: str, us: bool) -> str:
    """A value with its unit and its tolerance, as the reader has it."""
    try:
        given = machine.get(field)
    except KeyError:
        given = None
    if isinstance(given, Quantity):
        value = in_file(given, us=us)
        return say("{value} (assumed)", value=value) if given.source == "assumed" else value
    return written or say("not given")


def sent_twice(request: HttpRequest, version: MachineVersion) -> bool:
    """Whether the version in force is what this very form made of the one before."""
    return (
        request.method == "POST"
        and request.POST.get("version") == str(version.number - 1)
        and version.added_by_id == request.user.pk
    )


def done(
    request: HttpRequest, machine: Machine, version: MachineVersion, *, new: bool
) -> HttpResponse:
    """Back to the machine's page, which says that the version is in force."""
    about = {"number": version.number, "verdict": say(VERDICT_WORDS[proof_of(version).verdict])}
    messages.success(
        request,
        say("Version {number} of the file is in force: {verdict} by calculation.", **about)
        if new
        else say(
            "Version {number} of the file was in force already: {verdict} by calculation.", **about
        ),
    )
    return redirect("machine", uid=machine.uid)
