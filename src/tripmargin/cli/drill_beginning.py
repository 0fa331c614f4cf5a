"""Which drill `tripmargin drill` begins: by its seed, or by what is due again."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from tripmargin.cli.output import machine_with
from tripmargin.cli.progress import working
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin import drills
    from tripmargin.cli.drill_screen import Screen
    from tripmargin.faultfinding import MachineProblem


def begun(
    machine: str, seed: int, *, setting: bool, us: bool, quiet: bool
) -> drills.Drill | drills.SettingDrill:
    """A drill by its seed: a hidden fault, or hidden gaps."""
    from tripmargin import drills

    if not setting:
        return drills.drill(problem_of(machine, quiet=quiet), seed=seed)
    loaded = machine_with(machine, ())
    with working(say("hiding the gaps"), quiet=quiet):
        return drills.setting_drill(loaded, seed=seed, us=us)


def asking(
    machine: str,
    seed: int | None,
    questions: int | None,
    past: tuple[Path, ...],
    screen: Screen,
    *,
    quiet: bool,
) -> drills.WouldItStop:
    """A "would it stop?" drill; of what is due again, where there are kept results."""
    from tripmargin import drills

    loaded = machine_with(machine, ())
    about: tuple[str, ...] = ()
    if past:
        results = [drills.read_result(path) for path in past]
        about = drills.kinds_due(results, machine=loaded.name, now=datetime.now().astimezone())
        screen.write(
            say("Some of it is what you have practised before and is due again.")
            if about
            else say("Nothing is due again: a new drill.")
        )
    wanted = any_seed() if seed is None else seed
    with working(say("choosing the pieces"), quiet=quiet):
        return drills.would_it_stop(
            loaded, seed=wanted, questions=questions or drills.QUESTIONS, about=about
        )


def due_again(machine: str, past: tuple[Path, ...], screen: Screen, *, quiet: bool) -> drills.Drill:
    """A drill of the kind that is due again on this machine; any, where none is."""
    from tripmargin import drills

    results = [drills.read_result(path) for path in past]
    of = problem_of(machine, quiet=quiet)
    mine = [r for r in results if r.machine == of.machine.name and r.kind not in drills.NO_FAULT]
    due = drills.practise_next(mine, now=datetime.now().astimezone())
    if due is None:
        screen.write(say("Nothing is due again: a new drill."))
        return drills.drill(of, seed=any_seed())
    screen.write(say("A kind of fault that you have practised before is due again."))
    played = max(result.seed for result in mine if result.kind == due.kind)
    with working(say("looking for such a drill"), quiet=quiet):
        seed = drills.seed_for(of, due.kind, after=played)
    return drills.drill(of, seed=played if seed is None else seed)


def any_seed() -> int:
    """Any seed."""
    import secrets

    return secrets.randbelow(10_000)


def problem_of(machine: str, *, quiet: bool) -> MachineProblem:
    """A machine's faults, worked out."""
    from tripmargin.cli.finding import _refuse_without_wiring
    from tripmargin.faultfinding import machine_problem
    from tripmargin.faultfinding.suspects.kept_folder import keep_what_is_worked_out

    loaded = machine_with(machine, ())
    _refuse_without_wiring(loaded, machine)
    keep_what_is_worked_out()
    with working(say("reading the machine's faults"), quiet=quiet):
        return machine_problem(loaded)
