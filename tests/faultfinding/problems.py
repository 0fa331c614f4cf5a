"""The demo machines' fault-finding problems, and what faults show in them."""

from __future__ import annotations

from tripmargin.faultfinding.suspects.machine_problem import MachineProblem, machine_problem
from tripmargin.machine import load_machine


def problem_of(name: str) -> MachineProblem:
    """A demo machine's problem, which the tool itself remembers."""
    return machine_problem(load_machine(name))


def number(problem: MachineProblem, fault: str) -> int:
    """Number of a hypothesis."""
    return [each.id for each in problem.hypotheses].index(fault)


def found(problem: MachineProblem, fault: str) -> dict[str, str]:
    """The word that a fault gives to every question, by the question's id."""
    row = number(problem, fault)
    return {each.question.id: each.question.words[each.answers[row]] for each in problem.looks}


def unlike(problem: MachineProblem, fault: str) -> dict[str, str]:
    """The questions to which a fault gives another word than a sound machine, and its word."""
    sound = {each.question.id: each.question.sound for each in problem.looks}
    return {key: word for key, word in found(problem, fault).items() if word != sound[key]}
