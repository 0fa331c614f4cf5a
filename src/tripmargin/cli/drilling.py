"""`tripmargin drill`: find a hidden fault, and see how well it went."""

from __future__ import annotations

from datetime import datetime
from math import isclose
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.output import json_text, machine_argument, machine_with
from tripmargin.cli.progress import working

if TYPE_CHECKING:
    from tripmargin import drills
    from tripmargin.cli.drill_screen import Screen
    from tripmargin.faultfinding import MachineProblem

INTERRUPTED, INPUT_ENDED = 130, 1
MOST_SEED = 10**9


def _seed(_: click.Context, __: click.Parameter, text: str | None) -> int | None:
    """A whole number, refused in words."""
    if text is None:
        return None
    said = text.strip()
    if not (said.isdecimal() and said.isascii() and int(said) <= MOST_SEED):
        raise click.BadParameter(
            f"{text!r} is not a whole number from 0 to {MOST_SEED}, such as --seed 7."
        )
    return int(said)


@click.command()
@machine_argument
@click.option(
    "--seed",
    metavar="N",
    callback=_seed,
    help="Which drill: the same number hides the same fault. Default: any, and it is said.",
)
@click.option(
    "--setting",
    is_flag=True,
    help="Set pawls with a feeler, instead of finding a fault.",
)
@click.option(
    "--answers",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    metavar="FILE",
    help="Take the moves from this file, one a line; asks nothing.",
)
@click.option("--name", default="", metavar="WHO", help="Who practises; kept with the result.")
@click.option(
    "--save",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Keep the result: moves, score, both routes (JSON).",
)
@click.option(
    "--again",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    metavar="FILE",
    help="Play a kept result again, and say whether the score is the same.",
)
@click.option(
    "--past",
    type=click.Path(path_type=Path, dir_okay=False, exists=True),
    multiple=True,
    metavar="FILE",
    help="A kept result; may be given several times. What went wrong comes again first, when due.",
)
@click.option("--json", "as_json", is_flag=True, help="The result as JSON, in SI and minutes.")
def drill(
    machine: str,
    seed: int | None,
    setting: bool,
    answers: Path | None,
    name: str,
    save: Path | None,
    again: Path | None,
    past: tuple[Path, ...],
    as_json: bool,
) -> None:
    """Practise: find a hidden fault on a machine that hurts nobody, scored against the best route.

    With --setting: set its pawls, whose true gaps are hidden.

    One line, one move; "help" lists them. A move that is not safe is refused, and always costs.
    """
    _refuse(save, again, seed=seed, answers=answers, setting=setting or None, past=past or None)
    if past and (seed is not None or setting):
        raise click.UsageError("--past chooses the drill: leave --seed and --setting out.")
    if again is not None:
        _replay(machine, again, as_json)
        return
    screen = _screen(answers, as_json)
    practice: drills.Drill | drills.SettingDrill
    if past:
        practice = _due(machine, past, screen, quiet=as_json)
    else:
        wanted = _any_seed() if seed is None else seed
        practice = _begun(machine, wanted, setting=setting, quiet=as_json)
    _play(practice, screen)
    result = practice.result(when=datetime.now().astimezone(), name=name)
    _show(result, screen, as_json)
    if save is not None:
        _keep(result, save, as_json)


def _refuse(save: Path | None, again: Path | None, **play: Any) -> None:
    """Refuse what cannot go together, before anybody has played."""
    if again is not None and (save is not None or any(v is not None for v in play.values())):
        raise click.UsageError("--again plays a kept result: it goes with --json only.")
    if save is None:
        return
    if save.exists():
        raise click.UsageError(f"--save: {save} is there already. Name another file.")
    if not save.parent.is_dir():
        raise click.UsageError(f"--save: there is no folder {save.parent}.")


def _begun(
    machine: str, seed: int, *, setting: bool, quiet: bool
) -> drills.Drill | drills.SettingDrill:
    from tripmargin import drills

    if not setting:
        return drills.drill(_problem(machine, quiet=quiet), seed=seed)
    loaded = machine_with(machine, ())
    with working("hiding the gaps", quiet=quiet):
        return drills.setting_drill(loaded, seed=seed)


def _due(machine: str, past: tuple[Path, ...], screen: Screen, *, quiet: bool) -> drills.Drill:
    """A drill of the kind that is due again on this machine; any, where none is."""
    from tripmargin import drills

    results = [drills.read_result(path) for path in past]
    of = _problem(machine, quiet=quiet)
    mine = [r for r in results if r.machine == of.machine.name and r.kind != drills.SETTING]
    due = drills.practise_next(mine, now=datetime.now().astimezone())
    if due is None:
        screen.write("Nothing is due again: a new drill.")
        return drills.drill(of, seed=_any_seed())
    screen.write("A kind of fault that you have practised before is due again.")
    played = max(result.seed for result in mine if result.kind == due.kind)
    with working("looking for such a drill", quiet=quiet):
        seed = drills.seed_for(of, due.kind, after=played)
    return drills.drill(of, seed=played if seed is None else seed)


def _any_seed() -> int:
    import secrets

    return secrets.randbelow(10_000)


def _problem(machine: str, *, quiet: bool) -> MachineProblem:
    from tripmargin.cli.finding import _refuse_without_wiring
    from tripmargin.faultfinding import machine_problem
    from tripmargin.faultfinding.suspects.kept_folder import keep_what_is_worked_out

    loaded = machine_with(machine, ())
    _refuse_without_wiring(loaded, machine)
    keep_what_is_worked_out()
    with working("reading the machine's faults", quiet=quiet):
        return machine_problem(loaded)


def _screen(answers: Path | None, as_json: bool) -> Screen:
    from tripmargin.cli.drill_screen import Screen

    if answers is None:
        return Screen(aside=as_json)
    try:
        lines = answers.read_text(encoding="utf-8").splitlines()
    except UnicodeDecodeError as error:
        raise click.UsageError(f"--answers: {answers} is not a text file in UTF-8.") from error
    return Screen(iter(lines), aside=as_json)


def _play(practice: drills.Drill | drills.SettingDrill, screen: Screen) -> None:
    """Play to the end, or leave: then nothing is kept."""
    from tripmargin.cli.drill_setting_talk import SettingTalk, talk_setting_through
    from tripmargin.cli.drill_talk import Talk, talk_through
    from tripmargin.drills import Drill

    code = 0
    try:
        if isinstance(practice, Drill):
            ended = talk_through(Talk(practice, screen))
        else:
            ended = talk_setting_through(SettingTalk(practice, screen))
        if ended:
            return
    except KeyboardInterrupt:
        code = INTERRUPTED
    except EOFError:
        code = INPUT_ENDED
    screen.write(
        "\nLeft before the machine was given back: no score, and nothing is kept."
        f" Seed {practice.seed} brings the same drill again."
    )
    click.get_current_context().exit(code)


def _show(result: drills.DrillResult, screen: Screen, as_json: bool) -> None:
    from tripmargin.cli.drill_words import end_lines

    if as_json:
        click.echo(json_text(result))
    else:
        screen.show(end_lines(result))


def _keep(result: drills.DrillResult, path: Path, as_json: bool) -> None:
    from tripmargin.pictures.save import write_whole

    text = json_text(result) + "\n"
    try:
        write_whole(path, text.encode())
    except OSError:
        click.echo(text)  # what was played is not lost, even where it cannot be written
        raise
    click.echo(f"Saved: {path}", err=as_json)


def _replay(machine: str, path: Path, as_json: bool) -> None:
    from tripmargin import drills
    from tripmargin.cli.drill_words import score_lines

    kept = drills.read_result(path)
    setting = kept.kind == drills.SETTING
    on = machine_with(machine, ()) if setting else _problem(machine, quiet=as_json)
    again = drills.replay(on, kept)
    score = again.score()
    same = isclose(score.points, kept.score.points, rel_tol=1e-9)
    if as_json:
        click.echo(json_text({"same_score": same, "score": score.to_dict(), "kept": kept}))
    else:
        click.echo("\n".join(score_lines(score)))
        click.echo("The same score as in the file." if same else _differs(kept))
    if not same:
        click.get_current_context().exit(2)


def _differs(kept: drills.DrillResult) -> str:
    return (
        f"NOT the score in the file, {kept.score.points:.1f}: the file was changed, or another"
        " version of the program wrote it."
    )
