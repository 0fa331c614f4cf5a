"""Adding a machine: from its file, from the demo machines, or question by question."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from tripmargin.machine import demo_machines
from tripmargin.records.keeping.entries import newest_version
from tripmargin.records.keeping.machines import NameTakenError, add_demo_machine, add_machine
from tripmargin.records.standing.proving_versions import proof_of
from tripmargin.records.store.models import Machine
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import SET, needs
from tripmargin.web.machines.guided_more import welcome
from tripmargin.web.machines.uploads import MachineFileForm


@needs(SET)
@require_http_methods(["GET", "POST"])
@limited("upload", times=60, within=timedelta(minutes=10))
def add(request: HttpRequest) -> HttpResponse:
    """The ways to add one; a file is sent here."""
    form = MachineFileForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid() and form.read is not None:
        text, loaded = form.read
        try:
            machine = add_machine(
                text, loaded, file_name=form.file_name, who=request.user,
                note=form.cleaned_data["note"],
            )  # fmt: skip
        except NameTakenError as error:
            form.add_error("file" if form.cleaned_data["file"] else "text", str(error))
        else:
            return _welcome(request, machine)
    status = 422 if form.is_bound else 200
    there = {name.lower() for name in Machine.objects.values_list("name", flat=True)}
    demos = [name for name in demo_machines() if name not in there]
    return render(request, "machines/add.html", _page(form, demos), status=status)


@needs(SET)
@require_POST
def add_demo(request: HttpRequest, name: str) -> HttpResponse:
    """One of the invented machines, to try things on."""
    if name not in demo_machines():
        raise Http404
    try:
        machine = add_demo_machine(name, who=request.user)
    except NameTakenError as error:
        messages.error(request, str(error))
        return redirect("machines")
    return _welcome(request, machine)


def _page(form: MachineFileForm, demos: list[str]) -> dict[str, Any]:
    return {"form": form, "demos": demos, "here": "machines"}


def _welcome(request: HttpRequest, machine: Machine) -> HttpResponse:
    """To the new machine's page, proved: the list then says at once how it stands."""
    version = newest_version(machine)
    if version is not None:
        proof_of(version)
    welcome(request, machine)
    return redirect("machine", uid=machine.uid)
