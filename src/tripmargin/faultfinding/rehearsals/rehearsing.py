"""Whole machines broken at random and looked for, card by card, with slips: how well it goes.

A rehearsal knows the fault; it answers each card as the faulty machine would, but for slips, and
pays what each card costs. It ends when a repair is proved or the machine is handed over.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.cases.advising import Adviser
from tripmargin.faultfinding.cases.proving import LEFT_OPEN, doubt, failed, pass_chances, passed
from tripmargin.faultfinding.deciding.beliefs import Situation, observed
from tripmargin.faultfinding.deciding.planning import Method
from tripmargin.faultfinding.deciding.problem import CURED
from tripmargin.faultfinding.rehearsals.paper_order import PaperOrder
from tripmargin.faultfinding.suspects.machine_problem import SAW_ELSE, MachineProblem
from tripmargin.faultfinding.suspects.repairs import HAND_OVER

MOST_CARDS = 200
"""Cards after which a rehearsal counts as lost; none should come near."""

Choose = Callable[[Situation, bool], int]
"""From a situation, and whether a repair was proved in part, to an action's number."""


@dataclass(slots=True)
class Rehearsal:
    """How one case went.

    Attributes
    ----------
    fault : str
        Id of the hypothesis that was true.
    minutes : float
        In all, prices counted as minutes.
    known_minutes : float
        What somebody who knows the fault would spend.
    mended : bool
        Nothing of the fault is left.
    handed_over : bool
    wrong_modules : int
        Modules replaced whole that held nothing of the fault.
    cards : int
    path : list of (action, what came of it)
    """

    fault: str
    minutes: float = 0.0
    known_minutes: float = 0.0
    mended: bool = False
    handed_over: bool = False
    wrong_modules: int = 0
    cards: int = 0
    path: list[tuple[str, str]] = field(default_factory=list)


def drawn(of: MachineProblem, count: int, rng: np.random.Generator) -> NDArray[np.intp]:
    """Numbers of hypotheses drawn by their weights: single faults, pairs, faults that come and go.

    'Nothing' and 'something else' are not drawn: there is no fault to put into a machine.
    """
    weights = np.array([each.weight if each.causes else 0.0 for each in of.hypotheses])
    found: NDArray[np.intp] = rng.choice(len(weights), size=count, p=weights / weights.sum())
    return found


class Rehearser:
    """Plays cases on one machine; `.adviser` is what chooses the cards.

    `truth` is what really happens, where that is another problem: the same machine, read with
    faults that the cards do not think of. Hypotheses are then numbers of its own.
    """

    def __init__(
        self, of: MachineProblem, method: Method = "index", truth: MachineProblem | None = None
    ) -> None:
        self.of, self.adviser, self.truth = of, Adviser(of, method), truth or of
        self._passes = pass_chances(self.truth)
        self._row = {work.id: row for row, work in enumerate(self.truth.repairs)}

    def play(
        self,
        hypothesis: int,
        rng: np.random.Generator,
        choose: Choose | None = None,
        *,
        complaint: int | None = None,
    ) -> Rehearsal:
        """One case from its complaint to its end; `choose` in place of the policy.

        The complaint is the one of this number, or what the fault makes the operator say.
        Looks slip as often as the machine file says; the complaint as often as complaints do.
        """
        problem, choose = self.of.problem, choose or self._advised
        start = np.zeros(len(problem.checks), dtype=bool)
        situation = Situation(problem.prior, start, problem.start_state)
        found = Rehearsal(self.truth.hypotheses[hypothesis].id)
        known = self.truth.problem.known_minutes
        found.known_minutes = float(known[hypothesis, problem.start_state])
        now, proving = hypothesis, False
        if complaint is None:
            situation = self._look(situation, 0, now, rng, found)
        else:
            situation = observed(problem, situation, 0, complaint)
            found.path.append((problem.actions[0], problem.checks[0].outcomes[complaint]))
        if isinstance(choose, PaperOrder):
            told = problem.checks[0].outcomes.index(found.path[0][1])
            choose.begin(told)
        while found.cards < MOST_CARDS:
            action = choose(situation, proving)
            found.cards += 1
            if action < len(problem.checks):
                check = problem.checks[action]
                found.minutes += float(problem.move[situation.state, check.state]) + check.minutes
                situation = self._look(situation, action, now, rng, found)
            else:
                repair = action - len(problem.checks)
                now, situation, proving = self._mend(situation, repair, now, rng, found, proving)
                if found.handed_over:
                    break
            if proving:
                left = doubt(self.of, situation)
                if left <= LEFT_OPEN:
                    break
                proving = left <= 0.5
        found.mended = now == self.truth.nothing
        return found

    def _advised(self, situation: Situation, proving: bool) -> int:
        return self.adviser.best(situation, proving=proving)

    def _look(
        self, situation: Situation, action: int, now: int, rng: np.random.Generator, of: Rehearsal
    ) -> Situation:
        problem, truth = self.of.problem, self.truth.problem
        name = problem.actions[action]
        number = truth.numbers[name]
        first, last = truth.columns[number : number + 2]
        shown = int(rng.choice(last - first, p=truth.likelihood[now, first:last]))
        known, word = problem.checks[action].outcomes, truth.checks[number].outcomes[shown]
        word = word if word in known else SAW_ELSE
        of.path.append((name, word))
        return observed(problem, situation, action, known.index(word))

    def _mend(
        self,
        situation: Situation,
        repair: int,
        now: int,
        rng: np.random.Generator,
        of: Rehearsal,
        again: bool,
    ) -> tuple[int, Situation, bool]:
        """A repair and its daily test: what is left, the situation, whether the test passed."""
        problem, work = self.of.problem, self.of.repairs[repair]
        of.minutes += float(problem.fix_minutes[situation.state, repair])
        left = int(self.truth.problem.left[self._row[work.id], now])
        if work.module and left == now:
            of.wrong_modules += 1
        after = self.truth.nothing if left == CURED else left
        if work.id == HAND_OVER:
            of.handed_over = True
            of.path.append((work.id, "handed over"))
            return now, situation, False
        good = after == self.truth.nothing or bool(rng.random() < self._passes[after])
        of.path.append((work.id, "passed" if good else "failed"))
        if good:
            return after, passed(self.of, situation, repair, again), True
        return after, failed(self.of, situation, repair), False
