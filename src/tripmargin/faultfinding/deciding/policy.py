"""The next action of a case, as a function of its history; the ranking, and the reasons."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from tripmargin.faultfinding.deciding.beliefs import History, Situation, situation_after
from tripmargin.faultfinding.deciding.planning import BEAM, Method, Plan, planner
from tripmargin.faultfinding.deciding.problem import Problem
from tripmargin.faultfinding.deciding.ranking import NextAction, ranked
from tripmargin.faultfinding.deciding.reasons import Explanation, explained
from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.ground.languages import say

REMEMBERED = 20_000
"""Plans a policy keeps; a situation met again is not thought through again."""


class Policy:
    """Chooses the next action; call it with a history.

    `.problem` is the problem as arrays, `.method` how it chooses.
    """

    def __init__(self, problem: Problem, method: Method) -> None:
        self.problem, self.method = problem, method
        self._planner = planner(problem, method)
        self._plans: dict[tuple[bytes, bytes, int], Plan] = {}

    def __call__(self, history: History) -> str:
        """Return the id of the next action after (action id, outcome or 'failed') so far."""
        plan = self.plan(situation_after(self.problem, history))
        return self.problem.actions[int(plan.actions[0])]

    def plan(self, situation: Situation) -> Plan:
        """Return the ranked actions of a situation; `.used` says how they were found."""
        key = situation.key()
        if key not in self._plans:
            if len(self._plans) >= REMEMBERED:
                self._plans.clear()
            self._plans[key] = self._planner(situation)
        return self._plans[key]

    def next_actions(self, history: History, n: int = 3) -> tuple[NextAction, ...]:
        """Return the best n actions after a history; fewer where fewer are worth comparing."""
        situation = situation_after(self.problem, history)
        plan = self.plan(situation)
        if n > BEAM and plan.used == "look-ahead":
            plan = planner(self.problem, self.method, beam=n)(situation)
        return ranked(self.problem, situation, plan, n)

    def explain(self, history: History) -> Explanation:
        """Return why the next action is proposed, and what the last finding changed."""
        earlier = situation_after(self.problem, history[:-1]) if history else None
        now = situation_after(self.problem, history)
        actions = ranked(self.problem, now, self.plan(now), 2)
        return explained(self.problem, (earlier, now), actions, history[-1] if history else None)


def policy(problem: Mapping[str, Any] | Problem, *, method: Method = "best") -> Policy:
    """A policy that leads to *protected and proved* at the least expected cost it can find.

    Parameters
    ----------
    problem : mapping or Problem
        In the neutral form (docs/explanation/finding-a-fault.md), or read already.
    method : {'best', 'look-ahead', 'index'}
        'best' solves exactly what is small enough, each situation for itself, and looks ahead
        elsewhere; 'look-ahead' never solves exactly; 'index' takes the best of one index.

    Returns
    -------
    Policy
        Callable: history -> action id, such as 'check:L04', 'repair:F02' or 'swap:S0'.

    Raises
    ------
    ProblemError
        If the problem cannot be used as it stands, or the method is unknown.

    Examples
    --------
    >>> from tripmargin.faultfinding.deciding.made_up import Recipe, made_up_problem
    >>> choose = policy(made_up_problem(Recipe(faults=4, checks=5), seed=3))
    >>> choose([])
    'check:L04'
    """
    if method not in get_args(Method):
        raise ProblemError("method", method, say("not known"), ", ".join(get_args(Method)))
    if not isinstance(problem, Problem):
        problem = Problem.from_dict(problem)
    return Policy(problem, method)


def next_actions(
    problem: Mapping[str, Any] | Problem, history: History, n: int = 3
) -> tuple[NextAction, ...]:
    """Ranked actions after a history, each with its expected cost and what its outcomes leave.

    Examples
    --------
    >>> from tripmargin.faultfinding.deciding.made_up import Recipe, made_up_problem
    >>> problem = made_up_problem(Recipe(faults=4, checks=5), seed=3)
    >>> best, second = next_actions(problem, [("repair:F02", "failed")], n=2)
    >>> best.action, round(best.expected_minutes, 1), round(second.expected_minutes, 1)
    ('check:L01', 23.4, 23.7)
    """
    return policy(problem).next_actions(history, n)


def explain(problem: Mapping[str, Any] | Problem, history: History) -> Explanation:
    """Plain reasons for the next action: chances before and after, minutes, the next best.

    Examples
    --------
    >>> from tripmargin.faultfinding.deciding.made_up import Recipe, made_up_problem
    >>> why = explain(made_up_problem(Recipe(faults=4, checks=5), seed=3), [])
    >>> print(why.reasons[0])
    Next: check:L04, in state stopped; 0.5 min in all.
    >>> print(why.reasons[1])
    If 'no' (92 %): F00 81 % to 89 %, F01 6 % to 7 %, F03 4 % to 5 %; ruled out: F02.
    """
    return policy(problem).explain(history)
