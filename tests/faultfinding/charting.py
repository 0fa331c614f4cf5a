"""A machine's problem, chart and coverage, read once for every test."""

from __future__ import annotations

from functools import lru_cache

from tests.faultfinding import problems
from tripmargin.faultfinding import Chart, Coverage, chart, coverage
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem


def problem_of(name: str = "whimbrel") -> MachineProblem:
    return problems.problem_of(name)


@lru_cache(maxsize=4)
def chart_of(name: str = "whimbrel") -> Chart:
    return chart(problem_of(name))


@lru_cache(maxsize=4)
def coverage_of(name: str = "whimbrel") -> Coverage:
    return coverage(problem_of(name))
