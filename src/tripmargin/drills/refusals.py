"""What a drill refuses: what cannot be done at all, and what nobody may do.

A move that cannot be done (an unknown name, a look that belongs to another state) is told and costs
nothing. A move that is not safe is refused too, and costs: see `scoring`.
"""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.drills.told import Told, cautions_told, told
from tripmargin.faultfinding import MachineProblem
from tripmargin.faultfinding.cases.cards import seen_from_the_seat
from tripmargin.faultfinding.cases.cautions import AT_REST, LIVE
from tripmargin.faultfinding.suspects.looks import Question
from tripmargin.faultfinding.suspects.states import MachineState
from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written

UNPROVED = later(
    "A machine goes back to work only after its daily test has passed: until then nobody knows"
    " whether the protection works."
)


class DrillError(TripmarginError, ValueError):
    """A move or a file that cannot be: `.what`, `.value`, `.problem`, `.allowed`, `.hint`."""

    def __init__(self, what: str, value: str, problem: str, allowed: str, hint: str = "") -> None:
        self.what, self.value, self.problem = what, value, problem
        self.allowed, self.hint = allowed, hint
        text = say(
            "{what} = {value!r}: {problem}.\n  Allowed: {allowed}.",
            what=what, value=value, problem=problem, allowed=allowed,
        )  # fmt: skip
        super().__init__(f"{text}\n  {hint}" if hint else text)


@dataclass(frozen=True, slots=True)
class Unsafe:
    """A move that was refused because it is not safe.

    `why` says what is wrong with it here, `caution` what it breaks, in the words of the cards.
    """

    why: Told
    caution: Told


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
        return Unsafe(told(lambda: _elsewhere(here, there)), cautions_told(AT_REST))
    if here.running:
        return Unsafe(told(lambda: _elsewhere(here, there)), cautions_told(LIVE))
    return None


def unsafe_mend(of: MachineProblem, at: int) -> Unsafe | None:
    """What is not safe about mending with the machine in state number `at`."""
    here = of.states[at]
    if not (here.live or here.running):
        return None
    return Unsafe(told(lambda: _not_at_rest(here)), cautions_told(AT_REST))


def unsafe_declaring(tested: bool | None) -> Unsafe | None:
    """What is not safe about giving the machine back: `tested` is None where no test was made."""
    if tested:
        return None
    if tested is None:
        return Unsafe(told(lambda: say("No daily test was made since.")), cautions_told([UNPROVED]))
    return Unsafe(told(lambda: say("The daily test failed.")), cautions_told([UNPROVED]))


def _elsewhere(here: MachineState, there: MachineState) -> str:
    names = {"state": as_written(here.name), "other": as_written(there.name)}
    if here.running:
        return say(
            'The machine is in "{state}": the engine runs. This look belongs to "{other}".', **names
        )
    return say('The machine is in "{state}": the key is on. This look belongs to "{other}".',
               **names)  # fmt: skip


def _not_at_rest(here: MachineState) -> str:
    name = as_written(here.name)
    if here.running:
        return say(
            'The machine is in "{state}": the engine runs. Nothing is mended on it so.', state=name
        )
    return say('The machine is in "{state}": the key is on. Nothing is mended on it so.',
               state=name)  # fmt: skip
