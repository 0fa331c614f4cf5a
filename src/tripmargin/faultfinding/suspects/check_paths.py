"""Checks of the protection as people know them: what is watched on the way, and what that shows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.suspects.showing import Shown
from tripmargin.faultfinding.suspects.states import MachineState
from tripmargin.machine.check_sections import CheckPath, Checks

if TYPE_CHECKING:
    from tripmargin.faultfinding.suspects.looks import Answered
    from tripmargin.faultfinding.suspects.machine_problem import MachineProblem


def path_named(checks: Checks, name: str) -> CheckPath:
    """The check path of a name."""
    return next(path for path in checks.paths if path.name == name)


def signs_in(shown: Shown, checks: Checks, state: MachineState) -> tuple[tuple[str, str, str], ...]:
    """Lamps and buzzers that can be seen or heard in a state: name, "lamp" or "buzzer", place.

    Those that are read beside the machine are left out where the engine runs.
    """
    return tuple(sign for sign in shown.signs if not state.running or sign[0] not in checks.beside)


def watched_in(
    shown: Shown, checks: Checks, path: CheckPath, state: MachineState
) -> tuple[str, ...]:
    """What is watched in a state of a check path: lamps, buzzers, movements."""
    signs = tuple(name for name, _, _ in signs_in(shown, checks, state))
    if not path.watch:
        return (*signs, "rolls")
    hidden = {name for name, _, _ in shown.signs} - set(signs)
    return tuple(name for name in path.watch if name not in hidden)


def shown_by(of: MachineProblem, path: CheckPath) -> NDArray[np.bool_]:
    """Whether a check path shows each hypothesis: something watched is not a sound machine's; (H,).

    Looks are taken as made without slips, and a fault that comes and goes as there.
    """
    found = np.zeros(len(of.hypotheses), bool)
    for number, state in _states(of, path.states):
        for column in watched_in(of.shown, of.checks, path, state):
            words = of.shown.words(number, column)
            found |= words != words[of.nothing]
    for each in of.looks:
        if each.question.subject in path.looks:
            found |= each.answers != 0
    found[-1] = False
    return found


def first_shown_by(of: MachineProblem, path: CheckPath) -> NDArray[np.intp]:
    """The step of a check path, from 0, in which each hypothesis first shows; (H,).

    The number of steps where it never does. The steps are the path's states in order, then its
    looks. Looks are taken as made without slips, and a fault that comes and goes as there.
    """
    shows = []
    for name in path.states:
        number = next(k for k, state in enumerate(of.states) if state.name == name)
        found = np.zeros(len(of.hypotheses), bool)
        for column in watched_in(of.shown, of.checks, path, of.states[number]):
            words = of.shown.words(number, column)
            found |= words != words[of.nothing]
        shows.append(found)
    shows += [look_of(of, name).answers != 0 for name in looks_of(of, path)]
    each = np.array([*shows, np.ones(len(of.hypotheses), bool)])
    return np.asarray(each.argmax(axis=0), np.intp)


def looks_of(of: MachineProblem, path: CheckPath) -> tuple[str, ...]:
    """The ids of a path's own looks that can be asked, in the file's order."""
    ids = [f"{look.state}: {look.name}" for look in of.checks.looks if look.name in path.looks]
    return tuple(name for name in ids if name in of.questions)


def look_of(of: MachineProblem, name: str) -> Answered:
    """The look of an id."""
    return next(each for each in of.looks if each.question.id == name)


def made_by(of: MachineProblem, path: CheckPath) -> NDArray[np.bool_]:
    """Whether a check path makes each of the problem's checks on its way; (checks,)."""
    watched = {
        (state.name, column)
        for _, state in _states(of, path.states)
        for column in watched_in(of.shown, of.checks, path, state)
    }
    made = [
        question.subject in path.looks
        if question.kind not in ("lamp", "buzzer", "movement")
        else (question.state, question.subject) in watched
        for question in (each.question for each in of.looks)
    ]
    return np.array([False, *made])


def _states(of: MachineProblem, names: Sequence[str]) -> list[tuple[int, MachineState]]:
    return [(k, state) for k, state in enumerate(of.states) if state.name in names]
