"""One index over checks and repairs: avoidable minutes paid per unit of doubt removed.

A minute is avoidable when somebody who knew the fault would not have spent it. A check's minutes
are all avoidable; a repair's are avoidable as far as the repair may be in vain. Doubt is the
entropy of the beliefs; a verification that fails or passes removes doubt just as a finding does.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.deciding.problem import CURED, Problem

NOTHING = 1e-12
"""Below this a chance or a gain of information (nat) is rounding, not news."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Crowd:
    """Several situations side by side, so that they can be weighed in one go."""

    beliefs: Floats  # (M, H) each row sums to 1
    used: NDArray[np.bool_]  # (M, C)
    states: NDArray[np.intp]  # (M,)
    reach: Floats  # (M,) chance of coming here

    def __len__(self) -> int:
        return len(self.beliefs)


@dataclass(frozen=True, eq=False)
class Weights:
    """What each action of each situation costs and brings; A actions, checks first."""

    avoidable: Floats  # (M, A) minutes
    information: Floats  # (M, A) nat
    useful: NDArray[np.bool_]  # (M, A) it can be done, and something can come of it
    doubt: Floats  # (M,) nat
    known: Floats  # (M,) minutes that even somebody who knows would spend
    spent: NDArray[np.bool_]  # (M, C) used up, although it could still tell something
    share: Floats  # (M, R) expected part of the faults that each repair cures
    fix: Floats  # (M, R) minutes of each repair, all in

    def of(self, rows: NDArray[np.intp]) -> Weights:
        """Return the weights of some of the situations."""
        return Weights(*(getattr(self, each.name)[rows] for each in fields(self)))

    def ratios(self) -> Floats:
        """Avoidable minutes per nat, infinite where useless; (M, A). The least is best."""
        gain = np.maximum(self.information, NOTHING)
        return np.where(self.useful, np.maximum(self.avoidable, 0.0) / gain, np.inf)

    def order_of_merit(self, again: bool) -> Floats:
        """Rank of each action by number, the least is best, infinite where useless; (M, A).

        The ratios, except where no check can tell anything any more: there it is each repair's
        minutes over its chance of curing. That order is optimal for single faults (Kadane and
        Simon 1977; the 'p/c' order of Kalagnanam and Henrion 1990), the ratio's is not. Where the
        fault is certain it is the avoidable minutes.

        Parameters
        ----------
        again : bool
            Whether checks may be made again after a repair.
        """
        ratios, checks = self.ratios(), self.spent.shape[1]
        telling = np.any(self.useful[:, :checks], axis=1, keepdims=True)
        if again:
            telling = telling | np.any(self.spent, axis=1, keepdims=True)
        by_chance = self.fix / np.maximum(self.share, NOTHING)
        certain = self.doubt[:, None] <= NOTHING
        repairs = np.where(certain, self.avoidable[:, checks:], by_chance)
        repairs = np.where(self.useful[:, checks:], repairs, np.inf)
        ratios[:, checks:] = np.where(telling, ratios[:, checks:], repairs)
        return ratios


class Scales:
    """Tables of a problem that make weighing many situations a few matrix products."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        itself = np.arange(len(problem.hypotheses))
        left = problem.left
        self.cured = (left == CURED).T.astype(float)
        self.touched = (left != itself).T.astype(float)
        self.places = np.array([check.state for check in problem.checks], dtype=np.intp)
        self.minutes = np.array([check.minutes for check in problem.checks])
        there = problem.move[self.places, problem.verify_state]
        self.onward = np.concatenate([there, np.zeros(len(left))])
        self.firsts = problem.columns[:-1]
        blur = np.zeros((len(itself), 0))
        if problem.checks:
            blur = np.add.reduceat(entropy_terms(problem.likelihood), self.firsts, axis=1)
        rest = np.where(left == CURED, 0.0, problem.known_minutes[left, problem.verify_state]).T
        tables = [problem.likelihood, blur, problem.known_minutes, rest, self.cured, self.touched]
        self._table = np.concatenate(tables, axis=1)
        self._ends = np.cumsum([table.shape[1] for table in tables])[:-1]
        self._sort_merges()

    def _sort_merges(self) -> None:
        """Find where a repair turns one hypothesis into another, in order of repair and result."""
        left = self.problem.left
        repair, source = np.nonzero((left != CURED) & (left != np.arange(left.shape[1])))
        result = left[repair, source]
        order = np.lexsort((result, repair))
        repair, result, self._sources = repair[order], result[order], source[order]
        new = np.diff(repair * left.shape[1] + result, prepend=-1) != 0
        self._groups = np.flatnonzero(new)
        self._results, repair = result[new], repair[new]
        self._runs = np.flatnonzero(np.diff(repair, prepend=-1) != 0)
        self._merging = repair[self._runs]

    def weigh(self, crowd: Crowd) -> Weights:
        """Cost, information and use of every action in every situation of the crowd."""
        problem, beliefs = self.problem, crowd.beliefs
        shown, blur, known, rest, cured, touched = np.split(
            beliefs @ self._table, self._ends, axis=1
        )
        now = known[np.arange(len(crowd)), crowd.states][:, None]
        terms = entropy_terms(beliefs)
        doubt = terms.sum(axis=1)
        information: Floats = np.zeros((len(crowd), 0))
        spent = crowd.used
        if problem.checks:
            information = np.add.reduceat(entropy_terms(shown), self.firsts, axis=1) - blur
        spent = crowd.used & (information > NOTHING)
        information = np.where(spent, 0.0, information)
        minutes = problem.move[crowd.states][:, self.places] + self.minutes
        looking = minutes + known[:, self.places] - now
        mending = problem.fix_minutes[crowd.states] + rest - now
        verified = doubt[:, None] - self._doubt_left(beliefs, terms, cured)
        return Weights(
            avoidable=np.concatenate([looking, mending], axis=1),
            information=np.concatenate([information, verified], axis=1),
            useful=np.concatenate([information > NOTHING, touched > NOTHING], axis=1),
            doubt=doubt,
            known=now[:, 0],
            spent=spent,
            share=(cured + touched) / 2,  # half for a repair that leaves one fault of a pair
            fix=problem.fix_minutes[crowd.states],
        )

    def _doubt_left(self, beliefs: Floats, terms: Floats, cured: Floats) -> Floats:
        """Return the doubt to expect after each repair and its verification; (M, R) nat.

        With z the chance of failing and S the sum of -x log x over what is left, not scaled to
        sum to 1, that doubt is S + z log z.
        """
        left = terms.sum(axis=1)[:, None] - terms @ self.touched
        if len(self._groups):
            inflow = np.add.reduceat(beliefs[:, self._sources], self._groups, axis=1)
            before = beliefs[:, self._results]
            more = entropy_terms(before + inflow) - terms[:, self._results]
            left[:, self._merging] += np.add.reduceat(more, self._runs, axis=1)
        expected: Floats = left - entropy_terms(np.clip(1.0 - cured, 0.0, 1.0))
        return expected


def entropy_terms(chances: Floats) -> Floats:
    """-x log x of each entry, 0 at 0; nat.

    >>> entropy_terms(np.array([0.0, 1.0, 0.5])).round(4)
    array([-0.    , -0.    ,  0.3466])
    """
    terms: Floats = -chances * np.log(np.where(chances > 0, chances, 1.0))
    return terms
