"""The moves as steps in the trade's order, each with the gap to expect after it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.results import plain
from tripmargin.stopping.setting.adjusters import Adjusters
from tripmargin.stopping.setting.aiming import Aims
from tripmargin.stopping.setting.planning import Moves, own_variances, taken_along
from tripmargin.stopping.setting.step_words import (
    measure_words,
    place_words,
    prove_words,
    tighten_words,
    turn_words,
    way_of,
)

Array = NDArray[np.float64]
_WIDE = 2.0  # standard deviations either side: nineteen of twenty measures


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """One step of the work.

    Attributes
    ----------
    do : "turn", "place", "tighten", "measure" or "prove"
    pawl : str
        Empty for the proof.
    turns : float or None
        Of a clevis; above zero they open the gap.
    way : "out", "in" or None
        Of a clevis; None where the file does not say what turning it out does.
    gap : float or None, m
        To place a clamp at.
    expect : (least, greatest) or None, m
        What nineteen of twenty measures will show.
    leave : (least, greatest) or None, m
        Readings that need no further move; only where nothing follows.
    """

    do: str
    pawl: str
    said: Callable[[bool], str]
    turns: float | None = None
    way: str | None = None
    gap: float | None = None
    expect: tuple[float, float] | None = None
    leave: tuple[float, float] | None = None

    def words(self, us: bool = False) -> str:
        """The step in words, and what to do if it comes otherwise."""
        return self.said(us)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        made: dict[str, Any] = plain(
            {
                "do": self.do,
                "pawl": self.pawl,
                "words": self.words(),
                "turns": self.turns,
                "way": self.way,
                "gap_m": self.gap,
                "expect_m": self.expect,
                "leave_m": self.leave,
            }
        )
        return made


def sequence(readings: Array, adjusters: Adjusters, aims: Aims, made: Moves) -> tuple[Step, ...]:
    """The steps of one case's moves.

    Parameters
    ----------
    readings : ndarray, (k,), m
    adjusters : Adjusters
    aims : Aims
    made : Moves
        Of one case.
    """
    work = _Work(readings, adjusters, aims, made)
    order = [i for i in range(len(adjusters.pawls)) if made.moved[0, i]]
    for i in order:
        work.move(i, last=i == order[-1])
    work.measure_again(order)
    work.steps.append(Step("prove", "", lambda us: prove_words()))
    return tuple(work.steps)


class _Work:
    """Goes through the moves and keeps what each gap should be, and how far off that may be."""

    def __init__(self, readings: Array, adjusters: Adjusters, aims: Aims, made: Moves) -> None:
        self.adjusters, self.aims, self.made = adjusters, aims, made
        self.gap = readings.copy()
        self.variance = np.full(len(readings), adjusters.reading_sd**2)
        self.along = taken_along(adjusters)
        self.own_variance = own_variances(made.steps, made.moved, adjusters)[0]
        self.steps: list[Step] = []

    def move(self, i: int, *, last: bool) -> None:
        """One pawl: turned or placed, tightened, measured."""
        each, own = self.adjusters.pawls[i], float(self.made.own[0, i])
        before, placed = float(self.gap[i]), float(self.gap[i] + own - each.shift.mean)
        if each.kind == "clevis":
            turns = float(self.made.steps[0, i] * each.smallest_turn)
            self.steps.append(
                Step(
                    "turn",
                    each.pawl,
                    lambda us: turn_words(each, turns, before, placed, us),
                    turns=turns,
                    way=way_of(each, turns > 0),
                )
            )
        else:
            step = self.adjusters.feeler_step
            blade = max(round(placed / step), 1) * step
            self.steps.append(
                Step(
                    "place",
                    each.pawl,
                    lambda us: place_words(each, blade, before, us),
                    gap=blade,
                )
            )
            self.variance[i] = self.adjusters.reading_sd**2
        self.steps.append(Step("tighten", each.pawl, lambda us: tighten_words(each, us)))
        self._moved(i, own)
        self.measure(i, last=last and not self._others(i), again=False)

    def _moved(self, i: int, own: float) -> None:
        each = self.adjusters.pawls[i]
        for j in range(len(self.gap)):
            self.gap[j] += self.along[j, i] * own
            if j == i:
                self.variance[j] += self.own_variance[i]
            else:
                share = each.coupling
                self.variance[j] += share.mean**2 * self.own_variance[i] + (share.sd * own) ** 2

    def _others(self, i: int) -> bool:
        """Whether moving it moved another pawl, or may have."""
        share = self.adjusters.pawls[i].coupling
        return len(self.gap) > 1 and (share.mean != 0 or share.sd > 0)

    def measure(self, i: int, *, last: bool, again: bool) -> None:
        """What the feeler should show now."""
        pawl = self.adjusters.names[i]
        half = _WIDE * float(np.sqrt(self.variance[i] + self.adjusters.reading_sd**2))
        expect = (max(float(self.gap[i]) - half, 0.0), float(self.gap[i]) + half)
        room = self.aims.pawls[i].room if last else None
        self.steps.append(
            Step(
                "measure",
                pawl,
                lambda us: measure_words(pawl, expect, room, last=last, again=again, us=us),
                expect=expect,
                leave=room,
            )
        )

    def measure_again(self, order: list[int]) -> None:
        """Every pawl whose gap a later move may have changed, in the file's order."""
        for i in range(len(self.gap)):
            after = [j for j in order if j != i and (i not in order or j > i)]
            if any(self._others(j) for j in after):
                self.measure(i, last=True, again=i in order)
