"""A timed stop into the log: once, with what it stands on."""

from __future__ import annotations

from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from tripmargin.ground.languages import say
from tripmargin.ground.units import shown
from tripmargin.recordings.stop_time import StopTime
from tripmargin.records.keeping.entries import EntryConflictError, NewEntry, write_entry
from tripmargin.records.kinds import EntryError
from tripmargin.records.standing.in_force import entries_in_force
from tripmargin.records.store.models import Entry, Machine

_TWO_SIDES = 1.959964  # of a normal distribution: 95 %
_HOW = {"sound": "sound", "logger": "logger", "video frames": "video"}


def keep_stop(
    request: HttpRequest,
    machine: Machine,
    one: StopTime,
    cut: float,
) -> HttpResponse | str:
    """Into the log, and the log's page; or why it cannot be taken."""
    try:
        uid = UUID(request.POST.get("uid", ""))
    except ValueError:
        uid = uuid4()
    values: dict[str, float | str] = {
        "stop_time_s": one.value,
        "sd_s": (one.high - one.low) / (2 * _TWO_SIDES),
        "how": _HOW.get(one.source, "other"),
        "cut_length_m": cut,
    }
    new = NewEntry(kind="stop time", values=values, uid=uid, note=_note(one))
    try:
        entry = write_entry(machine, new, who=request.user).entry
    except (EntryError, EntryConflictError) as error:
        return str(error)
    return to_log(machine, entry.uid)


def _note(one: StopTime) -> str:
    """What the value stands on, so that it can be found and measured again."""
    said = [say("95 %: {low} to {high}.", low=in_ms(one.low), high=in_ms(one.high))]
    if one.file:
        said.append(say("From {name}, SHA-256 {sha256}.", name=one.file, sha256=one.sha256))
    said += [
        f"{each.said[:1].upper()}{each.said[1:]}: {each.how}"
        for each in one.instants
        if not one.file
    ]
    hand = [
        say("{instant} at {time}", instant=each.said, time=in_ms(each.time))
        for each in one.instants
        if each.by_hand
    ]
    if hand:
        said.append(say("Moved by hand: {instants}.", instants=", ".join(hand)))
    return " ".join(said)


def kept_already(
    request: HttpRequest, machine: Machine, kind: str = "stop time"
) -> HttpResponse | None:
    """To the log, where this form was sent before and its entry is there."""
    if request.POST.get("do") != "keep":
        return None
    try:
        uid = UUID(request.POST.get("uid", ""))
    except ValueError:
        return None
    there = Entry.objects.filter(uid=uid, machine=machine, who=request.user, kind=kind)
    return to_log(machine, uid) if there.exists() else None


def kept_before(machine: Machine, one: StopTime) -> Entry | None:
    """The entry that stands on the same recording, if one counts: kept again, it counts twice."""
    if not one.sha256:
        return None
    entries = entries_in_force(machine, "stop time").filter(note__contains=one.sha256)
    found: Entry | None = entries.order_by("-pk").first()
    return found


def to_log(machine: Machine, uid: UUID) -> HttpResponse:
    """To the log's page, where the entry is."""
    address = reverse("machine-log", args=[machine.uid])
    return redirect(f"{address}?{urlencode({'kept': uid})}#e-{uid}")


def in_ms(value: float) -> str:
    """A time as it stands on the page."""
    return shown(value, "time", digits=4)
