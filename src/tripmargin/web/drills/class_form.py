"""The form that opens a class: a name, and up to six drills."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.http import QueryDict

from tripmargin.ground.languages import say
from tripmargin.machine import demo_machines
from tripmargin.records.keeping.classes import NAMES, SHOWS, ClassError, NewDrill
from tripmargin.records.keeping.practices import MOST_SEED, On
from tripmargin.records.store.models import Machine
from tripmargin.web.drills.kinds import FAULT, KINDS, why_not
from tripmargin.web.machines.finding import version_at

ROWS = 6
ANY_SEED = 10_000
MOST_LISTED = 500


@dataclass(frozen=True, slots=True)
class DrillRow:
    """One row of the form, as typed."""

    number: int
    machine: str
    kind: str


def rows_of(said: QueryDict | None) -> list[DrillRow]:
    """The rows of the form; of an empty one the first is filled in."""
    if said is None:
        first = f"demo:{demo_machines()[0]}"
        return [DrillRow(k, first if k == 1 else "", FAULT) for k in range(1, ROWS + 1)]
    return [
        DrillRow(k, said.get(f"machine.{k}", ""), said.get(f"kind.{k}", FAULT))
        for k in range(1, ROWS + 1)
    ]


def form_words(said: QueryDict | None) -> dict[str, Any]:
    """What the form shows."""
    machines = Machine.objects.filter(put_away_at=None).order_by("name")[:MOST_LISTED]
    return {
        "name": "" if said is None else said.get("name", ""),
        "rows": rows_of(said),
        "own": [(f"own:{each.uid}", each.name) for each in machines],
        "demos": [(f"demo:{name}", name.capitalize()) for name in demo_machines()],
        "kinds": [(kind, say(name)) for kind, name in KINDS.items()],
        "shows": [(key, say(words)) for key, words in SHOWS.items()],
        "chosen": NAMES if said is None else said.get("shows", NAMES),
        "seed": "" if said is None else said.get("seed", ""),
    }


def drills_of(said: QueryDict) -> list[NewDrill]:
    """The drills that the form asks for: seeds follow each other from the one that was typed.

    Raises
    ------
    ClassError
        If a machine is not there or not fit for its drill, or the seed is none.
    """
    seed = _seed(said.get("seed", "").strip())
    found: list[NewDrill] = []
    for row in rows_of(said):
        if row.machine:
            on = _on(row)
            lacks = why_not(row.kind, on.loaded())
            if lacks:
                raise ClassError(say("Drill {number}: {why}", number=row.number, why=lacks))
            found.append(NewDrill(row.kind, on, seed + len(found)))
    return found


def _seed(said: str) -> int:
    if not said:
        return secrets.randbelow(ANY_SEED)
    most = MOST_SEED - ROWS
    if not (said.isascii() and said.isdecimal() and len(said) < 11 and int(said) <= most):
        raise ClassError(
            say(
                "Seed “{seed}”: not a whole number from 0 to {most}. Leave it empty for any.",
                seed=said[:20], most=most,
            )
        )  # fmt: skip
    return int(said)


def _on(row: DrillRow) -> On:
    where, _, name = row.machine.partition(":")
    if where == "demo" and name in demo_machines():
        return On(demo=name)
    try:
        uid = UUID(name) if where == "own" else None
    except ValueError:
        uid = None
    machine = Machine.objects.filter(uid=uid, put_away_at=None).first() if uid else None
    if machine is None:
        raise ClassError(say("Drill {number}: there is no such machine.", number=row.number))
    return On(version=version_at(machine))
