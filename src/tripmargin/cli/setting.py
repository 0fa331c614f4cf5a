"""`tripmargin set-pawls`: from measured gaps to the fewest wrench moves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.output import (
    Output,
    Picture,
    length_of,
    machine_argument,
    machine_with,
    output_options,
    what_if_option,
)
from tripmargin.cli.progress import working
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.protection import PawlSetting


@click.command()
@machine_argument
@click.option("--lower", metavar="GAP", help='Measured gap of the lower pawl, such as "6.2 mm".')
@click.option("--upper", metavar="GAP", help="Measured gap of the upper pawl.")
@click.option(
    "--gap",
    "others",
    metavar="PAWL=GAP",
    multiple=True,
    help='Measured gap of a pawl by its name in the machine file, such as --gap "drive=5.5 mm".',
)
@click.option(
    "--cut",
    "cuts",
    metavar="LENGTH",
    multiple=True,
    help='Cut length in use, such as "9 mm"; may be given several times. Default: all on offer.',
)
@click.option(
    "--feeler", metavar="STEP", help="Step from one blade to the next. Default: the file's."
)
@click.option(
    "--past",
    "past",
    metavar="SETTING",
    multiple=True,
    help='A past setting to learn from, such as "lower 6.2 mm to 3.7 mm, 1.5 turns; upper 4.1 mm'
    ' to 3.9 mm, untouched".',
)
@click.option("--from-log", is_flag=True, help="Learn from the adjustments in this machine's log.")
@click.option(
    "--to-best", "best", is_flag=True, help="Move also what is inside the window and could stay."
)
@what_if_option
@output_options
def set_pawls(
    machine: str,
    lower: str | None,
    upper: str | None,
    others: tuple[str, ...],
    cuts: tuple[str, ...],
    feeler: str | None,
    past: tuple[str, ...],
    from_log: bool,
    best: bool,
    settings: tuple[str, ...],
    output: Output,
) -> None:
    """Set the pawls: the fewest wrench moves from measured gaps to the best place.

    The order is the trade's: lower pawl first, then the upper, then the lower measured again. What
    is surely inside the window is left alone.
    """
    from tripmargin import protection
    from tripmargin.cli.setting_past import past_from_log, past_setting

    loaded = machine_with(machine, settings)
    wanted_cuts = [length_of(cut, "--cut") for cut in cuts] or None
    history = [past_setting(text) for text in past]
    if from_log:
        history += past_from_log(loaded.name, _pawls(loaded))
    with working(say("setting the pawls"), quiet=output.as_json) as progress:
        found = protection.set_pawls(
            loaded,
            gaps=_gaps(lower, upper, others),
            cut_lengths=wanted_cuts,
            feeler_step=None if feeler is None else length_of(feeler, "--feeler"),
            history=history,
            best=best,
            progress=progress,
        )
    output.show(found, lines=lambda: _print(found, output.us), picture=_picture(found))


def _pawls(machine: Any) -> tuple[str, ...]:
    return tuple(p.name for p in machine.chain.pawls) if machine.chain is not None else ()


def _gaps(lower: str | None, upper: str | None, others: tuple[str, ...]) -> dict[str, float]:
    """Gaps by pawl, m; a pawl given twice is refused."""
    made: dict[str, float] = {}
    given = [("lower", lower, "--lower"), ("upper", upper, "--upper")]
    for text in others:
        name, equals, gap = text.partition("=")
        if not equals or not name.strip() or not gap.strip():
            raise click.UsageError(
                say('--gap {text}: write PAWL=GAP, such as "drive=5.5 mm".', text=text)
            )
        given.append((name.strip(), gap.strip(), f"--gap {name.strip()}"))
    for name, said, option in given:
        if said is None:
            continue
        if name in made:
            raise click.UsageError(
                say("{option}: the {name} pawl's gap is given twice.", option=option, name=name)
            )
        made[name] = length_of(said, option)
    return made


def _print(found: PawlSetting, us: bool) -> None:
    from tripmargin.cli.setting_words import print_setting

    print_setting(found, us)


def _picture(found: PawlSetting) -> Picture:
    """The steps on paper: no curve, but the same lines and the table of effects."""
    from tripmargin.cli.setting_words import heading, step_lines
    from tripmargin.pictures.setting_words import effect_table

    def draw(width: float, sun: bool, us: bool) -> str:
        from tripmargin.pictures.drawn_table import drawn_table

        lines = [*found.steps.cautions, *found.steps.because(us), *step_lines(found, us)]
        return drawn_table(heading(found), lines, effect_table(found, us), width=width, sun=sun)

    return Picture(
        heading(found),
        draw,
        lambda us: effect_table(found, us),
        cautions=found.steps.cautions,
    )
