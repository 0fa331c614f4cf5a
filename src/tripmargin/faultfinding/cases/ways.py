"""The way into a state from where the machine stands, and the daily test step by step."""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.faultfinding.deciding.beliefs import Situation
from tripmargin.faultfinding.suspects.check_paths import looks_of, path_named, watched_in
from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.faultfinding.suspects.looks import MOVING
from tripmargin.faultfinding.suspects.machine_problem import MachineProblem
from tripmargin.faultfinding.suspects.states import chain_to, onward
from tripmargin.ground.languages import say
from tripmargin.ground.languages.own_words import as_written

OFF = ("off", "silent", "")


@dataclass(frozen=True, slots=True)
class TestStep:
    """One step of the daily test: what is done, what a sound machine shows then."""

    __test__ = False  # no test of pytest's

    do: str
    shows: tuple[str, ...]
    """Such as "trip latched on"; lamps that are off and silent buzzers are left out."""
    running: bool
    """Whether the engine runs."""


def way_to(of: MachineProblem, situation: Situation, state: str) -> tuple[str, ...]:
    """What is left to do until the machine is in a state; empty where it stands there already.

    From a state on the way only the rest of the way is left; from any other one the machine goes
    back to rest first, as `states.moves` counts it.
    """
    at = of.problem.states[situation.state]
    way = next(each.way for each in of.states if each.name == state)
    names = [each.name for each in chain_to(of.checks, state)]
    return way[names.index(at) + 1 :] if at in names else way


def daily_test(of: MachineProblem) -> tuple[TestStep, ...]:
    """The daily test of a machine's file, step by step, with what a sound machine shows."""
    path = path_named(of.checks, of.checks.daily)
    names = [state.name for state in of.states]
    steps: list[TestStep] = []
    for name, do in zip(path.states, onward(of.checks, of.states, path.states), strict=True):
        number = names.index(name)
        watched = watched_in(of.shown, of.checks, path, of.states[number])
        words = [(each, str(of.shown.words(number, each)[of.nothing])) for each in watched]
        shows = tuple(_shown(each, word) for each, word in words if word not in OFF)
        steps.append(TestStep(do, shows, of.states[number].running))
    for name in looks_of(of, path):
        question = of.questions[name]
        running = of.states[names.index(question.state)].running
        steps.append(TestStep(question.do, (question.said(question.sound),), running))
    return tuple(steps)


def _shown(subject: str, word: str) -> str:
    """What shows, such as "trip latched on"."""
    named = say(MOVING[subject]) if subject in MOVING else as_written(subject)
    return say("{subject} {word}", subject=named, word=word_said(word, subject))
