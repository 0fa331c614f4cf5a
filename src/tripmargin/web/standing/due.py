"""What is due, over all machines."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from tripmargin.web.doors.roles import LOOK, needs


@needs(LOOK)
def due(request: HttpRequest) -> HttpResponse:
    """What is due, the most urgent first."""
    return render(request, "standing/due.html", {"here": "due"})
