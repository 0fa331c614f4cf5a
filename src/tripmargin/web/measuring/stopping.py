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
from tripmargin.ground.languages import later, numeral, say
from tripmargin.ground.units import DIMENSIONS, from_si
from tripmargin.pictures.stop_time import stop_time_picture
from tripmargin.pictures.words import measured_ms
from tripmargin.recordings import RecordingError
from tripmargin.recordings.stop_time import StopTime, stop_time_from_frames
from tripmargin.recordings.stop_time.result import NO_STOP, instant_said
from tripmargin.records.store.models import Machine
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import LOG, needs
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.machines.finding import machine_at
from tripmargin.web.machines.working import a_few_at_once
from tripmargin.web.measuring.frames import frame_boxes, too_long
from tripmargin.web.measuring.gone import gone
from tripmargin.web.measuring.moving import Moving
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.measuring.plain_words import plainly
from tripmargin.web.measuring.said import Said
from tripmargin.web.measuring.stop_into_log import keep_stop, kept_already, kept_before
from tripmargin.web.measuring.stop_looked import StopLooked
from tripmargin.web.measuring.uploads import GoneError, UploadError, take, upload_at
from tripmargin.web.mending import take_mends

_NOT_CLEAR = later(
    "It is not clear that this is a stop, so it is not kept. Put both of its ends by hand, or say"
    " that you hear them where they stand."
)


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
            trouble = say("Choose a file, or record one.")
        else:
            try:
                upload = take(file, person=request.user, machine=uid)
                return redirect("machine-stop-found", uid=uid, upload=upload.uid)
            except UploadError as error:
                trouble = str(error)
    page = {**_frame(machine), "trouble": trouble, "boxes": frame_boxes({})}
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
    try:
        kept = upload_at(upload, person=request.user, machine=uid)
    except GoneError:
        return gone(request, machine, "machine-stop")
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
    boxes = frame_boxes(request.POST)
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
        boxes[1].troubles.append(plainly(str(error)))
    else:
        boxes[1].troubles += too_long(seen)
    if boxes[1].troubles:
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
    cut = Number(
        "cut", say("Cut length in use"), unit, round(low, 4), round(high, 4),
        request.POST.get("cut", ""), help=say("How long a stop takes depends on it."),
    )  # fmt: skip
    if request.POST.get("do") == "keep":
        value = cut.read()
        if not one.clear:
            page["trouble"] = say(_NOT_CLEAR)
        elif value is not None and moving.good:
            metres = value * DIMENSIONS["length"].units[unit].factor
            kept = keep_stop(request, machine, one, metres)
            if not isinstance(kept, str):
                forget()
                return kept
            page["trouble"] = kept
    middle, least, most = measured_ms(one.value, one.low, one.high)
    page |= {
        "stop": one,
        "value": middle,
        "low": least,
        "high": most,
        "noticed": [each for each in one.troubles if each.what != NO_STOP],
        "moving": moving,
        "zero": f"{numeral(moving.found.instant(moving.found.start).time, '.4f')} s",
        "start": instant_said(one.start),
        "end": instant_said(one.end),
        "cut": cut,
        "before": kept_before(machine, one),
        "picture": _picture(request, machine, one),
        "many": [
            (
                event,
                measured_ms(event.value, event.low, event.high)[0],
                f"{numeral(event.at, '.1f')} s",
            )
            for event in one.events
        ],
    }
    wrong = bool(moving.trouble or cut.troubles or not moving.good or page.get("trouble"))
    return render(request, "measuring/stop_found.html", page, status=422 if wrong else 200)


def _picture(request: HttpRequest, machine: Machine, one: StopTime) -> str:
    look: dict[str, Any] = {"width": picture_width(request), "sun": in_the_sun(request)}
    return stop_time_picture(machine.name, one, **look, notes=False)  # the page says them


def _nothing() -> None:
    """Frames that were counted leave no file to forget."""


def _frame(machine: Machine) -> dict[str, Any]:
    return {
        "machine": machine,
        "way": "measure",
        "here": "machines",
        "stopping": say(STOPPING),
        "uid": uuid4(),
    }
