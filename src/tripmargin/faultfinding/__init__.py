"""Fault finding: hypotheses, checks, beliefs, and the cheapest next action."""

from tripmargin.faultfinding.beliefs import Situation, situation_after
from tripmargin.faultfinding.policy import Policy, explain, next_actions, policy
from tripmargin.faultfinding.problem import Check, Problem, Repair
from tripmargin.faultfinding.ranking import NextAction, Result
from tripmargin.faultfinding.reasons import Explanation
from tripmargin.faultfinding.troubles import ContradictionError, ProblemError

__all__ = [
    "Check",
    "ContradictionError",
    "Explanation",
    "NextAction",
    "Policy",
    "Problem",
    "ProblemError",
    "Repair",
    "Result",
    "Situation",
    "explain",
    "next_actions",
    "policy",
    "situation_after",
]
