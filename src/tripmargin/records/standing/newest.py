"""The newest entries in force of each kind, and counts of a season, each by one query.

Every entry waits for these, so they are put together once for a database and not at each call:
Django takes longer to write such a query than a database to answer it. Both databases are spoken
to in one wording, but for how they look into JSON.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db import connection

from tripmargin.records.kinds import WITHDRAWN
from tripmargin.records.standing.meanings import AFTER, ALIKE, BEFORE
from tripmargin.records.store.models import Entry

_IN_FORCE = "NOT EXISTS (SELECT 1 FROM records_entry c WHERE c.corrects_id = e.id)"
_SLOT = """SELECT * FROM (SELECT '{name}' AS slot, e.id, e.uid, e.kind, e.at, e.clock_ahead_s,
 e."values" FROM records_entry e WHERE e.machine_id = %(machine)s AND {condition}
 AND {in_force} ORDER BY e.at DESC, e.id DESC LIMIT 1) AS {alias}"""

# In a daily check the answers are the only values that can be false, so one false one means that it
# failed (see meanings.outcome). Most have none: their text says so before anything is looked into.
_FALSE = """CAST(e."values" AS text) LIKE '%%false%%'
 AND EXISTS (SELECT 1 FROM {each} AS a WHERE {is_false})"""
_PASSED = f"{{tripped}} AND {{reset}} AND NOT ({_FALSE})"
_CHANGED = f"""EXISTS (SELECT 1 FROM {{each}} AS a WHERE a.key LIKE '{AFTER}%%'
 AND NOT EXISTS (SELECT 1 FROM {{each}} AS b
  WHERE b.key = '{BEFORE}' || substr(a.key, {len(AFTER) + 1})
  AND CASE WHEN b.key LIKE '{BEFORE}%%' THEN
   abs(CAST(a.{{number}} AS double precision) - CAST(b.{{number}} AS double precision))
  END <= {ALIKE}))"""
_HOURS = """CAST(e."values" AS text) LIKE '%%hours_s%%'
 AND EXISTS (SELECT 1 FROM {each} AS a WHERE a.key = 'hours_s')"""
_GAP = "e.kind = 'adjustment' AND EXISTS (SELECT 1 FROM {each} AS a WHERE a.key IN ({keys}))"

_SLOTS = {
    "last": f"e.kind <> '{WITHDRAWN}'",
    "check": "e.kind = 'daily check'",
    "passed": f"e.kind = 'daily check' AND {_PASSED}",
    "failed": f"e.kind = 'daily check' AND {_FALSE}",
    "adjustment": "e.kind = 'adjustment'",
    "changed": f"e.kind = 'adjustment' AND {_CHANGED}",
    "part": "e.kind = 'part replaced'",
    "stop_time": "e.kind = 'stop time'",
    "trip": "e.kind = 'trip'",
    "false_trip": "e.kind = 'false trip'",
    "missed": "e.kind = 'missed metal'",
    "plan": "e.kind = 'plan'",
    "hours": _HOURS,
}
_WORDS = {
    "sqlite": {
        "each": 'json_each(e."values")',
        "is_false": "a.type = 'false'",
        "number": "value",
        "tripped": """json_extract(e."values", '$.tripped') = 1""",
        "reset": """json_extract(e."values", '$.reset') = 1""",
    },
    "postgresql": {
        "each": 'jsonb_each(e."values")',
        "is_false": "a.value = 'false'::jsonb",
        "number": "value::text",
        "tripped": """e."values" -> 'tripped' = 'true'::jsonb""",
        "reset": """e."values" -> 'reset' = 'true'::jsonb""",
    },
}
_SEASON = """SELECT e.kind, min(e.at), count(*),
 sum(CASE WHEN e.at > %(lately)s THEN 1 ELSE 0 END), {counts}
 FROM records_entry e WHERE e.machine_id = %(machine)s AND e.kind <> %(withdrawn)s
 AND e.at > %(since)s AND e.at <= %(to)s AND {in_force} GROUP BY e.kind"""


@dataclass(frozen=True, slots=True)
class Found:
    """An entry as the query brings it."""

    number: int
    uid: UUID
    kind: str
    at: datetime
    ahead_s: float
    values: Mapping[str, Any]


def newest(machine_id: int, pawls: tuple[str, ...]) -> dict[str, Found]:
    """The newest entries of a machine, by slot; the slots of `_SLOTS`, and one "gap N" a pawl.

    Parameters
    ----------
    machine_id : int
    pawls : tuple of str
        "gap 0" is the newest adjustment that tells of the first, and so on.
    """
    given: dict[str, Any] = {"machine": machine_id}
    for place, pawl in enumerate(pawls):
        given |= {f"before{place}": BEFORE + pawl, f"after{place}": AFTER + pawl}
    with connection.cursor() as cursor:
        cursor.execute(_newest_sql(connection.vendor, len(pawls)), given)
        return {row[0]: _found(row[1:]) for row in cursor.fetchall()}


def counts(
    machine_id: int, since: datetime, lately: datetime, to: datetime
) -> list[tuple[str, datetime, int, int, tuple[int, ...]]]:
    """What a machine's log holds between two times, by kind.

    Returns
    -------
    list of (kind, first time, entries, entries lately, checks)
        checks: how many tripped, tripped lately, passed, passed lately; 0 for other kinds.
    """
    adapt = connection.ops.adapt_datetimefield_value
    given = {
        "machine": machine_id, "withdrawn": WITHDRAWN,
        "since": adapt(since), "lately": adapt(lately), "to": adapt(to),
    }  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute(_season_sql(connection.vendor), given)
        return [
            (kind, time_of(first), many, recent, tuple(checks))
            for kind, first, many, recent, *checks in cursor.fetchall()
        ]


@lru_cache
def _newest_sql(vendor: str, pawls: int) -> str:
    words = _WORDS[vendor]
    slots = dict(_SLOTS)
    for place in range(pawls):
        keys = f"%(before{place})s, %(after{place})s"
        slots[f"gap {place}"] = _GAP.replace("{keys}", keys)
    return " UNION ALL ".join(
        _SLOT.format(
            name=name, alias=f"s{place}", in_force=_IN_FORCE, condition=condition.format(**words)
        )
        for place, (name, condition) in enumerate(slots.items())
    )


@lru_cache
def _season_sql(vendor: str) -> str:
    words = _WORDS[vendor]
    sums = [
        f"sum(CASE WHEN e.kind = 'daily check' AND {condition.format(**words)} THEN 1 ELSE 0 END)"
        for so_far in ("{tripped}", _PASSED)
        for condition in (so_far, f"e.at > %(lately)s AND {so_far}")
    ]
    return _SEASON.format(counts=", ".join(sums), in_force=_IN_FORCE)


def _found(row: tuple[Any, ...]) -> Found:
    number, uid, kind, at, ahead, values = row
    return Found(
        number=number,
        uid=uid if isinstance(uid, UUID) else UUID(uid),
        kind=kind,
        at=time_of(at),
        ahead_s=ahead or 0.0,
        values=json.loads(values) if isinstance(values, str) else values,
    )


def time_of(value: datetime | str) -> datetime:
    """A time as a database gives it, UTC: SQLite has texts without a zone."""
    if isinstance(value, str):
        return datetime.fromisoformat(value).replace(tzinfo=UTC)
    return value.astimezone(UTC)


assert Entry._meta.db_table == "records_entry"
