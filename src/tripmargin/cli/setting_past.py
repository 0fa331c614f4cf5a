"""Past settings as a person writes them, and as the log has them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.log_opening import with_records
from tripmargin.cli.output import length_of

if TYPE_CHECKING:
    from tripmargin.stopping import Adjustment

_ALLOWED = 'such as --past "lower 6.2 mm to 3.7 mm, 1.5 turns; upper 4.1 mm to 3.9 mm, untouched"'
_PAWL = re.compile(
    r"\s*(?P<name>\S.*?)\s+(?P<before>[\d.].*?)\s+to\s+(?P<after>[\d.][^,]*?)\s*"
    r"(?:,\s*(?P<turns>\d+(?:\.\d+)?)\s*turns?|,\s*(?P<stayed>untouched))?\s*"
)


def past_setting(text: str) -> Adjustment:
    """A past setting as `--past` has it; which way the clevis went is told by the gaps.

    >>> one = past_setting("lower 6.2 mm to 3.7 mm, 1.5 turns; upper 4.1 mm to 3.9 mm, untouched")
    >>> one.turns, one.untouched
    ({'lower': -1.5}, ('upper',))
    """
    from tripmargin.stopping import Adjustment

    before, after, turns, stayed = {}, {}, {}, []
    for part in text.split(";"):
        match = _PAWL.fullmatch(part)
        if match is None:
            raise click.UsageError(f'--past: "{part.strip()}" is not a past setting; {_ALLOWED}.')
        name = match["name"]
        if name in before:
            raise click.UsageError(f"--past: the {name} pawl stands twice in one setting.")
        before[name] = length_of(match["before"], "--past")
        after[name] = length_of(match["after"], "--past")
        if match["turns"] is not None:
            turns[name] = _signed(float(match["turns"]), before[name], after[name])
        if match["stayed"]:
            stayed.append(name)
    return Adjustment(before, after, turns=turns, untouched=tuple(stayed))


def _signed(turns: float, before: float, after: float) -> float:
    """Turns above zero where they opened the gap."""
    return turns if after >= before else -turns


@with_records
def past_from_log(name: str, pawls: Sequence[str]) -> list[Adjustment]:
    """The adjustments of a machine's log that are in force, oldest first.

    Gaps as found and as left are fields of the entry. What was turned is read from its note, where
    it says so: "lower 1.5 turns, upper untouched".
    """
    from tripmargin.records.exchange.naming import machine_named
    from tripmargin.records.standing.in_force import entries_in_force

    entries = entries_in_force(machine_named(name), "adjustment").order_by("at", "pk")
    return [
        adjustment_of(one.values, one.note, one.at.timestamp(), pawls)
        for one in entries.only("values", "note", "at")
    ]


def adjustment_of(
    values: dict[str, Any], note: str, time: float, pawls: Sequence[str]
) -> Adjustment:
    """An entry of the log as a past setting; pawls that the machine has no longer are left out.

    >>> entry = {"gap_before_m/lower": 0.0062, "gap_after_m/lower": 0.0037}
    >>> adjustment_of(entry, "Lower 1.5 turns, upper untouched.", 0.0, ["lower", "upper"]).turns
    {'lower': -1.5}
    """
    from tripmargin.stopping import Adjustment

    before, after = (
        {p: float(values[f"{key}/{p}"]) for p in pawls if f"{key}/{p}" in values}
        for key in ("gap_before_m", "gap_after_m")
    )
    turns, stayed = {}, []
    for pawl in pawls:
        said = rf"(?<!\w){re.escape(pawl)}\s+"
        found = re.search(said + r"(\d+(?:\.\d+)?)\s+turns?(?!\w)", note, re.IGNORECASE)
        if found is not None and pawl in before and pawl in after:
            turns[pawl] = _signed(float(found[1]), before[pawl], after[pawl])
        if re.search(said + r"untouched(?!\w)", note, re.IGNORECASE):
            stayed.append(pawl)
    return Adjustment(before, after, turns=turns, untouched=tuple(stayed), time=time)
