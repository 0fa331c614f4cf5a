"""What to do when the daily test has passed and something may still be wrong.

Only one thing matters then: whether the machine is sound. So checks, and the daily test once more,
are ranked by what they tell about that for each minute.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.cases.proving import doubt, pass_chances
from tripmargin.faultfinding.deciding.beliefs import FAILED, Situation, observed
from tripmargin.faultfinding.deciding.ranking import PASSED, NextAction, Result, beliefs_by_name
from tripmargin.faultfinding.suspects.machine_problem import ASK, MachineProblem
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN

TELLS_NOTHING = 1e-9
"""Nat. Below this a check is not worth a minute."""

Floats = NDArray[np.float64]


def proof_steps(
    of: MachineProblem, situation: Situation, n: int, again: bool = True
) -> list[NextAction]:
    """The best n things to do before the case can be closed; 'hand over' where nothing helps.

    `again`: the daily test has just passed.
    """
    problem = of.problem
    test = problem.numbers[f"repair:{PROVE_AGAIN}"]
    ways = [k for k in range(len(problem.checks)) if not situation.used[k]]
    ways = [k for k in ways if problem.actions[k] != f"check:{ASK}"]
    rated = [(worth(of, situation, k, again), k) for k in (*ways, test)]
    useful = sorted((-told / _minutes(of, situation, k), k) for told, k in rated
                    if told > TELLS_NOTHING)  # fmt: skip
    chosen = [k for _, k in useful[:n]] or [problem.numbers[f"repair:{HAND_OVER}"]]
    return [_action(of, situation, k, again) for k in chosen]


def _table(of: MachineProblem, action: int, again: bool) -> Floats:
    """Chance of each outcome under each hypothesis; (H, outcomes)."""
    problem = of.problem
    if action >= len(problem.checks):
        passes = pass_chances(of, again)
        return np.stack([passes, 1 - passes], axis=1)
    first, last = problem.columns[action : action + 2]
    return problem.likelihood[:, first:last]


def worth(of: MachineProblem, situation: Situation, action: int, again: bool = False) -> float:
    """What an action tells about whether the machine is sound, nat; `again` as above."""
    joint = situation.belief[:, None] * _table(of, action, again)
    outcomes = joint.sum(axis=0)
    sound = joint[of.nothing] / np.maximum(outcomes, 1e-300)
    return float(_entropy(situation.belief[of.nothing : of.nothing + 1])[0]
                 - outcomes @ _entropy(sound))  # fmt: skip


def _entropy(chance: Floats) -> Floats:
    """Of yes or no, nat."""
    p = np.clip(chance, 1e-15, 1 - 1e-15)
    found: Floats = -p * np.log(p) - (1 - p) * np.log(1 - p)
    return found


def _minutes(of: MachineProblem, situation: Situation, action: int) -> float:
    problem = of.problem
    if action >= len(problem.checks):
        return float(problem.fix_minutes[situation.state, action - len(problem.checks)])
    check = problem.checks[action]
    return float(problem.move[situation.state, check.state]) + check.minutes


def _action(of: MachineProblem, situation: Situation, action: int, again: bool) -> NextAction:
    problem = of.problem
    minutes = _minutes(of, situation, action)
    chances = situation.belief @ _table(of, action, again)
    if action < len(problem.checks):
        check = problem.checks[action]
        state, results = check.state, tuple(
            Result(word, float(chance), beliefs_by_name(
                problem, observed(problem, situation, action, k).belief))
            for k, (word, chance) in enumerate(zip(check.outcomes, chances, strict=True))
            if chance > 0
        )  # fmt: skip
    else:
        state = problem.repairs[action - len(problem.checks)].state
        words = zip((PASSED, FAILED), chances, strict=True)
        results = tuple(Result(word, float(chance), {}) for word, chance in words)
    return NextAction(
        action=problem.actions[action],
        state=problem.states[state],
        minutes=minutes,
        price=0.0,
        chance_of_cure=1 - doubt(of, situation) if action >= len(problem.checks) else 0.0,
        expected_minutes=minutes,
        avoidable_minutes=minutes,
        results=results,
        found_by="index",
    )
