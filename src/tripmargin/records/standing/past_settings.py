"""The adjustments of a log as past settings, for the next setting to learn from."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from tripmargin.records.standing.meanings import AFTER, BEFORE

if TYPE_CHECKING:
    from tripmargin.records.store.models import Machine
    from tripmargin.stopping import Adjustment

TURNS = "turns/"


def past_settings(machine: Machine, pawls: Sequence[str]) -> list[Adjustment]:
    """The adjustments of a machine's log that are in force, oldest first.

    Parameters
    ----------
    machine : Machine
    pawls : sequence of str
        Those that it has now; others are left out.
    """
    from tripmargin.records.standing.in_force import entries_in_force

    entries = entries_in_force(machine, "adjustment").order_by("at", "pk")
    return [
        adjustment_of(one.values, one.note, one.at.timestamp(), pawls)
        for one in entries.only("values", "note", "at")
    ]


def adjustment_of(
    values: Mapping[str, Any], note: str, time: float, pawls: Sequence[str]
) -> Adjustment:
    """An entry of the log as a past setting; pawls that the machine has no longer are left out.

    What was turned is a field of the entry. Where that was left empty it is read from the note, if
    that says so: "lower 1.5 turns, upper untouched".

    >>> gaps = {"gap_before_m/lower": 0.0062, "gap_after_m/lower": 0.0037}
    >>> adjustment_of(gaps | {"turns/lower": 2.0}, "", 0.0, ["lower", "upper"]).turns
    {'lower': -2.0}
    >>> adjustment_of(gaps, "Lower 1.5 turns, upper untouched.", 0.0, ["lower", "upper"]).turns
    {'lower': -1.5}
    """
    from tripmargin.stopping import Adjustment

    before, after = (
        {p: float(values[f"{key}{p}"]) for p in pawls if f"{key}{p}" in values}
        for key in (BEFORE, AFTER)
    )
    turns, stayed = {}, []
    for pawl in pawls:
        count, untouched = _turned(values, note, pawl)
        if count == 0 or (count is not None and pawl in before and pawl in after):
            turns[pawl] = signed_turns(count, before.get(pawl, 0.0), after.get(pawl, 0.0))
        if untouched:
            stayed.append(pawl)
    return Adjustment(before, after, turns=turns, untouched=tuple(stayed), time=time)


def signed_turns(turns: float, before: float, after: float) -> float:
    """Turns above zero where they opened the gap."""
    return turns if after >= before else -turns


def _turned(values: Mapping[str, Any], note: str, pawl: str) -> tuple[float | None, bool]:
    """How often a pawl's clevis was turned, and whether it is said that nobody touched it."""
    given = values.get(f"{TURNS}{pawl}")
    if given is not None:
        return abs(float(given)), float(given) == 0
    said = rf"(?<!\w){re.escape(pawl)}\s+"
    found = re.search(said + r"(\d+(?:\.\d+)?)\s+turns?(?!\w)", note, re.IGNORECASE)
    untouched = re.search(said + r"untouched(?!\w)", note, re.IGNORECASE)
    return None if found is None else float(found[1]), untouched is not None
