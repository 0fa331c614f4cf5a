"""A fault-finding problem as arrays: what may be broken, checked and repaired, and what it costs.

All costs are minutes; a price counts as minutes at the rate that the problem gives. A hypothesis is
a set of faults that are present together: one fault, a pair, or 'something else'.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

CURED = -1
"""What a repair leaves of a hypothesis when no fault of it is left."""


@dataclass(frozen=True, slots=True)
class Check:
    """Something to look at, listen to, press or measure, in one state of the machine."""

    id: str
    state: int
    minutes: float
    outcomes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Repair:
    """A repair of one fault, or a swap that cures several."""

    id: str
    state: int
    minutes: float
    """Work and price together, without moves and verification."""
    price: float
    """In the problem's price units."""
    cures: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Problem:
    """A fault-finding problem, checked and as arrays; `Problem.from_dict` makes one.

    H hypotheses, S machine states, C checks with K outcomes in all, R repairs and swaps. Actions
    are numbered checks first, then repairs.
    """

    hypotheses: tuple[str, ...]
    prior: NDArray[np.float64]  # (H,) sums to 1
    states: tuple[str, ...]
    move: NDArray[np.float64]  # (S, S) minutes from row to column
    start_state: int
    verify_state: int
    verify_minutes: float
    checks: tuple[Check, ...]
    likelihood: NDArray[np.float64]  # (H, K) chance of each outcome, check after check
    repairs: tuple[Repair, ...]
    left: NDArray[np.intp]  # (R, H) hypothesis left by a repair, or CURED
    again_after_repair: bool
    given: tuple[tuple[str, str], ...]
    something_else: int | None

    @classmethod
    def from_dict(cls, problem: Mapping[str, Any]) -> Problem:
        """Read and check the neutral form; docs/explanation/finding-a-fault.md lists its keys.

        Raises
        ------
        ProblemError
            At the first thing that is wrong: `.where`, `.value`, `.allowed`, `.hint`.

        Examples
        --------
        >>> from tripmargin.faultfinding.deciding.made_up import Recipe, made_up_problem
        >>> problem = Problem.from_dict(made_up_problem(Recipe(faults=3, checks=1), seed=1))
        >>> problem.actions
        ('check:J00', 'repair:F00', 'repair:F01', 'repair:F02')
        """
        from tripmargin.faultfinding.deciding.reading import read_problem

        return read_problem(problem)

    @cached_property
    def actions(self) -> tuple[str, ...]:
        """Names of all actions, checks first, in the order of every array over actions."""
        return (*(check.id for check in self.checks), *(repair.id for repair in self.repairs))

    @cached_property
    def numbers(self) -> dict[str, int]:
        """Number of each action by its name."""
        return {name: number for number, name in enumerate(self.actions)}

    @cached_property
    def columns(self) -> NDArray[np.intp]:
        """First column of each check in `likelihood`, and at last the number of columns; (C+1,)."""
        ends = np.cumsum([0, *(len(check.outcomes) for check in self.checks)])
        return ends.astype(np.intp)

    @cached_property
    def fix_minutes(self) -> NDArray[np.float64]:
        """Cost of each repair from each state, with moves and the verification; (S, R) minutes."""
        place = np.array([repair.state for repair in self.repairs], dtype=np.intp)
        work = np.array([repair.minutes for repair in self.repairs])
        after = self.move[place, self.verify_state] + self.verify_minutes
        total: NDArray[np.float64] = self.move[:, place] + work + after
        return total

    @cached_property
    def known_minutes(self) -> NDArray[np.float64]:
        """Cost for somebody who knows the hypothesis, from each state; (H, S) minutes.

        No route is cheaper, so what a case costs beyond it is what better choices could avoid.
        """
        known = np.full((len(self.hypotheses), len(self.states)), np.inf)
        touched = self.left != np.arange(len(self.hypotheses))
        for _ in range(2):  # the second round is for pairs that need two repairs
            rest = np.where(self.left == CURED, 0.0, known[self.left, self.verify_state])
            rest = np.where(touched, rest, np.inf)
            known = np.minimum(known, (rest.T[:, None] + self.fix_minutes).min(axis=2))
        return known

    @cached_property
    def kept(self) -> NDArray[np.intp]:
        """Number of each hypothesis in the problem that this one was restricted from; (H,)."""
        return np.arange(len(self.hypotheses), dtype=np.intp)

    def restricted(self, keep: NDArray[np.intp]) -> Problem:
        """Return the same problem over fewer hypotheses, and over what repairs leave of them."""
        wanted = np.zeros(len(self.hypotheses), dtype=bool)
        wanted[keep] = True
        rest = self.left[:, wanted]
        wanted[rest[rest != CURED]] = True
        kept = np.flatnonzero(wanted)
        number = np.full(len(self.hypotheses) + 1, CURED, dtype=np.intp)  # CURED stays CURED
        number[kept] = np.arange(len(kept))
        other = self.something_else
        smaller = replace(
            self,
            hypotheses=tuple(self.hypotheses[h] for h in kept),
            prior=self.prior[kept] / max(float(self.prior[kept].sum()), np.finfo(float).tiny),
            likelihood=self.likelihood[kept],
            left=number[self.left[:, kept]],
            something_else=int(number[other]) if other is not None and wanted[other] else None,
        )
        smaller.__dict__.update(
            kept=kept, known_minutes=self.known_minutes[kept], fix_minutes=self.fix_minutes
        )
        return smaller
