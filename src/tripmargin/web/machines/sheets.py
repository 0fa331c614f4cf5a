"""Type sheets: what machines of one type share."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from tripmargin.ground.errors import MachineFileError
from tripmargin.ground.languages import later, say
from tripmargin.machine.files import tables_of
from tripmargin.records.keeping.entries import newest_version
from tripmargin.records.keeping.machines import (
    add_type_sheet,
    add_version,
    read_machine_file,
    safe_name,
)
from tripmargin.records.standing.proving_versions import proof_of
from tripmargin.records.store.models import Machine, MachineVersion, TypeSheet
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import LOOK, SET, needs
from tripmargin.web.machines.finding import machine_at
from tripmargin.web.machines.uploads import SheetForm


@needs(LOOK, to_write=SET)
@require_http_methods(["GET", "POST"])
@limited("upload", times=60, within=timedelta(minutes=10))
def sheets(request: HttpRequest) -> HttpResponse:
    """All type sheets, which machines build on each, and the form for a new one."""
    form = SheetForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        upload = form.cleaned_data["file"]
        try:
            version, new = add_type_sheet(upload.read(), upload.name, who=request.user)
        except MachineFileError as error:
            form.add_error("file", str(error))
        else:
            about = {"sheet": version.sheet.name, "number": version.number}
            messages.success(
                request,
                say("{sheet}: version {number} is in force.", **about)
                if new
                else say("{sheet}: version {number} was in force already.", **about),
            )
            return redirect("type-sheets")
    built_on = _built_on()
    found = [
        (sheet, sheet.versions.order_by("-number").first(), built_on.get(sheet.name, []))
        for sheet in TypeSheet.objects.order_by("name")
    ]
    page = {"sheets": found, "form": form, "here": "machines"}
    return render(request, "machines/sheets.html", page, status=422 if form.is_bound else 200)


def _built_on() -> dict[str, list[Machine]]:
    """Type sheet to the machines whose newest file names it.

    The text of a version that was imported is whatever the file said: only its copy was read.
    """
    found: dict[str, list[Machine]] = {}
    standing = MachineVersion.objects.filter(standing__isnull=False).select_related("machine")
    for version in standing.order_by("machine__name"):
        try:
            extends = tables_of(version.text).get("extends")
        except (ValueError, RecursionError):
            continue
        if isinstance(extends, str):
            found.setdefault(extends, []).append(version.machine)
    return found


@needs(LOOK)
@require_GET
def download_sheet(request: HttpRequest, name: str) -> HttpResponse:
    """The newest version of a type sheet, as it came."""
    # What no sheet can be called is not asked for, nor written into a header.
    sheet = TypeSheet.objects.filter(name=name).first() if safe_name(name) == name else None
    version = sheet.versions.order_by("-number").first() if sheet else None
    if version is None:
        raise Http404
    response = HttpResponse(version.text.encode(), content_type="text/plain; charset=utf-8")
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@needs(SET)
@require_http_methods(["POST"])
def take_over(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Read a machine's newest file again with the type sheets as they are now."""
    machine = machine_at(uid)
    newest = newest_version(machine)
    if newest is None:
        raise Http404
    try:
        text, loaded = read_machine_file(newest.text.encode(), newest.file_name)
    except MachineFileError as error:
        messages.error(
            request, say("{machine} stays as it is. {trouble}", machine=machine.name, trouble=error)
        )
        return redirect("type-sheets")
    version, new = add_version(
        machine, text, loaded, file_name=newest.file_name, who=request.user,
        note=later("read again with the newest type sheet"),
    )  # fmt: skip
    proof_of(version)
    messages.success(
        request,
        say("{machine}: version {number} is in force.", machine=machine.name, number=version.number)
        if new
        else say("{machine}: nothing changes.", machine=machine.name),
    )
    return redirect("type-sheets")
