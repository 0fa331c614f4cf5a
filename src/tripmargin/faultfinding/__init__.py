"""Fault finding: hypotheses, checks, beliefs, and the cheapest next action."""

from tripmargin.faultfinding.beliefs import Situation, situation_after
from tripmargin.faultfinding.cards import Answer, Card
from tripmargin.faultfinding.case import CLOSED, HANDED_OVER, OPEN, PROVING, Case
from tripmargin.faultfinding.case_file import CaseFile
from tripmargin.faultfinding.case_lines import CaseFileError, CaseHeadError, Entry
from tripmargin.faultfinding.chart import chart
from tripmargin.faultfinding.chart_steps import Chart
from tripmargin.faultfinding.complaints import COMPLAINTS
from tripmargin.faultfinding.coverage import coverage
from tripmargin.faultfinding.covered import Coverage
from tripmargin.faultfinding.hypotheses import Cause, Hypothesis
from tripmargin.faultfinding.isolability import (
    ambiguity_groups,
    detected_fraction,
    isolated_fraction,
)
from tripmargin.faultfinding.machine_problem import (
    ASK,
    CANNOT_TELL,
    SAW_ELSE,
    MachineProblem,
    machine_problem,
)
from tripmargin.faultfinding.policy import Policy, explain, next_actions, policy
from tripmargin.faultfinding.problem import Check, Problem, Repair
from tripmargin.faultfinding.proving import passes_needed
from tripmargin.faultfinding.ranking import NextAction, Result
from tripmargin.faultfinding.reasons import Explanation
from tripmargin.faultfinding.repairs import HAND_OVER, PROVE_AGAIN, RepairWork
from tripmargin.faultfinding.resuming import AS_IT_IS, AS_IT_WAS, MachineChangedError
from tripmargin.faultfinding.so_far import Done, done_so_far
from tripmargin.faultfinding.troubles import ContradictionError, ProblemError
from tripmargin.faultfinding.ways import TestStep, daily_test, way_to

__all__ = [
    "ASK",
    "AS_IT_IS",
    "AS_IT_WAS",
    "CANNOT_TELL",
    "CLOSED",
    "COMPLAINTS",
    "HANDED_OVER",
    "HAND_OVER",
    "OPEN",
    "PROVE_AGAIN",
    "PROVING",
    "SAW_ELSE",
    "Answer",
    "Card",
    "Case",
    "CaseFile",
    "CaseFileError",
    "CaseHeadError",
    "Cause",
    "Chart",
    "Check",
    "ContradictionError",
    "Coverage",
    "Done",
    "Entry",
    "Explanation",
    "Hypothesis",
    "MachineChangedError",
    "MachineProblem",
    "NextAction",
    "Policy",
    "Problem",
    "ProblemError",
    "Repair",
    "RepairWork",
    "Result",
    "Situation",
    "TestStep",
    "ambiguity_groups",
    "chart",
    "coverage",
    "daily_test",
    "detected_fraction",
    "done_so_far",
    "explain",
    "isolated_fraction",
    "machine_problem",
    "next_actions",
    "passes_needed",
    "policy",
    "situation_after",
    "way_to",
]
