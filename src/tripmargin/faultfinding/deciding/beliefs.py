"""What is believed after each finding and after each repair that did not help.

Findings of different checks are independent given the faults that are still present (the neutral
form's convention), so Bayes' rule is one product per finding. A repair takes its faults out of
every hypothesis; a failed verification takes out the hypotheses that would then be wholly cured.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.deciding.problem import CURED, Problem
from tripmargin.faultfinding.deciding.troubles import ContradictionError, ProblemError
from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import say

FAILED = "failed"
"""Outcome of a repair: the verification after it failed."""

History: TypeAlias = Sequence[tuple[str, str]]
"""What was done and what came of it, oldest first: (action id, outcome or 'failed')."""


@dataclass(frozen=True, eq=False)
class Situation:
    """Where a case stands: what is believed, which checks are used up, the machine's state."""

    belief: NDArray[np.float64]  # (H,) sums to 1
    used: NDArray[np.bool_]  # (C,)
    state: int
    contradicted: tuple[str, ...] = ()
    """Findings that nothing believed before them explains, as 'action = outcome', oldest first."""

    def key(self) -> tuple[bytes, bytes, int]:
        """Return what decides the next action; equal for equal situations."""
        return self.belief.round(12).tobytes(), self.used.tobytes(), self.state


def situation_after(problem: Problem, history: History) -> Situation:
    """Where a case stands after its history.

    Parameters
    ----------
    problem : Problem
    history : sequence of (action id, outcome)
        The outcome of a repair or a swap is 'failed': one that passed ends the case.

    Raises
    ------
    ProblemError
        If an action or outcome is unknown, or a check is made again that may not be.
    ContradictionError
        If nothing explains the findings and the problem has no 'something else'.

    Examples
    --------
    >>> from tripmargin.faultfinding.deciding.made_up import Recipe, made_up_problem
    >>> problem = Problem.from_dict(made_up_problem(Recipe(faults=3, checks=2), seed=1))
    >>> before, later = situation_after(problem, []), situation_after(
    ...     problem, [("repair:F01", "failed")]
    ... )
    >>> before.belief.round(3), later.belief.round(3)
    (array([0.435, 0.084, 0.481]), array([0.475, 0.   , 0.525]))
    """
    untouched = np.zeros(len(problem.checks), dtype=bool)
    situation = Situation(problem.prior, untouched, problem.start_state)
    for name, outcome in problem.given:
        situation = observed(problem, situation, *_finding(problem, situation, name, outcome))
    situation = replace(situation, state=problem.start_state)
    for name, outcome in history:
        number = problem.numbers.get(name)
        if number is None:
            near = nearest(name, problem.actions)
            hint = say("Did you mean {near!r}?", near=near) if near else ""
            raise ProblemError(
                "history", name, say("no such action"), say("the problem's actions"), hint
            )
        if number < len(problem.checks):
            situation = observed(problem, situation, *_finding(problem, situation, name, outcome))
        elif outcome == FAILED:
            situation = unhelped(problem, situation, number - len(problem.checks))
        else:
            raise ProblemError(
                f"history: {name}",
                outcome,
                say("not an outcome of a repair"),
                "'failed'",
                say("A verification that passed ends the case: nothing comes after it."),
            )
    return situation


def _finding(problem: Problem, situation: Situation, name: str, outcome: str) -> tuple[int, int]:
    """Return the numbers of a check and of its outcome, if it may be made now."""
    number = problem.numbers[name]
    outcomes = problem.checks[number].outcomes
    if outcome not in outcomes:
        raise ProblemError(f"history: {name}", outcome, say("no such outcome"), ", ".join(outcomes))
    if situation.used[number]:
        allowed = say("each check once in a case")
        if problem.again_after_repair:
            allowed = say("each check once after each repair")
        raise ProblemError(
            "history",
            name,
            say("made again"),
            allowed,
            say("The same slip would come again: ask another check."),
        )
    return number, outcomes.index(outcome)


def observed(problem: Problem, situation: Situation, check: int, outcome: int) -> Situation:
    """Return the situation after a finding."""
    weight = situation.belief * problem.likelihood[:, problem.columns[check] + outcome]
    used = situation.used.copy()
    used[check] = True
    done = problem.checks[check]
    later = replace(situation, used=used, state=done.state)
    return _believed(problem, later, weight, f"{done.id} = {done.outcomes[outcome]}")


def unhelped(problem: Problem, situation: Situation, repair: int) -> Situation:
    """Return the situation after a repair whose verification failed."""
    left, count = problem.left[repair], len(problem.hypotheses)
    weight = np.zeros(count + 1)
    np.add.at(weight, left - CURED, situation.belief)
    weight = weight[1:]
    used = np.zeros_like(situation.used) if problem.again_after_repair else situation.used
    later = replace(situation, used=used, state=problem.verify_state)
    other = problem.something_else
    if other is not None and left[other] == CURED and not weight.any():
        problem = replace(problem, something_else=None)  # it was just mended: no way out
    return _believed(problem, later, weight, f"{problem.repairs[repair].id} = {FAILED}")


def _believed(
    problem: Problem, situation: Situation, weight: NDArray[np.float64], finding: str
) -> Situation:
    """Scale the weights to sum to 1; where all are 0, believe in 'something else' and say so."""
    total = weight.sum()
    if total > 0:
        return replace(situation, belief=weight / total)
    if problem.something_else is None:
        raise ContradictionError(
            "history",
            finding,
            say("nothing that is still believed explains this finding"),
            say("findings that fit together"),
            say(
                "Look again at the last findings and take back the one that is wrong; a"
                " problem with a hypothesis 'something else' would take it."
            ),
        )
    belief = np.zeros(len(problem.hypotheses))
    belief[problem.something_else] = 1.0
    return replace(situation, belief=belief, contradicted=(*situation.contradicted, finding))
