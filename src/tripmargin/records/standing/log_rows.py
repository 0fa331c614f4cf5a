"""The part of a machine's log that says how it drifts."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import connection

from tripmargin.records.standing.in_force import entries_in_force
from tripmargin.records.standing.newest import time_of
from tripmargin.records.standing.stamps import CLOCKS_DIFFER
from tripmargin.records.store.models import Machine

KINDS = (
    "daily check", "trip", "false trip", "missed metal", "adjustment", "stop time",
    "part replaced", "hours",
)  # fmt: skip
MOST = 20_000
"""Entries; the newest. Daily entries of ten years are 4000."""


@dataclass(frozen=True, slots=True)
class Row:
    """An entry: its kind, its time in s since 1970, its values in SI."""

    kind: str
    time: float
    values: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Log:
    """Entries in force, oldest first.

    Attributes
    ----------
    rows : tuple of Row
    notes : tuple of str
        What was left out, in sentences.
    """

    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()

    def of(self, *kinds: str) -> list[Row]:
        """The rows of some kinds."""
        return [row for row in self.rows if row.kind in kinds]


def log_of(machine: Machine, now: datetime) -> Log:
    """The entries of a machine that say how it drifts: one query.

    Read past the models, and all values by one call: they may be ten thousand, and are most of what
    the page of drift costs.
    """
    found = entries_in_force(machine, *KINDS).order_by("-at", "-pk")[: MOST + 1]
    with connection.cursor() as cursor:
        cursor.execute(*found.values_list("kind", "at", "values").query.sql_with_params())
        told = cursor.fetchall()
    texts = ",".join(values for _, _, values in told if isinstance(values, str))
    read = iter(json.loads(f"[{texts}]"))
    rows = [
        Row(kind, time_of(at).timestamp(), next(read) if isinstance(values, str) else values)
        for kind, at, values in told
    ]
    return as_log(rows, now)


def as_log(rows: Sequence[Row], now: datetime) -> Log:
    """Rows, newest first, as a log: entries of a time to come are left out, and so are too many."""
    notes = []
    if len(rows) > MOST:
        rows = rows[:MOST]
        notes.append(f"Only the newest {MOST} entries are looked at.")
    latest = (now + CLOCKS_DIFFER).timestamp()
    kept = tuple(row for row in reversed(rows) if row.time <= latest)
    if len(kept) < len(rows):
        left = len(rows) - len(kept)
        notes.append(
            f"{left} {'entry lies' if left == 1 else 'entries lie'} in the future and"
            f" {'is' if left == 1 else 'are'} left out: a clock was set wrong."
        )
    return Log(kept, tuple(notes))
