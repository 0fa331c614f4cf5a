"""What a machine's log says, in one small dictionary that is kept beside the machine."""

from __future__ import annotations

from typing import Any

from tripmargin.records.standing.asked import Asked, asked_of
from tripmargin.records.standing.meanings import gap_left, outcome, pawls_in, what_failed
from tripmargin.records.standing.newest import Found, newest
from tripmargin.records.standing.plan import plan_of
from tripmargin.records.standing.season import season_of
from tripmargin.records.standing.stamps import is_later, stamp
from tripmargin.records.store.models import FaultCase, Machine, MachineVersion

FORMAT = 3
Facts = dict[str, Any]


def facts_of(machine: Machine, version: MachineVersion | None) -> Facts:
    """The facts of a machine, JSON-ready, SI, times in ISO 8601, UTC.

    Parameters
    ----------
    machine : Machine
    version : MachineVersion or None
        The one in force.

    Returns
    -------
    dict
        "last": the newest entry; "check", "passed", "failed": daily checks; "gaps": by pawl, as
        left; "stop_time", "part", "work" (a part or a gap changed), "trip", "false_trip", "missed",
        "hours": the newest of each; "case": a fault-finding case that did not end in a repair;
        "plan"; "season": counts; "asked", "version": of the machine's file. A thing that is not
        there is null.

    Notes
    -----
    Newest is by the time entered, not by when it came in: a late entry changes only what it is the
    newest of. Nothing here hangs on the present time.
    """
    asked = asked_of(version)
    found = newest(machine.pk, asked.pawls if asked else ())
    told = {slot: stamp(entry) for slot, entry in found.items()}
    part, work = told.get("part"), told.get("changed")
    return {
        "format": FORMAT,
        "last": _with(found, "last", "kind"),
        "check": _with(found, "check", "outcome"),
        "passed": told.get("passed"),
        "failed": _with(found, "failed", "what"),
        "gaps": _gaps(found, asked),
        "stop_time": _with(found, "stop_time", stop_time_s="s", sd_s="sd_s"),
        "part": _with(found, "part", part="part"),
        "work": part if is_later(part, work) else work,
        "trip": told.get("trip"),
        "false_trip": told.get("false_trip"),
        "missed": _with(found, "missed", found="found", why="why"),
        "hours": _with(found, "hours", hours_s="s"),
        "plan": plan_of(found["plan"].values if "plan" in found else None),
        "case": _open_case(machine),
        "season": season_of(machine.pk, found["last"].at) if found else None,
        "asked": asked and asked.to_dict(),
        "version": version and {"number": version.number, "added_at": version.added_at.isoformat()},
    }


def _open_case(machine: Machine) -> Any:
    """The oldest case that is being worked on; else the newest that was handed over."""
    left = list(FaultCase.objects.filter(machine=machine).exclude(status="closed"))
    going = [case for case in left if case.status != "handed over"]
    case = min(going or left, key=lambda one: one.begun_at, default=None)
    if not going and left:
        case = max(left, key=lambda one: one.begun_at)
    if case is None:
        return None
    return {
        "begun_at": case.begun_at.isoformat(),
        "complaint": case.complaint,
        "handed_over": not going,
    }


def _with(found: dict[str, Found], slot: str, /, *read: str, **kept: str) -> Any:
    """A slot's stamp, with what is read from the entry, and values kept under other names."""
    entry = found.get(slot)
    if entry is None:
        return None
    reading = {
        "kind": lambda: entry.kind,
        "outcome": lambda: outcome(entry.values),
        "what": lambda: what_failed(entry.values),
    }
    more = {name: reading[name]() for name in read}
    return stamp(entry, **more, **{name: entry.values.get(key) for key, name in kept.items()})


def _gaps(found: dict[str, Found], asked: Asked | None) -> dict[str, Any]:
    """Each pawl's gap as left; where the file names none, those of the newest entry."""
    if asked is not None and asked.pawls:
        entries = {pawl: found.get(f"gap {place}") for place, pawl in enumerate(asked.pawls)}
    else:
        entry = found.get("adjustment")
        entries = dict.fromkeys(pawls_in(entry.values), entry) if entry else {}
    return {
        pawl: stamp(entry, m=gap_left(entry.values, pawl), step_m=entry.values.get("feeler_m"))
        for pawl, entry in entries.items()
        if entry is not None
    }
