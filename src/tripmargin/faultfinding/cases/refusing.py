"""What a case refuses to record, said so that a person can go on."""

from __future__ import annotations

from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.faultfinding.suspects.machine_problem import ASK
from tripmargin.ground.languages import say


def has_ended(status: str) -> ProblemError:
    """Nothing more can be recorded in a case that has ended."""
    return ProblemError(
        "case",
        status,
        say("the case has ended"),
        say("an open case"),
        say("Take the last entry back, or begin another case."),
    )


def again(check: str, finding: object) -> ProblemError:
    """A look is made once after each repair: the same slip would come again."""
    if check == ASK:
        problem, allowed = say("asked already"), say("once in a case")
    else:
        problem, allowed = say("looked at already"), say("each look once after each repair")
    return ProblemError(
        check,
        finding,
        problem,
        allowed,
        say("The same slip would come again. To change an answer, take it back first."),
    )
