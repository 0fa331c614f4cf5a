"""Counts over the season: the year up to the newest entry, and lately, its last 30 days."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

from tripmargin.records.standing.newest import counts

SEASON, LATELY = timedelta(days=365), timedelta(days=30)
COUNTED = {
    "daily check": "checks",
    "trip": "trips",
    "false trip": "false_trips",
    "missed metal": "missed",
}
_OF_CHECKS = ("tripped", "tripped_lately", "passed", "passed_lately")


def season_of(machine_id: int, to: datetime) -> dict[str, Any]:
    """Counts of the 365 days up to the newest entry.

    Returns
    -------
    dict
        "from" (the first entry, if it is later than the season's beginning), "lately_from", "to";
        "checks", "tripped", "passed", "trips", "false_trips", "missed", each also with "_lately".
    """
    lately, first = to - LATELY, to
    made: dict[str, Any] = dict.fromkeys(_OF_CHECKS, 0)
    for name in COUNTED.values():
        made |= {name: 0, f"{name}_lately": 0}
    for kind, at, many, recent, of_checks in counts(machine_id, to - SEASON, lately, to):
        first = min(first, at)
        if kind in COUNTED:
            made |= {COUNTED[kind]: many, f"{COUNTED[kind]}_lately": recent}
        if kind == "daily check":
            made |= dict(zip(_OF_CHECKS, of_checks, strict=True))
    times = {"from": first, "lately_from": lately, "to": to}
    return made | {name: at.astimezone(UTC).isoformat() for name, at in times.items()}
