"""`tripmargin drill`: find a hidden fault, and see how well it went."""

from __future__ import annotations

from datetime import datetime
from math import isclose
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.drill_beginning import any_seed, asking, begun, due_again, problem_of
from tripmargin.cli.output import json_text, machine_argument, machine_with
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin import drills
    from tripmargin.cli.drill_screen import Screen

INTERRUPTED, INPUT_ENDED = 130, 1
MOST_SEED = 10**9


def _seed(_: click.Context, __: click.Parameter, text: str | None) -> int | None:
    """A whole number, refused in words."""
    if text is None:
        return None
    said = text.strip()
    if not (said.isdecimal() and said.isascii() and int(said) <= MOST_SEED):
        raise click.BadParameter(
            say(
                "{seen} is not a whole number from 0 to {most}, such as --seed 7.",
                seen=repr(text),
                most=MOST_SEED,
            )
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
    "--would-it-stop",
    "would_it_stop",
    is_flag=True,
    help="Judge pieces of metal: missed, too late or protected? Instead of finding a fault.",
)
@click.option(
    "--questions",
    metavar="N",
    type=click.IntRange(1, 24),
    help="How many pieces to judge with --would-it-stop. Default: 8.",
)
@click.option(
    "--us",
    is_flag=True,
    help="Inches and feet: with --setting (feelers in inches) or --would-it-stop.",
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
    would_it_stop: bool,
    questions: int | None,
    us: bool,
    answers: Path | None,
    name: str,
    save: Path | None,
    again: Path | None,
    past: tuple[Path, ...],
    as_json: bool,
) -> None:
    """Practise: find a hidden fault on a machine that hurts nobody, scored against the best route.

    With --setting: set its pawls, whose true gaps are hidden. With --would-it-stop: say of pieces
    of metal what comes of them.

    One line, one move; "help" lists them. A move that is not safe is refused, and always costs.
    """
    flags = {"setting": setting or None, "stop": would_it_stop or None, "us": us or None}
    _refuse(save, again, seed=seed, answers=answers, past=past or None, count=questions, **flags)
    _refuse_ways(setting, would_it_stop, questions, us)
    if past and (setting or (seed is not None and not would_it_stop)):
        raise click.UsageError(say("--past chooses the drill: leave --seed and --setting out."))
    if again is not None:
        _replay(machine, again, as_json)
        return
    screen = _screen(answers, as_json)
    practice: drills.Drill | drills.SettingDrill | drills.WouldItStop
    if would_it_stop:
        practice = asking(machine, seed, questions, past, screen, quiet=as_json)
    elif past:
        practice = due_again(machine, past, screen, quiet=as_json)
    else:
        wanted = any_seed() if seed is None else seed
        practice = begun(machine, wanted, setting=setting, us=us, quiet=as_json)
    _play(practice, screen, us=us)
    result = practice.result(when=datetime.now().astimezone(), name=name)
    _show(result, screen, as_json)
    if save is not None:
        _keep(result, save, as_json)


def _refuse(save: Path | None, again: Path | None, **play: Any) -> None:
    """Refuse what cannot go together, before anybody has played."""
    if again is not None and (save is not None or any(v is not None for v in play.values())):
        raise click.UsageError(say("--again plays a kept result: it goes with --json only."))
    if save is None:
        return
    if save.exists():
        raise click.UsageError(
            say("--save: {path} is there already. Name another file.", path=save)
        )
    if not save.parent.is_dir():
        raise click.UsageError(say("--save: there is no folder {path}.", path=save.parent))


def _refuse_ways(setting: bool, would_it_stop: bool, questions: int | None, us: bool) -> None:
    if setting and would_it_stop:
        raise click.UsageError(
            say("--setting and --would-it-stop are two drills: take one of them.")
        )
    if questions is not None and not would_it_stop:
        raise click.UsageError(say("--questions counts the pieces of --would-it-stop: add that."))
    if us and not (setting or would_it_stop):
        raise click.UsageError(say("--us goes with --setting or --would-it-stop."))


def _screen(answers: Path | None, as_json: bool) -> Screen:
    from tripmargin.cli.drill_screen import Screen

    if answers is None:
        return Screen(aside=as_json)
    try:
        lines = answers.read_text(encoding="utf-8").splitlines()
    except UnicodeDecodeError as error:
        raise click.UsageError(
            say("--answers: {path} is not a text file in UTF-8.", path=answers)
        ) from error
    return Screen(iter(lines), aside=as_json)


def _play(
    practice: drills.Drill | drills.SettingDrill | drills.WouldItStop, screen: Screen, *, us: bool
) -> None:
    """Play to the end, or leave: then nothing is kept."""
    from tripmargin.cli.drill_setting_talk import SettingTalk, talk_setting_through
    from tripmargin.cli.drill_stop_talk import StopTalk, talk_stop_through
    from tripmargin.cli.drill_talk import Talk, talk_through
    from tripmargin.drills import Drill, WouldItStop

    code = 0
    try:
        if isinstance(practice, Drill):
            ended = talk_through(Talk(practice, screen))
        elif isinstance(practice, WouldItStop):
            ended = talk_stop_through(StopTalk(practice, screen, us))
        else:
            ended = talk_setting_through(SettingTalk(practice, screen))
        if ended:
            return
    except KeyboardInterrupt:
        code = INTERRUPTED
    except EOFError:
        code = INPUT_ENDED
    screen.write("\n" + _left(practice))
    click.get_current_context().exit(code)


def _left(practice: drills.Drill | drills.SettingDrill | drills.WouldItStop) -> str:
    from tripmargin.drills import WouldItStop

    if isinstance(practice, WouldItStop):
        return say(
            "Left before the last piece was judged: no score, and nothing is kept. Seed {seed}"
            " brings the same drill again.",
            seed=practice.seed,
        )
    return say(
        "Left before the machine was given back: no score, and nothing is kept. Seed {seed} brings"
        " the same drill again.",
        seed=practice.seed,
    )


def _show(result: drills.DrillResult, screen: Screen, as_json: bool) -> None:
    from tripmargin.cli.drill_stop_talk import stop_end_lines
    from tripmargin.cli.drill_words import end_lines
    from tripmargin.drills import WOULD_IT_STOP

    if as_json:
        click.echo(json_text(result))
    elif result.kind == WOULD_IT_STOP:
        screen.show(stop_end_lines(result))
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
    click.echo(say("Saved: {path}", path=path), err=as_json)


def _replay(machine: str, path: Path, as_json: bool) -> None:
    from tripmargin import drills
    from tripmargin.cli.drill_words import score_lines

    kept = drills.read_result(path)
    no_fault = kept.kind in drills.NO_FAULT
    on = machine_with(machine, ()) if no_fault else problem_of(machine, quiet=as_json)
    again = drills.replay(on, kept)
    score = again.score()
    same = isclose(score.points, kept.score.points, rel_tol=1e-9)
    if as_json:
        click.echo(json_text({"same_score": same, "score": score.to_dict(), "kept": kept}))
    else:
        click.echo("\n".join(score_lines(score, kept.moves, us=kept.us)))
        click.echo(say("The same score as in the file.") if same else _differs(kept))
    if not same:
        click.get_current_context().exit(2)


def _differs(kept: drills.DrillResult) -> str:
    return say(
        "NOT the score in the file, {points:.1f}: the file was changed, or another version of the"
        " program wrote it.",
        points=kept.score.points,
    )
