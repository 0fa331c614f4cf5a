"""The next actions, ranked: what each costs, what may come of it and what that would leave."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.deciding.beliefs import FAILED, Situation, observed, unhelped
from tripmargin.faultfinding.deciding.planning import Plan, Used
from tripmargin.faultfinding.deciding.problem import CURED, Problem

PASSED = "passed"
"""Outcome of a repair: the verification passed, the case is closed."""


@dataclass(frozen=True, slots=True)
class Result:
    """One thing that may come of an action."""

    outcome: str
    chance: float
    leaves: dict[str, float]
    """Belief in each hypothesis that would still be possible, the likeliest first; empty when the
    case would be closed."""


@dataclass(frozen=True, slots=True)
class NextAction:
    """An action worth doing now."""

    action: str
    state: str
    """State that the machine must be in."""
    minutes: float
    """Of this action alone: moves, work, the price as minutes, and any verification."""
    price: float
    """Of parts, in the problem's price units."""
    chance_of_cure: float
    """That the verification passes; 0 for a check."""
    expected_minutes: float
    """From now until protected and proved, if this is done next."""
    avoidable_minutes: float
    """The part of these that somebody who knew the fault would not spend."""
    results: tuple[Result, ...]
    found_by: Used

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: minutes, chances from 0 to 1."""
        return asdict(self)


def ranked(problem: Problem, situation: Situation, plan: Plan, n: int) -> tuple[NextAction, ...]:
    """Return the best n actions of a plan."""
    pairs = zip(plan.actions[:n].tolist(), plan.minutes[:n].tolist(), strict=True)
    return tuple(_next_action(problem, situation, plan, *pair) for pair in pairs)


def _next_action(
    problem: Problem, situation: Situation, plan: Plan, number: int, expected: float
) -> NextAction:
    count = len(problem.checks)
    if number < count:
        check = problem.checks[number]
        place, price, cure = check.state, 0.0, 0.0
        minutes = float(problem.move[situation.state, place]) + check.minutes
        results = _findings(problem, situation, number)
    else:
        repair = problem.repairs[number - count]
        place, price = repair.state, repair.price
        minutes = float(problem.fix_minutes[situation.state, number - count])
        cure = float(situation.belief[problem.left[number - count] == CURED].sum())
        results = _verifications(problem, situation, number - count, cure)
    return NextAction(
        action=problem.actions[number],
        state=problem.states[place],
        minutes=minutes,
        price=price,
        chance_of_cure=cure,
        expected_minutes=expected,
        avoidable_minutes=expected - plan.needed,
        results=results,
        found_by=plan.used,
    )


def _findings(problem: Problem, situation: Situation, number: int) -> tuple[Result, ...]:
    """Return the outcomes of a check that are possible."""
    first = problem.columns[number]
    results = []
    for k, outcome in enumerate(problem.checks[number].outcomes):
        chance = float(situation.belief @ problem.likelihood[:, first + k])
        if chance > 0:
            later = observed(problem, situation, number, k)
            results.append(Result(outcome, chance, beliefs_by_name(problem, later.belief)))
    return tuple(results)


def _verifications(
    problem: Problem, situation: Situation, number: int, cure: float
) -> tuple[Result, ...]:
    """Return what the verification after a repair may show."""
    results = [Result(PASSED, cure, {})] if cure > 0 else []
    if (situation.belief[problem.left[number] != CURED] > 0).any():
        later = unhelped(problem, situation, number)
        leaves = beliefs_by_name(problem, later.belief)
        results.append(Result(FAILED, max(1.0 - cure, 0.0), leaves))
    return tuple(results)


def beliefs_by_name(problem: Problem, belief: NDArray[np.float64]) -> dict[str, float]:
    """Belief in each hypothesis that is possible at all, the likeliest first."""
    order = np.argsort(-belief, kind="stable")
    return {problem.hypotheses[h]: float(belief[h]) for h in order if belief[h] > 0}
