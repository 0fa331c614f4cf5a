"""The margin in words: where the metal comes to rest, or that it may never."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite

from tripmargin.pictures.data import SpreadLike
from tripmargin.pictures.words import length, length_unit, plain_number

RUNS_ON = "the feed runs on"
CANNOT_PASS = "it cannot pass"  # how a pass notes a piece thicker than the rolls' opening


def too_large(notes: Sequence[str]) -> bool:
    """Whether a race's notes say that its piece does not fit between the rolls."""
    return any(CANNOT_PASS in note for note in notes)


def rest_words(margin: SpreadLike, us: bool, *, would: bool = False) -> str:
    """Where the metal comes to rest, with its limits; or that the stop may never come about.

    `would` puts it as what would happen.
    """
    if not isfinite(margin.nominal):
        best = ""
        if isfinite(margin.high):
            best = f"; at best {side(margin.high, us)} the shear bar"
        never = "would never come" if would else "never comes"
        return f"{never} to rest: the stop does not come about and {RUNS_ON}{best}"
    verb = "comes to rest" if margin.nominal >= 0 else "goes through, to rest"
    if would:
        verb = "would come to rest" if margin.nominal >= 0 else "would go through, to rest"
    return f"{verb} {side(margin.nominal, us)} the shear bar{_limits(margin, us)}"


def side(margin: float, us: bool) -> str:
    """A margin as a distance before the shear bar or past it."""
    return f"{length(abs(margin), us)} {'before' if margin >= 0 else 'past'}"


def span(margin: SpreadLike, us: bool) -> str:
    """Least and greatest margin in a table's cell, without the unit; `runs on` for no rest."""
    if not isfinite(margin.high):
        return "runs on"
    return f"{cell(margin.low, us)} to {cell(margin.high, us)}"


def cell(margin: float, us: bool) -> str:
    """A margin in a table's cell, without the unit."""
    return plain_number(margin / length_unit(us)[1]) if isfinite(margin) else "runs on"


def _limits(margin: SpreadLike, us: bool) -> str:
    """Least and greatest margin in brackets, each with its side where the sides differ."""
    if not isfinite(margin.low):
        best = f"{side(margin.high, us)} it at best"
        return f" ({best}; at worst the stop may never come about and {RUNS_ON})"
    if (margin.low >= 0) != (margin.high >= 0):
        return f" ({side(margin.low, us)} it to {side(margin.high, us)} it)"
    near, far = sorted((abs(margin.low), abs(margin.high)))
    unit_name, unit = length_unit(us)
    return f" ({plain_number(near / unit)} to {plain_number(far / unit)} {unit_name})"
