"""A machine with a hidden fault: what it shows at each look, and what its daily test shows.

Everything that it says follows from the seed, whatever the order of the moves: a lamp that was not
looked at first shows the same when it is looked at last.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from dataclasses import dataclass, field

from tripmargin.faultfinding import MachineProblem
from tripmargin.faultfinding.deciding.problem import CURED

TEST = "daily test"


def toss(*of: object) -> float:
    """A number from 0 up to 1, always the same for the same words.

    >>> toss(7, "lamp") == toss(7, "lamp"), toss(7, "lamp") == toss(8, "lamp")
    (True, False)
    """
    digest = hashlib.sha256("|".join(map(str, of)).encode()).digest()
    return int.from_bytes(digest[:7], "big") / 2.0**56


@dataclass(slots=True)
class BrokenMachine:
    """The machine as it really is.

    Nobody misreads a lamp in a drill, so nothing slips; only a fault that comes and goes makes the
    same look show now this, now that.

    Attributes
    ----------
    of : MachineProblem
    seed : int
    now : int
        Number of the hypothesis that is true.
    mends : int
        Repairs made so far: each makes it another machine.
    """

    of: MachineProblem
    seed: int
    now: int
    mends: int = 0
    _asked: Counter[tuple[str, int]] = field(default_factory=Counter)

    @property
    def sound(self) -> bool:
        """Whether nothing of the fault is left."""
        return self.now == self.of.nothing

    def look(self, name: str) -> str:
        """The word that a look shows; of a meter, the range of the reading."""
        look = next(each for each in self.of.looks if each.question.id == name)
        word = look.answers[self.now] if self._there(name) else 0
        return look.question.words[word]

    def test(self) -> int | None:
        """Make the daily test: None where it passes, else the step, from 1, that fails."""
        there = self._there(TEST)
        if self.sound or not there or not self.of.daily_shows[self.now]:
            return None
        return int(self.of.daily_shows_at[self.now]) + 1

    def mend(self, repair: int) -> bool:
        """Make the repair of this number; whether it touched the fault."""
        before, left = self.now, int(self.of.problem.left[repair, self.now])
        self.now = self.of.nothing if left == CURED else left
        self.mends += 1
        return self.now != before

    def _there(self, what: str) -> bool:
        """Whether the fault is there at this moment."""
        asked = self._asked[what, self.mends]
        self._asked[what, self.mends] += 1
        shows = self.of.hypotheses[self.now].shows
        return shows >= 1.0 or toss(self.seed, self.now, what, self.mends, asked) < shows
