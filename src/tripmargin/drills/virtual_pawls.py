"""Pawls to set with nothing but a feeler: true gaps that nobody sees, and what hands do to them.

What the seed draws lies between the machine file's own limits; the planner knows only these. The
n-th thing that is done to a pawl always comes out the same, whatever is done to the others.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from math import sqrt
from statistics import NormalDist

from tripmargin.drills.broken_machine import toss
from tripmargin.stopping.setting import Adjuster, Adjusters
from tripmargin.stopping.setting.adjusters import FEEL, Belief

LEAST, WIDEST = 2e-5, 0.03
"""m. A pawl that is turned further in rests on the ratchet; further out its thread ends."""
FIRST_LOW, FIRST_HIGH = 0.25, 1.6
"""Gaps that are found: from this share of the window's lower end to that of its upper one
(invented: well off on either side)."""


@dataclass(slots=True)
class VirtualPawls:
    """One machine's pawls as they really are.

    Attributes
    ----------
    adjusters : Adjusters
    seed : int
    draw : int
        Which of the seed's machines, where a first one will not do.
    gaps : dict of pawl to gap, m
        True ones.
    """

    adjusters: Adjusters
    seed: int
    draw: int = 0
    gaps: dict[str, float] = field(default_factory=dict)
    _done: Counter[tuple[str, str]] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        """Draw the gaps that are found: within what the adjusters reach."""
        low, high = self.adjusters.window
        for each in self.adjusters.pawls:
            least = max(FIRST_LOW * low, high - each.setting_range)
            most = min(FIRST_HIGH * high, low + each.setting_range)
            self.gaps[each.pawl] = least + (most - least) * self._toss(each.pawl, "found")

    @property
    def inside(self) -> bool:
        """Whether every true gap is inside the window."""
        low, high = self.adjusters.window
        return all(low <= gap <= high for gap in self.gaps.values())

    def of(self, pawl: str) -> Adjuster:
        """A pawl's adjuster as the file has it."""
        return next(each for each in self.adjusters.pawls if each.pawl == pawl)

    def measure(self, pawl: str) -> float:
        """What the feeler shows, m: the blade nearest to what the hand feels."""
        step = self.adjusters.feeler_step
        felt = self.gaps[pawl] + FEEL * self._normal(pawl, "felt")
        return max(round(felt / step), 1) * step

    def turn(self, pawl: str, turns: float) -> None:
        """Turn a clevis, above zero to open the gap, and tighten its jam nut."""
        each = self.of(pawl)
        self._move(pawl, turns * each.pitch * self._true(pawl, "leverage", each.leverage))
        self._tighten(pawl)

    def place(self, pawl: str, blade: float) -> None:
        """Slide a clamp until a blade of this gap passes, m, and tighten it."""
        each = self.of(pawl)
        by = each.placed_sd * sqrt(3.0) * (2 * self._next(pawl, "placed") - 1)
        self._move(pawl, blade + by - self.gaps[pawl])
        self._tighten(pawl)

    def _tighten(self, pawl: str) -> None:
        each = self.of(pawl)
        own = self._true(pawl, "shift", each.shift)
        self._move(pawl, own + each.shift_scatter * self._normal(pawl, "tightened"))

    def _move(self, pawl: str, by: float) -> None:
        share = self._true(pawl, "coupling", self.of(pawl).coupling)
        for name in self.gaps:
            gap = self.gaps[name] + (by if name == pawl else share * by)
            self.gaps[name] = min(max(gap, LEAST), WIDEST)

    def _true(self, pawl: str, what: str, belief: Belief) -> float:
        """The machine's own value: anything between the limits, one as likely as another."""
        return belief.mean + sqrt(3.0) * belief.sd * (2 * self._toss(pawl, what) - 1)

    def _toss(self, *what: object) -> float:
        return toss(self.seed, "pawls", self.draw, *what)

    def _next(self, pawl: str, what: str) -> float:
        self._done[pawl, what] += 1
        return self._toss(pawl, what, self._done[pawl, what])

    def _normal(self, pawl: str, what: str) -> float:
        return NormalDist().inv_cdf(min(max(self._next(pawl, what), 1e-9), 1 - 1e-9))
