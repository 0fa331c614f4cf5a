"""The page in place of a recording that is gone: kept already, too old, or never here."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from tripmargin.records.store.models import Machine


def gone(request: HttpRequest, machine: Machine, again: str) -> HttpResponse:
    """What may have become of it, and where to go; `again` is the page on which one is sent."""
    page = {"machine": machine, "way": "measure", "here": "machines", "again": again}
    return render(request, "measuring/gone.html", page, status=404)
