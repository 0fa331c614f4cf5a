"""A machine's file: every version kept, shown, downloaded, compared; a new one taken in."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from tripmargin.ground.languages import say
from tripmargin.ground.typed import spelled_quantity
from tripmargin.records.keeping.audit import note_change
from tripmargin.records.keeping.machines import add_version, compare, safe_name
from tripmargin.records.standing.proving_versions import proof_of
from tripmargin.records.store.models import Machine
from tripmargin.sensing.piece_said import said_piece
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import LOOK, OWN, SET, needs
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.machines.naming import called
from tripmargin.web.machines.uploads import MachineFileForm


@needs(LOOK, to_write=SET)
@require_http_methods(["GET", "POST"])
@limited("upload", times=60, within=timedelta(minutes=10))
def file(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The file as it is, its versions, and the form for a new one."""
    machine = machine_at(uid)
    form = MachineFileForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid() and form.read is not None:
        _, loaded = form.read
        if loaded.name.strip() != machine.name:
            form.add_error(
                "file" if form.cleaned_data["file"] else "text",
                say(
                    'This file is of a machine called "{said}", not "{name}". If it is another'
                    " machine, add it as a new one; else mend [machine] name.",
                    said=loaded.name,
                    name=machine.name,
                ),
            )
        else:
            return _taken(request, machine, form)
    page = {
        "machine": machine,
        "way": "file",
        "here": "machines",
        "version": version_at(machine),
        "versions": machine.versions.select_related("proof").order_by("-number"),
        "form": form,
    }
    return render(request, "machines/file.html", page, status=422 if form.is_bound else 200)


def _taken(request: HttpRequest, machine: Machine, form: MachineFileForm) -> HttpResponse:
    assert form.read is not None
    version, new = add_version(
        machine, *form.read, file_name=form.file_name, who=request.user,
        note=form.cleaned_data["note"],
    )  # fmt: skip
    proof_of(version)
    said = (
        say("Version {number} is in force.", number=version.number)
        if new
        else say("That is the version in force.")
    )
    messages.success(request, said)
    return redirect("machine-file", uid=machine.uid)


@needs(LOOK)
@require_GET
def download(request: HttpRequest, uid: UUID, number: int) -> HttpResponse:
    """A version as a file, byte by byte as it came."""
    version = version_at(machine_at(uid), number)
    response = HttpResponse(version.text.encode(), content_type="text/plain; charset=utf-8")
    # An imported version is called as its file said.
    stem = safe_name(version.file_name).removesuffix(".toml")
    response.headers["Content-Disposition"] = f'attachment; filename="{stem}-v{number}.toml"'
    return response


@needs(LOOK)
@require_GET
def differing(request: HttpRequest, uid: UUID) -> HttpResponse:
    """What two versions give differently, field by field."""
    machine = machine_at(uid)
    before, after = (
        version_at(
            machine, int(said) if said.isascii() and said.isdecimal() and len(said) < 9 else 0
        )
        for said in (request.GET.get("before", ""), request.GET.get("after", ""))
    )
    page = {
        "machine": machine,
        "way": "file",
        "here": "machines",
        "before": before,
        "after": after,
        "differences": [
            (called(one.field), one.field, *(_read(one.field, v) for v in (one.before, one.after)))
            for one in compare(before, after)
        ],
    }
    return render(request, "machines/compare.html", page)


def _read(field: str, text: str) -> str:
    """A file's text as people read it."""
    return said_piece(text) if field == "limits.must_stop" else spelled_quantity(text)


def _number(said: str) -> int:
    """A version's number from an address; 0, which none has, for anything else."""
    return int(said) if said.isascii() and said.isdecimal() and len(said) < 9 else 0


@needs(OWN)
@require_POST
def put_away(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Off the list, or back on it; nothing is deleted."""
    machine = machine_at(uid)
    machine.put_away_at = None if machine.put_away_at else timezone.now()
    machine.save(update_fields=["put_away_at"])
    what = "machine put away" if machine.put_away_at else "machine brought back"
    note_change(what, machine.name, who=request.user)
    messages.success(
        request,
        say("{machine}: machine put away.", machine=machine.name)
        if machine.put_away_at
        else say("{machine}: machine brought back.", machine=machine.name),
    )
    return redirect("machine-file", uid=uid)
