"""A stop timed by sound, by a logger's file, or by frames of a video: looked at, then kept."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from tripmargin.ground.cautions import STOPPING
from tripmargin.ground.units import DIMENSIONS, from_si
from tripmargin.pictures.stop_time import stop_time_picture
from tripmargin.recordings import RecordingError
from tripmargin.recordings.stop_time import StopTime, stop_time_from_frames
from tripmargin.records.store.models import Machine
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import LOG, needs
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.machines.finding import machine_at
from tripmargin.web.machines.working import a_few_at_once
from tripmargin.web.measuring.moving import Moving
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.measuring.said import Said
from tripmargin.web.measuring.stop_into_log import in_ms, keep_stop, kept_already
from tripmargin.web.measuring.stop_looked import StopLooked
from tripmargin.web.measuring.uploads import UploadError, take, upload_at
from tripmargin.web.mending import take_mends

_NOT_CLEAR = "It is not clear that this is a stop, so it is not kept. Put both of its ends by hand."


@needs(LOG)
@require_http_methods(["GET", "HEAD", "POST"])
@limited("recordings", times=30, within=timedelta(minutes=10), with_files=True)
def stop(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Choose a file, or record one; or count frames."""
    machine = machine_at(uid)
    trouble = ""
    if request.method == "POST":
        file = request.FILES.get("recording")
        if file is None:
            trouble = "Choose a file, or record one."
        else:
            try:
                upload = take(file, person=request.user, machine=uid)
                return redirect("machine-stop-found", uid=uid, upload=upload.uid)
            except UploadError as error:
                trouble = str(error)
    page = {**_frame(machine), "trouble": trouble, "boxes": _frame_boxes({})}
    return render(request, "measuring/stop.html", page, status=422 if trouble else 200)


@needs(LOG)
@require_http_methods(["GET", "HEAD", "POST"])
@a_few_at_once
def found(request: HttpRequest, uid: UUID, upload: UUID) -> HttpResponse:
    """The stop in a recording, its instants to be moved by hand; then into the log."""
    machine = machine_at(uid)
    if (done := kept_already(request, machine)) is not None:
        return done
    take_mends(request)
    kept = upload_at(upload, person=request.user, machine=uid)
    looked = StopLooked(kept, Said(request.POST), us=us_units(request))
    page: dict[str, Any] = {**_frame(machine), "upload": kept, "name": kept.name, "looked": looked}
    if looked.stop is None:
        return render(request, "measuring/stop_found.html", page, status=422)
    # Instants of another stop, or of a file read otherwise, are others: nothing of them was moved.
    same = request.POST.get("was", "") == looked.was
    moving = Moving.of(looked.stop, request.POST if same else {})
    return _looked_at(request, machine, page, moving, kept.forget)


@needs(LOG)
@require_http_methods(["GET", "HEAD", "POST"])
def frames(request: HttpRequest, uid: UUID) -> HttpResponse:
    """A stop by two frames of a video that a person counted."""
    machine = machine_at(uid)
    if (done := kept_already(request, machine)) is not None:
        return done
    take_mends(request)
    boxes = _frame_boxes(request.POST)
    page: dict[str, Any] = {**_frame(machine), "boxes": boxes}
    page["variable"] = request.POST.get("variable") == "yes"
    if request.method != "POST":
        return render(request, "measuring/stop_found.html", page)
    first, last, rate = (box.read() for box in boxes)
    if first is None or last is None or rate is None:
        return render(request, "measuring/stop_found.html", page, status=422)
    try:
        seen = stop_time_from_frames(
            first=int(first), last=int(last), rate=rate, variable=page["variable"]
        )
    except RecordingError as error:
        page["trouble"] = str(error)
        return render(request, "measuring/stop_found.html", page, status=422)
    return _looked_at(request, machine, page, Moving(seen, seen, []), _nothing)


def _looked_at(
    request: HttpRequest,
    machine: Machine,
    page: dict[str, Any],
    moving: Moving,
    forget: Callable[[], None],
) -> HttpResponse:
    """The page with the picture; where it was asked for and nothing is wrong, the log instead."""
    us, one = us_units(request), moving.moved
    unit = DIMENSIONS["length"].us if us else DIMENSIONS["length"].metric
    low, high = (from_si(end, "length", unit) for end in (0.001, 0.1))
    cut = Number("cut", "Cut length in use", unit, round(low, 4), round(high, 4),
                 request.POST.get("cut", ""), help="The stop hangs on it.")  # fmt: skip
    if request.POST.get("do") == "keep":
        value = cut.read()
        if not one.clear:
            page["trouble"] = _NOT_CLEAR
        elif value is not None and moving.good:
            metres = value * DIMENSIONS["length"].units[unit].factor
            kept = keep_stop(request, machine, one, metres)
            if not isinstance(kept, str):
                forget()
                return kept
            page["trouble"] = kept
    page |= {
        "stop": one,
        "value": in_ms(one.value),
        "low": in_ms(one.low),
        "high": in_ms(one.high),
        "moving": moving,
        "zero": f"{moving.found.instant(moving.found.start).time:.4f} s",
        "cut": cut,
        "picture": _picture(request, machine, one),
        "many": [(event, in_ms(event.value), f"{event.at:.1f} s") for event in one.events],
    }
    wrong = bool(moving.trouble or cut.troubles or not moving.good or page.get("trouble"))
    return render(request, "measuring/stop_found.html", page, status=422 if wrong else 200)


def _picture(request: HttpRequest, machine: Machine, one: StopTime) -> str:
    return stop_time_picture(
        machine.name, one, width=picture_width(request), sun=in_the_sun(request)
    )


def _frame_boxes(said: Any) -> list[Number]:
    """The frame that shows the trip, the one in which the roll stands, frames a second."""
    lit = "The lamp lit, or the button pressed."
    played = "Of the recording, not of the slow playing: 240."
    return [
        Number("first", "First frame that shows the trip", "", 0.0, 1e7,
               said.get("first", ""), whole=True, help=lit),
        Number("last", "First frame in which the roll stands", "", 0.0, 1e7,
               said.get("last", ""), whole=True, help="Counted as the other one is."),
        Number("rate", "Frames a second", "1/s", 1.0, 1e5, said.get("rate", ""), help=played),
    ]  # fmt: skip


def _nothing() -> None:
    """Frames that were counted leave no file to forget."""


def _frame(machine: Machine) -> dict[str, Any]:
    return {
        "machine": machine,
        "way": "measure",
        "here": "machines",
        "stopping": STOPPING,
        "uid": uuid4(),
    }
