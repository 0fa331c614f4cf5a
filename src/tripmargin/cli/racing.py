"""`tripmargin race`: whether the stop wins against the metal."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.output import (
    Output,
    Picture,
    length_of,
    machine_argument,
    machine_with,
    output_options,
    piece_of,
    what_if_option,
)
from tripmargin.cli.progress import working
from tripmargin.cli.tables import aligned, folded

if TYPE_CHECKING:
    from tripmargin.machine import Machine
    from tripmargin.pictures import Section
    from tripmargin.protection import Race


@click.command()
@machine_argument
@click.option(
    "--cut", metavar="LENGTH", help='Cut length, such as "9 mm". Default: the longest on offer.'
)
@click.option(
    "--piece",
    metavar="PIECE",
    help='What comes, such as "20 mm ball" or "M12x40 bolt along". Without it: metal that trips'
    " above the sensor's axis.",
)
@click.option("--x", metavar="LENGTH", help="Its place across the roll, from the middle.")
@click.option("--height", metavar="LENGTH", help="Its height above the lower front roll.")
@what_if_option
@output_options
def race(
    machine: str,
    cut: str | None,
    piece: str | None,
    x: str | None,
    height: str | None,
    settings: tuple[str, ...],
    output: Output,
) -> None:
    """Race the metal against the stop: stages, travel and margin at one cut."""
    from tripmargin import protection

    if piece is None and (x is not None or height is not None):
        raise click.UsageError("--x and --height are the place of a piece: give --piece too.")
    at = {
        "x": None if x is None else length_of(x, "--x"),
        "height": None if height is None else length_of(height, "--height"),
    }
    what = None if piece is None else piece_of(piece)
    wanted = None if cut is None else length_of(cut, "--cut")
    loaded = machine_with(machine, settings)
    length = _longest_cut(loaded) if wanted is None else wanted
    with working("racing", quiet=output.as_json):
        run = protection.race(loaded, cut_length=length, piece=what, **at)
    output.show(run, lines=lambda: _print(run, output.us), picture=_picture(run))


def _longest_cut(machine: Machine) -> float:
    """The longest cut on offer: the hardest for the stop."""
    from tripmargin.ground.errors import NotKnownError

    if machine.feed is None or not machine.feed.cut_lengths:
        raise NotKnownError("the race", ("feed.cut_lengths (or --cut)",))
    return machine.feed.cut_lengths[-1]


def _print(run: Race, us: bool) -> None:
    from tripmargin.pictures.words import MACHINE_NOT_PEOPLE, assumed_words, length, speed

    piece = run.piece or "metal that trips above the sensor's axis"
    click.echo(
        f"{run.machine_name}: {piece} at a {length(run.cut_length, us)} cut,"
        f" {speed(run.metal_speed, us)}"
    )
    for line in _verdict(run, us):
        click.echo(folded(line, first="  "))
    for line in aligned(("stage", "ms", "low", "high"), _stages(run)):
        click.echo(line)
    for note in (*_sticking(run), *run.notes, assumed_words(run.assumed), MACHINE_NOT_PEOPLE):
        if note:
            click.echo(folded(note))


def _verdict(run: Race, us: bool) -> list[str]:
    """The margin and the chances; none for a piece that does not fit between the rolls."""
    from tripmargin.pictures.margins import rest_words, too_large
    from tripmargin.pictures.words import chance

    if too_large(run.notes):
        return ["No margin: this piece is too large to pass between the rolls; see below."]
    if run.margin is None:
        lines = ["Not caught with every input at its middle, so it goes through."]
    else:
        lines = [f"Margin: {rest_words(run.margin, us)}."]
    lines.append(f"Chance that it goes through: {chance(run.probability_through)}.")
    if run.piece is not None:
        lines.append(f"Chance that it is not caught: {chance(run.probability_missed)}.")
    return lines


def _stages(run: Race) -> list[tuple[str, str, str, str]]:
    from tripmargin.pictures.words import time_ms
    from tripmargin.protection.costs import stage_words

    spreads = [
        (stage_words(stage.name), stage.nominal, stage.low, stage.high) for stage in run.stages
    ]
    whole = run.stop_time
    spreads.append(("stop time", float(whole), whole.low, whole.high))
    return [(name, time_ms(n), time_ms(low), time_ms(high)) for name, n, low, high in spreads]


def _sticking(run: Race) -> list[str]:
    """Which stages may never come about, in one sentence; none where all end."""
    from tripmargin.protection.costs import stage_words

    stuck = [stage_words(stage.name) for stage in run.stages if not isfinite(stage.high)]
    if not stuck:
        return []
    surely = any(not isfinite(stage.nominal) for stage in run.stages)
    when = "With every input at its middle" if surely else "Within the limits given"
    verb = "does not" if surely else "may not"
    never = "never comes about" if surely else "may never come about"
    return [
        f"{when} a spring {verb} beat what holds against it ({', '.join(stuck)}): the stop {never},"
        " and the feed runs on."
    ]


def _picture(run: Race) -> Picture:
    def draw(width: float, sun: bool, us: bool) -> str:
        from tripmargin.pictures import race_picture

        return race_picture(run, width=width, sun=sun, us=us)

    def table(_: bool) -> tuple[Any, Any]:
        from tripmargin.pictures.words import NEVER

        def ms(time: float) -> float | str:
            return time * 1e3 if isfinite(time) else NEVER

        rows = [(s.name, ms(s.nominal), ms(s.low), ms(s.high)) for s in run.stages]
        return ("stage", "nominal_ms", "low_ms", "high_ms"), rows

    def sections(_: bool) -> tuple[Section, ...]:
        from tripmargin.pictures import Section

        notes = [*_sticking(run), *run.notes]
        return (Section("Notes", notes),) if notes else ()

    return Picture(
        f"Race to the shear bar of {run.machine_name}",
        draw,
        table,
        page_table=lambda _: (("stage", "ms", "low", "high"), _stages(run)),
        sections=sections,
    )
