"""The part of a machine's log that says how it drifts."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import connection

from tripmargin.ground.languages import say, say_many
from tripmargin.records.standing.in_force import entries_in_force
from tripmargin.records.standing.newest import time_of
from tripmargin.records.standing.stamps import CLOCKS_DIFFER
from tripmargin.records.store.models import Machine

KINDS = (
    "daily check",
    "trip",
    "false trip",
    "missed metal",
    "adjustment",
    "stop time",
    "part replaced",
    "hours",
)
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
    """The entries of a machine that say how it drifts: one query."""
    found = entries_in_force(machine, *KINDS).order_by("-at", "-pk")[: MOST + 1]
    rows = [Row(kind, time_of(at).timestamp(), values) for kind, at, values in _told(found)]
    return as_log(rows, now)


def _told(found: Any) -> Iterable[tuple[str, Any, Mapping[str, Any]]]:
    """Kind, time and values of entries: past the models, and all values read by one call.

    They may be ten thousand, and are most of what the page of drift costs.
    """
    sql, given = found.values_list("kind", "at", "values").query.sql_with_params()
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            # Python's sqlite3 lets other threads go first after each row. As one value, all rows
            # come at once.
            cursor.execute(_AS_ONE.format(sql), given)
            told: list[Any] = json.loads(cursor.fetchone()[0])
            return told
        cursor.execute(sql, given)
        told = cursor.fetchall()
    texts = json.loads(f"[{','.join(values for _, _, values in told)}]")
    return [(kind, at, values) for (kind, at, _), values in zip(told, texts, strict=True)]


_AS_ONE = 'SELECT json_group_array(json_array("kind", "at", json("values"))) FROM ({})'


def as_log(rows: Sequence[Row], now: datetime) -> Log:
    """Rows, newest first, as a log: entries of a time to come are left out, and so are too many."""
    notes = []
    if len(rows) > MOST:
        rows = rows[:MOST]
        notes.append(say("Only the newest {most} entries are looked at.", most=MOST))
    latest = (now + CLOCKS_DIFFER).timestamp()
    kept = tuple(row for row in reversed(rows) if row.time <= latest)
    if len(kept) < len(rows):
        left = len(rows) - len(kept)
        notes.append(
            say_many(
                "1 entry lies in the future and is left out: a clock was set wrong.",
                "{count} entries lie in the future and are left out: a clock was set wrong.",
                left,
            )
        )
    return Log(kept, tuple(notes))
