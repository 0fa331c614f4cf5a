"""The list of machines."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from tripmargin.records.store.models import Machine
from tripmargin.web.doors.roles import LOOK, needs


@needs(LOOK)
def machines(request: HttpRequest) -> HttpResponse:
    """Every machine, with its state at a glance."""
    found = Machine.objects.filter(put_away_at=None).select_related("standing").order_by("name")
    return render(request, "machines/list.html", {"machines": found, "here": "machines"})
