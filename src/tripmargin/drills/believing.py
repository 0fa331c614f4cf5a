"""What the best player would believe after what was done: the hints and the best route rest on it.

In a case a repair and its daily test are one entry; here they are two moves. Where the test follows
its repair the beliefs are those of the case.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tripmargin.faultfinding import ASK, PROVE_AGAIN, MachineProblem
from tripmargin.faultfinding.cases.advising import Adviser
from tripmargin.faultfinding.cases.proving import LEFT_OPEN, afresh, doubt, failed, passed
from tripmargin.faultfinding.deciding.beliefs import Situation, observed
from tripmargin.faultfinding.deciding.problem import CURED


@dataclass(slots=True)
class Believer:
    """Beliefs that follow the moves of a drill.

    Attributes
    ----------
    adviser : Adviser
    situation : Situation
    tested : bool or None
        Whether the last daily test passed; None where none was made since the last repair.
    proving : bool
        Whether it passed, and the machine has been likelier sound than not since.
    mend : (Situation, number of a repair, whether proving) or None
        A repair and how things stood before it, until anything else is done.
    """

    adviser: Adviser
    situation: Situation
    tested: bool | None = None
    proving: bool = False
    mend: tuple[Situation, int, bool] | None = None

    @classmethod
    def told(cls, adviser: Adviser, complaint: str) -> Believer:
        """What is believed once the operator has spoken."""
        problem = adviser.of.problem
        untouched = np.zeros(len(problem.checks), dtype=bool)
        start = Situation(problem.prior, untouched, problem.start_state)
        ask = problem.numbers[f"check:{ASK}"]
        word = problem.checks[ask].outcomes.index(complaint)
        return cls(adviser, observed(problem, start, ask, word))

    @property
    def of(self) -> MachineProblem:
        """The machine's problem."""
        return self.adviser.of

    def went(self, state: int) -> None:
        """The machine was moved into a state."""
        self.situation = replace(self.situation, state=state)

    def looked(self, name: str, word: str) -> None:
        """A look showed a word; the same look once more teaches nothing new."""
        problem = self.of.problem
        number = problem.numbers[f"check:{name}"]
        if not self.situation.used[number]:
            outcome = problem.checks[number].outcomes.index(word)
            self.situation = observed(problem, self.situation, number, outcome)
            self.proving = self.proving and self._likely_sound()
            self.mend = None

    def mended(self, repair: int) -> None:
        """A repair was made, and nothing is proved yet."""
        self.mend = (self.situation, repair, self.proving)
        left, belief = self.of.problem.left[repair], self.situation.belief
        weight = np.zeros(len(belief))
        np.add.at(weight, np.where(left == CURED, self.of.nothing, left), belief)
        self.situation = afresh(replace(self.situation, belief=weight / weight.sum()))
        self.tested, self.proving = None, False

    def made_test(self, good: bool, step: int | None) -> None:
        """The daily test was made; `step` at which it failed."""
        none = (self.situation, self._row(PROVE_AGAIN), self.proving)
        before, row, again = self.mend or none
        if good:
            self.situation = passed(self.of, before, row, again)
        else:
            self.situation = failed(self.of, before, row, step)
        self.tested, self.mend = good, None
        self.proving = good and self._likely_sound()

    def proved(self) -> bool:
        """Whether the machine may be given back: the test passed, and little doubt is left."""
        return bool(self.tested) and doubt(self.of, self.situation) <= LEFT_OPEN

    def best(self) -> str:
        """Id of the cheapest next action, such as "check:..." or "repair:..."."""
        return self.of.problem.actions[self.adviser.best(self.situation, proving=self.proving)]

    def _likely_sound(self) -> bool:
        return doubt(self.of, self.situation) <= 0.5

    def _row(self, work: str) -> int:
        return self.of.problem.numbers[f"repair:{work}"] - len(self.of.problem.checks)
