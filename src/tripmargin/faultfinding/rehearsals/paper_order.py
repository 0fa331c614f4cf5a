"""The peer that cases are compared with: a fixed order of looks on paper, and repairs after it.

For each complaint the looks stand in one order, best first: the most information about the fault
for each minute, as the chances stand after the complaint. They are made in that order until some
repair's chance of curing, by Bayes' rule, reaches a level; then that repair is made. When the order
is used up, repairs go by chance over cost. After the first repair, and in the hands of somebody who
passes over, looks that could tell nothing as things stand are left out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.cases.proof_steps import proof_steps
from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.deciding.index import Crowd, Scales
from tripmargin.faultfinding.deciding.problem import CURED
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem

TELLS = 1e-3
"""Nat. A look on paper that would tell less than this, as things stand, is passed over."""


class PaperOrder:
    """Chooses as a person with the sheet would, who stops when `sure` of a repair."""

    def __init__(self, of: MachineProblem, sure: float, passing_over: bool = False) -> None:
        self.of, self.sure, self.passing_over = of, sure, passing_over
        self._scales = Scales(of.problem)
        self._orders: dict[int, NDArray[np.intp]] = {}
        self._told, self._mended = 0, False

    def begin(self, complaint: int) -> None:
        """Take the sheet for a complaint."""
        problem = self.of.problem
        if complaint not in self._orders:
            belief = problem.prior * problem.likelihood[:, complaint]
            start = Situation(
                belief / belief.sum(), np.zeros(len(problem.checks), bool), problem.start_state
            )
            information, minutes = self._weighed(start)
            order = np.argsort(-information / minutes, kind="stable")
            self._orders[complaint] = order[order > 0]
        self._told, self._mended = complaint, False

    def __call__(self, situation: Situation, proving: bool) -> int:
        """The number of the next action."""
        problem = self.of.problem
        if proving:
            self._mended = True
            return problem.numbers[proof_steps(self.of, situation, 1)[0].action]
        cures = np.array([float(situation.belief[row == CURED].sum()) for row in problem.left])
        cost = problem.fix_minutes[situation.state]
        best = int(np.argmax(np.where(cures > 0, cures / cost, -1.0)))
        if cures.max() >= self.sure:
            self._mended = True
            return len(problem.checks) + int(cures.argmax())
        telling = np.ones(len(problem.checks), bool)
        if self.passing_over or self._mended:
            telling = self._weighed(situation)[0] > TELLS
        for check in self._orders[self._told]:
            if not situation.used[check] and telling[check]:
                return int(check)
        self._mended = True
        return len(problem.checks) + best

    def _weighed(self, situation: Situation) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """What each look would tell, nat, and its minutes with the move to it."""
        problem = self.of.problem
        crowd = Crowd(
            situation.belief[None], situation.used[None], np.array([situation.state]), np.ones(1)
        )
        information = self._scales.weigh(crowd).information[0, : len(problem.checks)]
        minutes = np.array([check.minutes for check in problem.checks])
        places = np.array([check.state for check in problem.checks])
        return information, problem.move[situation.state, places] + minutes
