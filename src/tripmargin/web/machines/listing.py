"""The list of machines: which are protected, which are due."""

from __future__ import annotations

from collections import Counter
from datetime import datetime
from threading import Lock
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.utils import timezone
from django.views.decorators.http import require_GET

from tripmargin.ground.languages import language, say
from tripmargin.records.standing.at_a_glance import machines_at_a_glance, stamps_of_machines
from tripmargin.records.store.models import Machine
from tripmargin.web.doors.roles import LOOK, needs
from tripmargin.web.frame import us_units
from tripmargin.web.machines.shown import Shown

_ROWS = Shown(20_000)  # some 1 kB each
_DRAWING = Lock()


@needs(LOOK)
@require_GET
def machines(request: HttpRequest) -> HttpResponse:
    """Every machine, with its state at a glance."""
    rows = rows_of(us=us_units(request))
    page = {"rows": rows, "counts": _counts(rows), "here": "machines"}
    return render(request, "machines/list.html", page)


def _counts(rows: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """How many machines stand how, in words, and the look of each."""
    found = Counter(row["state"] for row in rows)
    words = {
        "not": say("{count} not protected", count=found["not"]),
        "doubtful": say("{count} doubtful", count=found["doubtful"]),
        "not known": say("{count} not known", count=found["not known"]),
        "protected": say("{count} protected", count=found["protected"]),
    }
    looks = {"not known": "unknown"}
    return [(said, looks.get(state, state)) for state, said in words.items() if found[state]]


def rows_of(*, us: bool) -> list[dict[str, Any]]:
    """The rows of the list, by name: "state" and "html".

    A row is drawn again when something was entered about its machine, and each minute, for what is
    due hangs on the time: a hundred rows cost more than all else on the page.
    """
    now = timezone.now()
    keys: dict[int, tuple[object, ...]] = {
        pk: (pk, *changed, us, language(), _minute_of(pk, now))
        for pk, *changed in stamps_of_machines()
    }
    rows = {pk: _ROWS.get(key) for pk, key in keys.items()}
    if None in rows.values():
        with _DRAWING:  # who comes meanwhile waits for what is being drawn, and finds it
            _draw(rows, keys, now, us)
    return [row for row in rows.values() if row is not None]


def _draw(
    rows: dict[int, dict[str, Any] | None], keys: dict[int, tuple[object, ...]], now: datetime,
    us: bool,
) -> None:  # fmt: skip
    """Put in the rows that are missing."""
    rows |= {pk: _ROWS.get(keys[pk]) for pk, row in rows.items() if row is None}
    new = [pk for pk, row in rows.items() if row is None]
    for glance in machines_at_a_glance(now, us=us, only=new) if new else ():
        html = render_to_string("machines/row.html", {"one": glance, "now": now})
        rows[glance.machine.pk] = _ROWS.keep(
            keys[glance.machine.pk], {"state": glance.state, "html": html}
        )


def _minute_of(pk: int, now: datetime) -> int:
    """The minute that a row is drawn for; each begins at a second of its own.

    Else all rows fall due at once, and everybody who asks in that second waits for a hundred.
    """
    return int(now.timestamp() + 37 * pk) // 60


@needs(LOOK)
@require_GET
def away(request: HttpRequest) -> HttpResponse:
    """The machines that were put away."""
    found = Machine.objects.exclude(put_away_at=None).order_by("name")
    return render(request, "machines/away.html", {"machines": found, "here": "machines"})
