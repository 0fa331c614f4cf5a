"""The test pieces that the yard owns, on the page of any machine: the next one is among them."""

from __future__ import annotations

import re
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from tripmargin.ground.decimal_commas import meant_by, typed
from tripmargin.records.keeping.owned_pieces import (
    PieceError,
    add_piece,
    owned_names,
    take_out_piece,
)
from tripmargin.sensing.piece_said import said_piece
from tripmargin.web.doors.roles import LOG, LOOK, needs
from tripmargin.web.machines.finding import machine_at
from tripmargin.web.mending import take_mends

USUAL = ("10 mm ball", "12 mm ball", "16 mm ball", "20 mm ball", "25 mm ball", "30 mm ball")
"""Offered at one touch: steel balls as bearings have them."""


@needs(LOOK, to_write=LOG)
@require_http_methods(["GET", "HEAD", "POST"])
def pieces(request: HttpRequest, uid: UUID) -> HttpResponse:
    """The list; a piece added or taken out."""
    machine = machine_at(uid)
    take_mends(request)
    text, trouble = "", ""
    if request.method == "POST":
        text = request.POST.get("add", "")
        try:
            if out := request.POST.get("out"):
                take_out_piece(out, who=request.user)
            else:
                add_piece(request.POST.get("usual") or typed(text), who=request.user)
            return redirect(f"{reverse('machine-pieces', args=[uid])}#owned")
        except PieceError as error:
            trouble = str(error)
    owned = owned_names()
    page = {
        "machine": machine,
        "way": "measure",
        "here": "machines",
        "owned": [(name, said_piece(name)) for name in owned],
        "usual": [(name, said_piece(name)) for name in USUAL if name not in owned],
        "text": text,
        "troubles": [trouble] if trouble else [],
        "mends": meant_by(typed(text)) or as_ball(typed(text)),
    }
    return render(request, "measuring/pieces.html", page, status=422 if trouble else 200)


def as_ball(text: str) -> tuple[str, ...]:
    """A bare size as the ball that is most likely meant; empty where it is no size.

    >>> as_ball("20"), as_ball("12.5 mm"), as_ball("20 mm rod")
    (('20 mm ball',), ('12.5 mm ball',), ())
    """
    size = re.fullmatch(r"(\d{1,4}(?:\.\d+)?)(?: ?mm)?", text.strip())
    return (f"{size[1]} mm ball",) if size else ()
