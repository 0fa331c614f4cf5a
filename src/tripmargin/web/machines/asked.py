"""What the parts of a machine's page are asked: the machine, its file, and what is turned."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from tripmargin.machine import Machine as LoadedMachine
from tripmargin.records.keeping.machines import machine_of
from tripmargin.records.store.models import Machine
from tripmargin.web.frame import us_units
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.machines.turns import Turns, turns_of


def asked(request: HttpRequest, uid: UUID) -> tuple[Machine, LoadedMachine, Turns]:
    """The machine of an address, as its newest file has it, and what a person has turned.

    Raises
    ------
    Http404
        If there is none.
    """
    found = machine_at(uid)
    loaded = machine_of(version_at(found))
    return found, loaded, turns_of(loaded, request.GET, us=us_units(request))


def part_of_page(request: HttpRequest, template: str, page: dict[str, Any]) -> HttpResponse:
    """A part of the machine's page; a page of its own where no script asked for it."""
    if request.htmx:
        return render(request, template, page)
    whole = {**page, "part": template, "way": "protection", "here": "machines"}
    return render(request, "machines/part.html", whole)
