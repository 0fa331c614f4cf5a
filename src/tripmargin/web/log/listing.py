"""The log of one machine, newest first, and one entry by itself."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from tripmargin.records.kinds import KINDS
from tripmargin.records.standing.after_entry import after_entry
from tripmargin.records.store.models import Entry, Machine
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import us_units
from tripmargin.web.log.telling import address_of, for_telling, kind_at, tell, title_of

PAGE = 30  # entries
_ORDER = (
    "daily check", "trip", "false trip", "missed metal", "adjustment", "stop time",
    "part replaced", "hours", "note", "test pass",
)  # fmt: skip


@needs(LOOK)
@require_safe
def log(request: HttpRequest, uid: UUID) -> HttpResponse:
    """A machine's log, a page of it."""
    machine = get_object_or_404(Machine, uid=uid)
    kind = _wanted_kind(request)
    entries = machine.entries.all() if kind is None else machine.entries.filter(kind=kind)
    page, older = _page(for_telling(entries), request.GET.get("before", ""))
    us, kept = us_units(request), request.GET.get("kept", "")
    told = [tell(one, request.user, us=us, fresh=str(one.uid) == kept) for one in page]
    return render(
        request,
        "log/list.html",
        {
            "machine": machine,
            "way": "log",
            "told": told,
            "older": older,
            "first_page": "before" not in request.GET,
            "kind": kind,
            "kind_address": address_of(kind or ""),
            "kind_title": title_of(kind) if kind else "",
            "plates": _plates(),
            "kept": kept,
            "after": after_entry(new, us=us) if (new := _entry_kept(machine, kept)) else (),
            "kept_elsewhere": _elsewhere(machine, kept, told),
        },
    )


@needs(LOOK)
@require_safe
def entry(request: HttpRequest, uid: UUID) -> HttpResponse:
    """One entry, with what it corrects and what corrected it."""
    found = get_object_or_404(for_telling(Entry.objects.select_related("machine")), uid=uid)
    told = tell(found, request.user, us=us_units(request))
    return render(
        request,
        "log/one.html",
        {"machine": found.machine, "way": "log", "one": told, "alone": True},
    )


def _wanted_kind(request: HttpRequest) -> str | None:
    address = request.GET.get("kind", "")
    if not address:
        return None
    kind = kind_at(address)
    if kind is None:
        raise Http404("no such kind of entry")
    return kind.name


def _page(entries: QuerySet, before: str) -> tuple[list[Any], str]:
    """A page of the entries before a key, and the key of the next page; "" where there is none.

    By key and not by number, so that the millionth entry costs what the first does, and an entry
    that comes in meanwhile moves nothing.
    """
    if before:
        at, pk = _key(before)
        # `at` bounded by itself, so that the index is entered where the page begins.
        entries = entries.filter(at__lte=at).filter(Q(at__lt=at) | Q(pk__lt=pk))
    found = list(entries.order_by("-at", "-id")[: PAGE + 1])
    page = found[:PAGE]
    return page, f"{page[-1].at.isoformat()}~{page[-1].pk}" if len(found) > PAGE else ""


def _key(text: str) -> tuple[datetime, int]:
    at, _, pk = text.partition("~")
    try:
        moment, number = datetime.fromisoformat(at), int(pk)
        if moment.tzinfo is None or not 0 <= number < 2**63:
            raise ValueError("no zone, or no key of a row")
        return moment.astimezone(UTC), number
    except (ValueError, OverflowError) as error:
        raise Http404("no such page") from error


def _plates() -> list[dict[str, str]]:
    """The kinds of entries, always in the same place: a hand in a glove goes by that."""
    order = [*_ORDER, *(name for name in KINDS if name not in _ORDER)]
    return [{"title": title_of(name), "address": address_of(name)} for name in order]


def _elsewhere(machine: Machine, kept: str, told: list[Any]) -> Any:
    """The entry that was kept just now, where it lies on another page of the log."""
    return None if any(one.fresh for one in told) else _entry_kept(machine, kept)


def _entry_kept(machine: Machine, kept: str) -> Any:
    try:
        return machine.entries.filter(uid=UUID(kept)).first() if kept else None
    except ValueError:
        return None
