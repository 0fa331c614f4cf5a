"""A kept drill played again, move by move: the score must come out the same."""

from __future__ import annotations

from tripmargin.drills.drilling import Drill, drill
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.results import DrillResult, mark_of
from tripmargin.drills.setting_drill import SETTING, SettingDrill, setting_drill
from tripmargin.drills.would_it_stop import WOULD_IT_STOP, WouldItStop, would_it_stop
from tripmargin.faultfinding import MachineProblem, machine_problem
from tripmargin.ground.languages import say, say_many
from tripmargin.machine import Machine


def replay(
    machine: Machine | MachineProblem, kept: DrillResult
) -> Drill | SettingDrill | WouldItStop:
    """Play a kept drill again on the same machine.

    Parameters
    ----------
    machine : Machine or MachineProblem
        A MachineProblem saves working the machine's faults out again.
    kept : DrillResult

    Returns
    -------
    Drill, SettingDrill or WouldItStop
        At its end; its score is what the moves are worth, whatever the file says.

    Raises
    ------
    DrillError
        If the machine is another one or its file has changed since, or if the moves cannot be
        made or do not end the drill.
    """
    own = machine.machine if isinstance(machine, MachineProblem) else machine
    assert isinstance(own, Machine)
    if own.name != kept.machine:
        raise DrillError(
            say("machine"), own.name,
            say("the drill was on {machine}", machine=kept.machine), kept.machine,
        )  # fmt: skip
    if mark_of(own) != kept.machine_mark:
        raise DrillError(
            say("machine"), own.name, say("its file has changed since the drill"),
            say("the file as it was at the drill"),
            say("With another file other faults are drawn."),
        )  # fmt: skip
    again: Drill | SettingDrill | WouldItStop
    if kept.kind == SETTING:
        again = setting_drill(own, seed=kept.seed, us=kept.us)
    elif kept.kind == WOULD_IT_STOP:
        count = len(kept.moves)
        again = would_it_stop(own, seed=kept.seed, questions=count, about=kept.about)
    else:
        of = machine if isinstance(machine, MachineProblem) else machine_problem(own)
        again = drill(of, seed=kept.seed)
    for move in kept.moves:
        again.move(move.do, move.what)
    if not again.ended:
        raise DrillError(
            say("result"), say_many("{count} move", "{count} moves", len(kept.moves)),
            say("they do not end the drill"), say("a drill that was played to its end"),
        )  # fmt: skip
    return again
