"""Entering what happened."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from urllib.parse import urlencode
from uuid import UUID, uuid4

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from tripmargin.faultfinding.wording.lamp_words import Lamps
from tripmargin.ground.languages import say
from tripmargin.records.keeping.entries import EntryConflictError, names_of, newest_version
from tripmargin.records.keeping.photos import PhotoError, write_entry_with_photos
from tripmargin.records.kinds import EntryError, Kind
from tripmargin.records.kinds.fields import LONGEST_TEXT
from tripmargin.records.standing.after_entry import after_entry, may_say
from tripmargin.records.store.models import Entry, Machine
from tripmargin.web.doors.limits import limited
from tripmargin.web.doors.roles import LOG, SET, needs
from tripmargin.web.frame import us_units
from tripmargin.web.log.boxes import Filled, groups_of, in_box, trouble_of
from tripmargin.web.log.lamps import lamps_of
from tripmargin.web.log.reading import Sent, blank, read_sent
from tripmargin.web.log.telling import kind_at, title_of
from tripmargin.web.mending import take_mends

WELL = {"daily check": {"tripped": "yes", "reset": "yes", "lamps": "yes"}}
"""What stands in a form when all is well, to be filled in at one touch and then kept."""
BACK = {"measure": "machine-measure"}
"""Pages that send a person to a form of the log and want them back, by what the form says."""


@dataclass(frozen=True, slots=True)
class Page:
    """What a form is about, the same for a new entry and for a correction."""

    machine: Machine
    kind: Kind
    title: str
    corrects: Any = None
    said: Any = None
    """The entry whose values, and photos, stand in the form of a correction."""


@needs(LOG)
@require_http_methods(["GET", "HEAD", "POST"])
@limited("photos", times=120, within=timedelta(minutes=10), with_files=True)
def new_entry(request: HttpRequest, uid: UUID, kind: str) -> HttpResponse:
    """A new entry of one kind."""
    machine = get_object_or_404(Machine, uid=uid)
    wanted = kind_at(kind)
    if wanted is None:
        raise Http404("no such kind of entry")
    if wanted.name == "plan" and not request.user.may(SET):
        raise PermissionDenied(say("How often a machine is looked at is set by the role “set”."))
    page = Page(machine, wanted, title_of(wanted.name))
    if request.method != "POST":
        return show_form(request, page, _begun(request, wanted), uuid4())
    return take(request, page)


def _begun(request: HttpRequest, kind: Kind) -> Filled:
    """An empty form, but for what the address says: a case that ended names the part."""
    filled = blank()
    for key, text in request.GET.items():
        if (field := kind.field_of(key)) is not None:
            filled.texts[key] = in_box(text[:LONGEST_TEXT], field)
    return filled


def show_form(
    request: HttpRequest, page: Page, filled: Filled, uid: UUID, *, status: int = 200,
    see: Any = None, fresh: bool = True,
) -> HttpResponse:  # fmt: skip
    """The form, with what stands in it; 422 where something in it cannot be taken."""
    us = us_units(request)
    pawls, steps = names_of(page.machine)
    lamps = None
    if any(one.names == "steps" for one in page.kind.fields):
        lamps = lamps_of(newest_version(page.machine))
        steps = _steps_shown(lamps, steps, filled)
    groups = groups_of(page.kind, filled, {"pawls": pawls, "steps": steps}, us=us, lamps=lamps)
    shown = {box.name.partition(".")[2] for group in groups for box in group.boxes}
    loose = [
        text for key, texts in filled.troubles.items() for text in texts
        if key not in shown and key not in ("at", "note", "photos")
    ]  # fmt: skip
    well = WELL.get(page.kind.name) if page.corrects is None else None
    context = {
        "page": page,
        "machine": page.machine,
        "way": "log",
        "groups": groups,
        "filled": filled,
        "loose": loose,
        "uid": uid,
        "well": well,
        "well_keys": " ".join(f"v.{key}={value}" for key, value in (well or {}).items()),
        "fresh": fresh and status == 200,
        "photos_again": bool(request.FILES),
        "earlier": _earlier_photos(page, filled),
        "see": see,
        "back": back_to(request),
    }
    return render(request, "log/form.html", context, status=status)


def _steps_shown(lamps: Lamps, steps: tuple[str, ...], filled: Filled) -> tuple[str, ...]:
    """The steps of the daily check, and those that something was entered of already."""
    shown = tuple(lamps.steps) or steps
    told = {key.partition("/")[2] for key in {**filled.texts, **filled.troubles} if "/" in key}
    return (*shown, *(name for name in steps if name in told and name not in shown))


def _earlier_photos(page: Page, filled: Filled) -> list[tuple[Any, bool]]:
    """The photos of the entry that is corrected, and whether each goes along."""
    if page.said is None:
        return []
    photos = page.said.photos.only("uid", "entry_id", "width", "height").order_by("id")
    return [(one, filled.kept is None or str(one.uid) in filled.kept) for one in photos]


def take(request: HttpRequest, page: Page) -> HttpResponse:
    """Read what was sent and keep it, or show the form again with what is wrong."""
    take_mends(request)
    if "fill" in request.POST:
        sent = read_sent(request, page.machine, page.kind, us=us_units(request))
        sent.filled.texts.update(WELL.get(page.kind.name, {}))
        sent.filled.troubles.clear()
        return show_form(request, page, sent.filled, sent.uid, fresh=False)
    if (refusal := sent_by_another(request)) is not None:
        return refusal
    sent = read_sent(request, page.machine, page.kind, us=us_units(request), before=page.said)
    return keep(
        request, page.machine, sent,
        lambda: write_entry_with_photos(
            page.machine, sent.entry(page.kind.name, page.corrects), sent.photos, who=request.user
        ),
        lambda see: show_form(request, page, sent.filled, sent.uid, status=422, see=see),
        kind=page.kind,
    )  # fmt: skip


def keep(
    request: HttpRequest, machine: Machine, sent: Sent, write: Callable[[], Any],
    show: Callable[[Any], HttpResponse], *, kind: Kind | None = None,
) -> HttpResponse:  # fmt: skip
    """Write where nothing is wrong; answer a browser with a page, a script with JSON."""
    see = None
    if sent.good:
        try:
            written = write()
        except EntryConflictError as error:
            see, sent.uid = error.entry, uuid4()
            sent.filled.trouble(
                "",
                say(
                    "This form was sent already, with something else in it, and was kept. Correct"
                    " that entry; or send this one again, to keep it as a second entry."
                ),
            )
        except EntryError as error:
            for wrong in error.wrong:
                known = kind.field_of(wrong.field) if kind else None
                key = wrong.field if known or wrong.field in ("at", "note") else ""
                sent.filled.trouble(key, trouble_of(wrong, known, us=us_units(request)))
                if wrong.field == "corrects":
                    see = Entry.objects.filter(uid=wrong.value).first()
        except PhotoError as error:
            sent.filled.trouble("photos", str(error).replace("\n  ", "\n"))
        else:
            return _kept(request, machine, written.entry)
    if by_script(request):
        return JsonResponse(
            {
                "troubles": sent.filled.troubles,
                "uid": str(sent.uid),
                "see": reverse("entry", args=[see.uid]) if see else "",
            },
            status=422,
        )
    return show(see)


def by_script(request: HttpRequest) -> bool:
    """Whether the phone's outbox asks, not a person's browser."""
    return request.headers.get("Accept") == "application/json"


def sent_by_another(request: HttpRequest) -> HttpResponse | None:
    """A refusal where a form was filled in by somebody else than who is signed in now."""
    person = request.POST.get("person", "")
    if not person or person == str(request.user.pk):
        return None
    text = say(
        "Somebody else was signed in on this phone when this was filled in. It is not kept in your"
        " name. Whoever filled it in signs in and sends it."
    )
    if by_script(request):
        return JsonResponse({"another": True, "troubles": {"": [text]}}, status=409)
    page = {"title": say("Filled in by somebody else"), "text": text}
    return render(request, "refusal.html", page, status=409)


def back_to(request: HttpRequest) -> str:
    """Where an entry was begun that leads back there; empty where that is the log."""
    said = request.POST.get("back") or request.GET.get("back") or ""
    return said if said in BACK else ""


def _kept(request: HttpRequest, machine: Machine, entry: Any) -> HttpResponse:
    if (back := back_to(request)) and not (may_say(entry) and after_entry(entry)):
        address = f"{reverse(BACK[back], args=[machine.uid])}#next"
        return JsonResponse({"kept": address}) if by_script(request) else redirect(address)
    address = reverse("machine-log", args=[machine.uid])
    # What has to be seen first stands at the top; else the entry itself is shown.
    place = "content" if may_say(entry) and after_entry(entry) else f"e-{entry.uid}"
    address = f"{address}?{urlencode({'kept': entry.uid})}#{place}"
    return JsonResponse({"kept": address}) if by_script(request) else redirect(address)
