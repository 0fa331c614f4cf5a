"""What a drill refuses: what cannot be done at all, and what nobody may do.

A move that cannot be done (an unknown name, a look that belongs to another state) is told and costs
nothing. A move that is not safe is refused too, and costs: see `scoring`.
"""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.faultfinding import MachineProblem
from tripmargin.faultfinding.cases.cards import seen_from_the_seat
from tripmargin.faultfinding.cases.cautions import AT_REST, LIVE
from tripmargin.faultfinding.suspects.looks import Question
from tripmargin.ground.errors import TripmarginError

UNPROVED = (
    "A machine goes back to work only after its daily test has passed: until then nobody knows"
    " whether the protection works."
)


class DrillError(TripmarginError, ValueError):
    """A move or a file that cannot be: `.what`, `.value`, `.problem`, `.allowed`, `.hint`."""

    def __init__(self, what: str, value: str, problem: str, allowed: str, hint: str = "") -> None:
        self.what, self.value, self.problem = what, value, problem
        self.allowed, self.hint = allowed, hint
        text = f"{what} = {value!r}: {problem}.\n  Allowed: {allowed}."
        super().__init__(f"{text}\n  {hint}" if hint else text)


@dataclass(frozen=True, slots=True)
class Unsafe:
    """A move that was refused because it is not safe.

    `why` says what is wrong with it here, `caution` what it breaks, in the words of the cards.
    """

    why: str
    caution: str


def unsafe_look(of: MachineProblem, question: Question, at: int) -> Unsafe | None:
    """What is not safe about a look with the machine in state number `at`; None where nothing is.

    Lamps and buzzers that are seen from the seat bring nobody near. Everything else is done beside
    the machine: it must be as much at rest as the look's own state.
    """
    here = of.states[at]
    there = next(each for each in of.states if each.name == question.state)
    if seen_from_the_seat(of, question) or there.running:
        return None
    if not there.live and (here.live or here.running):
        return Unsafe(f'{_stands(of, at)} This look belongs to "{there.name}".', _all(AT_REST))
    if here.running:
        return Unsafe(f'{_stands(of, at)} This look belongs to "{there.name}".', _all(LIVE))
    return None


def unsafe_mend(of: MachineProblem, at: int) -> Unsafe | None:
    """What is not safe about mending with the machine in state number `at`."""
    here = of.states[at]
    if not (here.live or here.running):
        return None
    return Unsafe(f"{_stands(of, at)} Nothing is mended on it so.", _all(AT_REST))


def unsafe_declaring(tested: bool | None) -> Unsafe | None:
    """What is not safe about giving the machine back: `tested` is None where no test was made."""
    if tested:
        return None
    why = "No daily test was made since." if tested is None else "The daily test failed."
    return Unsafe(why, UNPROVED)


def _stands(of: MachineProblem, at: int) -> str:
    here = of.states[at]
    how = "the engine runs" if here.running else "the key is on"
    return f'The machine is in "{here.name}": {how}.'


def _all(cautions: tuple[str, ...]) -> str:
    return " ".join(cautions)
