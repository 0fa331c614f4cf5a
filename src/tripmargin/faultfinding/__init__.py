"""Fault finding: hypotheses, checks, beliefs, and the cheapest next action."""

from tripmargin.faultfinding.cases.cards import Answer, Card
from tripmargin.faultfinding.cases.case import CLOSED, HANDED_OVER, OPEN, PROVING, Case
from tripmargin.faultfinding.cases.case_file import CaseFile
from tripmargin.faultfinding.cases.case_lines import CaseFileError, CaseHeadError, Entry
from tripmargin.faultfinding.cases.machine_beside import MachineBesideError
from tripmargin.faultfinding.cases.proving import passes_needed
from tripmargin.faultfinding.cases.resuming import AS_IT_IS, AS_IT_WAS, MachineChangedError
from tripmargin.faultfinding.cases.so_far import Done, done_so_far
from tripmargin.faultfinding.cases.ways import TestStep, daily_test, way_to
from tripmargin.faultfinding.charts.alike import Alike, alike
from tripmargin.faultfinding.charts.chart import chart
from tripmargin.faultfinding.charts.chart_steps import Chart
from tripmargin.faultfinding.charts.coverage import coverage
from tripmargin.faultfinding.charts.covered import Coverage
from tripmargin.faultfinding.charts.fmea import Fmea, fmea
from tripmargin.faultfinding.charts.isolability import (
    ambiguity_groups,
    detected_fraction,
    isolated_fraction,
)
from tripmargin.faultfinding.deciding.beliefs import Situation, situation_after
from tripmargin.faultfinding.deciding.policy import Policy, explain, next_actions, policy
from tripmargin.faultfinding.deciding.problem import Check, Problem, Repair
from tripmargin.faultfinding.deciding.ranking import NextAction, Result
from tripmargin.faultfinding.deciding.reasons import Explanation
from tripmargin.faultfinding.deciding.troubles import ContradictionError, ProblemError
from tripmargin.faultfinding.rehearsals.rehearsing import Rehearsal, Rehearser
from tripmargin.faultfinding.suspects.cause import Cause
from tripmargin.faultfinding.suspects.complaints import COMPLAINTS
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.faultfinding.suspects.machine_problem import (
    ASK,
    CANNOT_TELL,
    SAW_ELSE,
    MachineProblem,
    machine_problem,
)
from tripmargin.faultfinding.suspects.repairs import HAND_OVER, PROVE_AGAIN, RepairWork

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
    "Alike",
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
    "Fmea",
    "Hypothesis",
    "MachineBesideError",
    "MachineChangedError",
    "MachineProblem",
    "NextAction",
    "Policy",
    "Problem",
    "ProblemError",
    "Rehearsal",
    "Rehearser",
    "Repair",
    "RepairWork",
    "Result",
    "Situation",
    "TestStep",
    "alike",
    "ambiguity_groups",
    "chart",
    "coverage",
    "daily_test",
    "detected_fraction",
    "done_so_far",
    "explain",
    "fmea",
    "isolated_fraction",
    "machine_problem",
    "next_actions",
    "passes_needed",
    "policy",
    "situation_after",
    "way_to",
]
