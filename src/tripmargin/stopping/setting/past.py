"""What was set before: gaps as found and as left, and what was turned, as plain values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite
from typing import Any

from tripmargin.ground.languages import later, say
from tripmargin.stopping.setting.errors import SettingError

_WIDEST = 0.05  # m
_MOST_TURNS = 100


@dataclass(frozen=True, slots=True)
class Adjustment:
    """One past setting.

    Attributes
    ----------
    before, after : mapping of pawl to gap, m
        As found and as left.
    turns : mapping of pawl to turns
        Of its clevis; above zero they opened the gap. 0: it was not touched.
    placed : mapping of pawl to gap, m
        As it stood before it was tightened: where a clamp was put, or a clevis turned to.
    untouched : tuple of str
        Pawls that nobody moved.
    time : float or None, s
        Since any common moment; it is needed for the drift between two settings.
    """

    before: Mapping[str, float]
    after: Mapping[str, float]
    turns: Mapping[str, float] = field(default_factory=dict)
    placed: Mapping[str, float] = field(default_factory=dict)
    untouched: tuple[str, ...] = ()
    time: float | None = None

    def stayed(self, pawl: str) -> bool:
        """Whether nobody moved it, as far as is known."""
        return pawl in self.untouched or self.turns.get(pawl) == 0

    def own_move_known(self, pawl: str) -> bool:
        """Whether it was moved, and so that something can be learned from it."""
        return bool(self.turns.get(pawl)) or pawl in self.placed


def past_of(history: Iterable[Any], pawls: Sequence[str]) -> tuple[Adjustment, ...]:
    """Past settings from what a caller has, each checked.

    Parameters
    ----------
    history : iterable
        Of `Adjustment`, or of (gaps before, gaps after) with or without a mapping of turns.
    pawls : sequence of str
        The machine's.

    Raises
    ------
    SettingError
        If a pawl is not on the machine, or a gap or a turn cannot be.
    """
    made = []
    for number, one in enumerate(history, start=1):
        if not isinstance(one, Adjustment):
            parts = tuple(one) if isinstance(one, (tuple, list)) else ()
            if len(parts) not in (2, 3) or not all(isinstance(p, Mapping) for p in parts):
                raise SettingError(
                    say("past setting {number}", number=number),
                    repr(one),
                    say("not a past setting"),
                    say("an Adjustment, or (gaps before, gaps after, turns), each by pawl"),
                )
            one = Adjustment(*parts)
        _check(one, number, pawls)
        made.append(one)
    return tuple(made)


def _check(one: Adjustment, number: int, pawls: Sequence[str]) -> None:
    tables: dict[str, Mapping[str, float]] = {
        later("gap before"): one.before,
        later("gap after"): one.after,
        later("gap as placed"): one.placed,
        later("turns"): one.turns,
    }
    for what, values in tables.items():
        for pawl, value in values.items():
            place = say(
                "past setting {number}, {what}, {pawl}", number=number, what=say(what), pawl=pawl
            )
            if pawl not in pawls:
                raise SettingError(
                    place, str(value), say("no such pawl on this machine"), ", ".join(pawls)
                )
            is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
            low, high = (-_MOST_TURNS, _MOST_TURNS) if what == "turns" else (0.0, _WIDEST)
            if not is_number or not isfinite(value) or not low <= value <= high:
                allowed = (
                    say("turns, above zero where they open the gap")
                    if what == "turns"
                    else say("a gap in metres from 0 to 0.05: 6.2 mm is 0.0062")
                )
                raise SettingError(place, f"{value!r}", say("it cannot be"), allowed)
