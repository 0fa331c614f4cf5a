"""Correcting an entry, or taking it back: always by a new entry, never by changing the old one."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID, uuid4

from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from tripmargin.ground.languages import say
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.kinds import KINDS, WITHDRAWN
from tripmargin.records.kinds.fields import LONGEST_TEXT
from tripmargin.records.store.models import Entry
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import LOG, needs
from tripmargin.web.frame import us_units
from tripmargin.web.log.boxes import Filled
from tripmargin.web.log.entering import Page, keep, sent_by_another, show_form, take
from tripmargin.web.log.reading import Sent, clean, filled_from, read_uid
from tripmargin.web.log.telling import for_telling, may_correct, tell, title_of


@needs(LOG)
@require_http_methods(["GET", "HEAD", "POST"])
@limited("corrections", times=120, within=timedelta(minutes=10))
def correct(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Correct an entry: the form of its kind, filled with what it says."""
    found = _to_correct(request, uid)
    said = _what_it_said(found)
    if request.method != "POST" and found.corrected_by.all():
        return _corrected_already(request, found)
    if said.kind not in KINDS:  # of a newer version
        return redirect("withdraw-entry", uid=uid)
    kind = KINDS[said.kind]
    what = title_of(kind.name)
    title = say("Correct: {kind}", kind=what)
    if found.kind == WITHDRAWN:
        title = say("Put back: {kind}", kind=what)
    page = Page(found.machine, kind, title, corrects=found, said=said)
    if request.method != "POST":
        filled = filled_from(said, kind, us=us_units(request))
        return show_form(request, page, filled, uuid4())
    return take(request, page)


@needs(LOG)
@require_http_methods(["GET", "HEAD", "POST"])
def withdraw(request: HttpRequest, uid: UUID) -> HttpResponse:
    """Take an entry back, with a reason."""
    found = _to_correct(request, uid)
    if request.method != "POST" and found.corrected_by.all():
        return _corrected_already(request, found)
    if found.kind == WITHDRAWN:
        return redirect("correct-entry", uid=uid)
    if request.method != "POST":
        return _ask_why(request, found, Sent(Filled()), 200)
    if (refusal := sent_by_another(request)) is not None:
        return refusal
    sent = Sent(Filled(note=clean(request.POST.get("note", ""))))
    read_uid(sent, request.POST.get("uid", ""))
    reason = sent.filled.note.strip()
    if not reason:
        sent.filled.trouble("note", say("Needed, and left empty. A few words will do."))
    if len(reason) > LONGEST_TEXT:
        words = say("Too long. Allowed: at most {most} letters.", most=LONGEST_TEXT)
        sent.filled.trouble("note", words)
    # The time is that of the entry, so that the two stand together, and a second try is the first.
    new = NewEntry(
        kind=WITHDRAWN, values={}, at=found.at, uid=sent.uid, note=reason, corrects=found
    )
    return keep(
        request, found.machine, sent,
        lambda: write_entry(found.machine, new, who=request.user),
        lambda see: _ask_why(request, found, sent, 422),
    )  # fmt: skip


def _to_correct(request: HttpRequest, uid: UUID) -> Any:
    found = get_object_or_404(for_telling(Entry.objects.select_related("machine")), uid=uid)
    if not may_correct(found, request.user):
        if found.who_name:
            entered = say("{who} entered this.", who=found.who_name)
        else:
            entered = say("Somebody else entered this.")
        by_whom = say("Other people's entries are corrected by those with the role “set”.")
        raise PermissionDenied(f"{entered} {by_whom}")
    return found


def _what_it_said(found: Any) -> Any:
    """The entry that holds the values: of one that takes back, the one that it took back."""
    while found.kind == WITHDRAWN and found.corrects is not None:
        found = found.corrects
    return found


def _corrected_already(request: HttpRequest, found: Any) -> HttpResponse:
    """A page that says so and shows the one that stands.

    Only where nothing was typed yet: a form that comes too late is refused by the writing itself,
    and shown again with all that stood in it.
    """
    stands = found.corrected_by.all()[0]
    while (newer := stands.corrected_by.first()) is not None:
        stands = newer
    stands = for_telling(Entry.objects.select_related("machine")).get(pk=stands.pk)
    us = us_units(request)
    context = {
        "machine": found.machine,
        "way": "log",
        "one": tell(found, request.user, us=us),
        "stands": tell(stands, request.user, us=us),
    }
    return render(request, "log/corrected.html", context)


def _ask_why(request: HttpRequest, found: Any, sent: Sent, status: int) -> HttpResponse:
    context = {
        "machine": found.machine,
        "way": "log",
        "one": tell(found, request.user, us=us_units(request)),
        "filled": sent.filled,
        "loose": sent.filled.troubles.get("", []),
        "uid": sent.uid,
        "title": say("Take back: {kind}", kind=title_of(found.kind)),
        "fresh": status == 200,
    }
    return render(request, "log/withdraw.html", context, status=status)
