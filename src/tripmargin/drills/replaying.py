"""A kept drill played again, move by move: the score must come out the same."""

from __future__ import annotations

from tripmargin.drills.drilling import Drill, drill
from tripmargin.drills.refusals import DrillError
from tripmargin.drills.results import DrillResult, mark_of
from tripmargin.drills.setting_drill import SETTING, SettingDrill, setting_drill
from tripmargin.faultfinding import MachineProblem, machine_problem
from tripmargin.machine import Machine


def replay(machine: Machine | MachineProblem, kept: DrillResult) -> Drill | SettingDrill:
    """Play a kept drill again on the same machine.

    Parameters
    ----------
    machine : Machine or MachineProblem
        A MachineProblem saves working the machine's faults out again.
    kept : DrillResult

    Returns
    -------
    Drill or SettingDrill
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
        raise DrillError("machine", own.name, f"the drill was on {kept.machine}", kept.machine)
    if mark_of(own) != kept.machine_mark:
        raise DrillError(
            "machine", own.name, "its file has changed since the drill",
            "the file as it was at the drill", "With another file other faults are drawn.",
        )  # fmt: skip
    again: Drill | SettingDrill
    if kept.kind == SETTING:
        again = setting_drill(own, seed=kept.seed)
    else:
        of = machine if isinstance(machine, MachineProblem) else machine_problem(own)
        again = drill(of, seed=kept.seed)
    for move in kept.moves:
        again.move(move.do, move.what)
    if not again.ended:
        raise DrillError(
            "result", f"{len(kept.moves)} moves", "they do not end the drill",
            "a drill that was declared mended or handed over",
        )  # fmt: skip
    return again
