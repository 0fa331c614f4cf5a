"""The noise of a quiet run: a file, its floor and its orders, false trips; then into the log."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from tripmargin.ground.cautions import QUIET
from tripmargin.ground.languages import say
from tripmargin.pictures import noise_orders_picture, noise_orders_table
from tripmargin.records.store.models import Machine
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import LOG, needs
from tripmargin.web.frame import in_the_sun, picture_width, us_units
from tripmargin.web.machines.finding import machine_at, version_at
from tripmargin.web.machines.working import a_few_at_once
from tripmargin.web.measuring.gone import gone
from tripmargin.web.measuring.noise_as import TURNING, turning_boxes
from tripmargin.web.measuring.noise_into_log import keep_noise
from tripmargin.web.measuring.noise_looked import NoiseLooked
from tripmargin.web.measuring.noise_rows import file_rows, noise_rows
from tripmargin.web.measuring.said import Said
from tripmargin.web.measuring.stop_into_log import kept_already
from tripmargin.web.measuring.uploads import GoneError, UploadError, take, upload_at
from tripmargin.web.mending import take_mends


@needs(LOG)
@require_http_methods(["GET", "HEAD", "POST"])
@limited("recordings", times=30, within=timedelta(minutes=10), with_files=True)
def noise(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Choose a quiet run's file; the roll's speed or pulses where they are known."""
    machine = machine_at(uid)
    take_mends(request)
    said, trouble = Said(request.POST), ""
    if request.method == "POST":
        file = request.FILES.get("recording")
        if file is None:
            trouble = say("Choose a file.")
        else:
            try:
                upload = take(file, person=request.user, machine=uid)
                # A mistake in these is told where the file lies already: it is sent once.
                more = {key: text for key in TURNING if (text := said.of(key))}
                address = reverse("machine-noise-found", args=[uid, upload.uid])
                return redirect(f"{address}?{urlencode(more)}" if more else address)
            except UploadError as error:
                trouble = str(error)
    boxes = turning_boxes(said, us=us_units(request))
    page = {**_frame(machine), "trouble": trouble, "boxes": boxes}
    return render(request, "measuring/noise.html", page, status=422 if trouble else 200)


@needs(LOG)
@require_http_methods(["GET", "HEAD", "POST"])
@a_few_at_once
def found(request: HttpRequest, uid: UUID, upload: UUID) -> HttpResponse:
    """The noise in a recording; then into the log, once."""
    machine = machine_at(uid)
    if (done := kept_already(request, machine, "note")) is not None:
        return done
    take_mends(request)
    try:
        kept = upload_at(upload, person=request.user, machine=uid)
    except GoneError:
        return gone(request, machine, "machine-noise")
    version, us = version_at(machine), us_units(request)
    said = Said(request.POST if request.method == "POST" else request.GET)
    looked = NoiseLooked(kept, version, said, us=us)
    page: dict[str, Any] = {**_frame(machine), "name": kept.name, "upload": kept, "looked": looked}
    if looked.noise is None or looked.recording is None:
        return render(request, "measuring/noise_found.html", page, status=422)
    if request.POST.get("do") == "keep":
        answer = keep_noise(request, machine, version, looked)
        if not isinstance(answer, str):
            kept.forget()
            return answer
        page["trouble"] = answer
    one = looked.noise
    headers, cells = noise_orders_table(one)
    page |= {
        "noise": one,
        "rows": noise_rows(one, version.number, us=us),
        "picture": noise_orders_picture(one, width=picture_width(request), sun=in_the_sun(request)),
        "table": ([say(header) for header in headers], cells),
        "in_file": file_rows(one, looked.machine, us=us),
        "version": version,
    }
    status = 422 if page.get("trouble") else 200
    return render(request, "measuring/noise_found.html", page, status=status)


def _frame(machine: Machine) -> dict[str, Any]:
    return {
        "machine": machine,
        "way": "measure",
        "here": "machines",
        "quiet": say(QUIET),
        "uid": uuid4(),
    }
