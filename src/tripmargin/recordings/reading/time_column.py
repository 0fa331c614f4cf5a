"""Whether a column of numbers is the time, and in which unit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from statistics import median

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.naming import Named, names_count, names_time, time_unit
from tripmargin.recordings.recording import Guess

_EVENLY = 0.02  # of a step
_ALIKE = 3  # rows from which a column that rises evenly is believed to be the time
# Seconds since 1970 in this century, and the same in finer units: no recording starts there.
_SINCE_1970 = (
    (1e8, 1e10, 1.0, "s"),
    (1e11, 1e13, 1e-3, "ms"),
    (1e14, 1e16, 1e-6, "us"),
    (1e17, 1e19, 1e-9, "ns"),
)
_SHEET_DAYS = (20000.0, 80000.0)  # days since 1900, as spreadsheets count: 1954 to 2119


@dataclass(frozen=True)
class NumericTime:
    """Numbers that are times: seconds are (number - origin) times factor."""

    factor: float = 1.0
    origin: float = 0.0
    since_1970: bool = False


def looks_like_time(column: Named, values: Sequence[float], *, first: bool) -> str:
    """Why a column is taken for the time; empty where it is not.

    Parameters
    ----------
    values
        From the first rows.
    first
        Whether it is the table's first column.
    """
    seen = [value for value in values if isfinite(value)]
    steps = [b - a for a, b in pairwise(seen)]
    falling = sum(step < 0 for step in steps)
    if len(seen) < 0.5 * len(values) or not seen or falling > 0.05 * len(steps):
        return ""
    if names_time(column.name):
        return say("its name says so")
    if time_unit(column.unit) is not None and any(step > 0 for step in steps):
        return say("it rises, in {unit}", unit=column.unit)
    even = len(steps) >= _ALIKE - 1 and max(steps) - min(steps) <= _EVENLY * max(steps)
    counted = names_count(column.name) or (seen[0] in (0, 1) and all(step == 1 for step in steps))
    if first and even and min(steps) > 0 and not counted and not column.unit:
        return say("it is the first column and rises evenly")
    return ""


def counts_rows(column: Named, values: Sequence[float]) -> bool:
    """Whether a column only numbers the rows."""
    steps = [b - a for a, b in pairwise(values)]
    named = names_count(column.name) or not column.name
    return named and len(values) > 1 and values[0] in (0, 1) and all(step == 1 for step in steps)


def numeric_time(
    column: Named, values: Sequence[float], unit: str | None
) -> tuple[NumericTime, Guess | None]:
    """How a column's numbers become seconds, and what of it was guessed.

    Parameters
    ----------
    unit
        As a user says it; it counts before the header's.
    """
    seen = [value for value in values if isfinite(value)]
    origin = seen[0] if seen else 0.0
    for said in (unit, column.unit):
        factor = time_unit(said) if said else None
        if factor is not None:
            return NumericTime(factor, origin, 1e8 < origin * factor < 1e10), None
    override = "units"
    for low, high, factor, name in _SINCE_1970:
        if low <= origin < high:
            why = say(
                "{origin:.10g} is a date of our days in {name} since 1970", origin=origin, name=name
            )
            return NumericTime(factor, origin, True), Guess("unit of time", name, why, override)
    steps = [b - a for a, b in pairwise(seen) if b > a]
    step = median(steps) if steps else 0.0
    if _SHEET_DAYS[0] < origin < _SHEET_DAYS[1] and 0 < step < 1e-2:
        why = say(
            "{origin:.9g} with steps of {step:.2g} is a date as spreadsheets count days",
            origin=origin,
            step=step,
        )
        return NumericTime(86400.0, origin), Guess("unit of time", "d", why, override)
    if step >= 1 and all(value == int(value) for value in seen):
        why = say(
            "whole numbers in steps of {step:g}: a recording of stops is not that slow in s",
            step=step,
        )
        return NumericTime(1e-3, origin), Guess("unit of time", "ms", why, override)
    why = say("the file does not say it, and s is commonest")
    return NumericTime(1.0, origin), Guess("unit of time", "s", why, override)
