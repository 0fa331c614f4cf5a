"""`tripmargin race`: whether the stop wins against the metal."""

from __future__ import annotations

from dataclasses import replace
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
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.phrases import Phrase

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
    help='What comes, such as "20 mm ball" or "M12x40 bolt along". Default: the machine file\'s'
    " must_stop, where the sensor is known.",
)
@click.option("--x", metavar="LENGTH", help="Its place across the roll, from the middle.")
@click.option("--height", metavar="LENGTH", help="Its height above the lower front roll.")
@click.option(
    "--from-axis",
    "from_axis",
    is_flag=True,
    help="Race metal that trips only above the sensor's axis, whatever the sensor sees.",
)
@what_if_option
@output_options
def race(
    machine: str,
    cut: str | None,
    piece: str | None,
    x: str | None,
    height: str | None,
    from_axis: bool,
    settings: tuple[str, ...],
    output: Output,
) -> None:
    """Race the metal against the stop: stages, travel and margin at one cut."""
    if from_axis and (piece, x, height) != (None, None, None):
        raise click.UsageError(
            say("--from-axis is without a piece: leave --piece, --x, --height out.")
        )
    at = {
        "x": None if x is None else length_of(x, "--x"),
        "height": None if height is None else length_of(height, "--height"),
    }
    what = None if piece is None else piece_of(piece)
    wanted = None if cut is None else length_of(cut, "--cut")
    loaded = machine_with(machine, settings)
    length = _longest_cut(loaded) if wanted is None else wanted
    with working(say("racing"), quiet=output.as_json):
        run, axis = _races(loaded, length, what, at, from_axis=from_axis)
    output.show(
        {**run.to_dict(), "margin_from_axis_m": axis.margin},
        lines=lambda: _print(run, axis, output.us),
        picture=_picture(run, axis),
    )


def _races(
    machine: Machine, cut: float, piece: Any, at: dict[str, float | None], *, from_axis: bool
) -> tuple[Race, Race]:
    """The race asked for, and that of metal which trips only above the sensor's axis."""
    from tripmargin import protection
    from tripmargin.ground.errors import NotKnownError
    from tripmargin.sensing import Piece

    axis = protection.race(machine, cut_length=cut)
    if from_axis:
        return axis, axis
    asked = piece is not None or any(place is not None for place in at.values())
    what = Piece.from_text(machine.limits.must_stop) if piece is None else piece
    try:
        return protection.race(machine, cut_length=cut, piece=what, **at), axis
    except NotKnownError as error:
        if asked:
            raise
        return replace(axis, remarks=(_unseen(machine, error.needs), *axis.remarks)), axis


def _unseen(machine: Machine, missing: tuple[str, ...]) -> Phrase:
    from tripmargin.sensing.piece_said import said_piece

    return Phrase(
        later(
            "What the sensor sees is not known without {missing}: this is not the"
            " {must_stop}, but metal that trips above the sensor's axis."
        ),
        {"missing": ", ".join(missing), "must_stop": said_piece(machine.limits.must_stop)},
    )


def _longest_cut(machine: Machine) -> float:
    """The longest cut on offer: the hardest for the stop."""
    from tripmargin.ground.errors import NotKnownError

    if machine.feed is None or not machine.feed.cut_lengths:
        raise NotKnownError(say("the race"), (say("feed.cut_lengths (or --cut)"),))
    return machine.feed.cut_lengths[-1]


def _print(run: Race, axis: Race, us: bool) -> None:
    from tripmargin.pictures.answers import place_words
    from tripmargin.pictures.words import MACHINE_NOT_PEOPLE, assumed_words, length, speed
    from tripmargin.sensing.piece_said import said_piece

    piece = said_piece(run.piece) if run.piece else say("metal that trips above the sensor's axis")
    click.echo(
        folded(
            say(
                "{machine_name}: {piece} at a {cut_length} cut, {metal_speed}",
                machine_name=run.machine_name,
                piece=piece,
                cut_length=length(run.cut_length, us),
                metal_speed=speed(run.metal_speed, us),
            )
        )
    )
    if run.piece is not None:
        click.echo("  " + say("Place: {place} above the roll.", place=place_words(run, us)))
    for line in (*_verdict(run, us), *_from_axis(run, axis, us)):
        click.echo(folded(line, first="  "))
    for line in aligned(_heads(), _stages(run)):
        click.echo(line)
    click.echo(folded(say(_LIMITS), first="  "))
    for note in (*_sticking(run), *run.notes, assumed_words(run.assumed), say(MACHINE_NOT_PEOPLE)):
        if note:
            click.echo(folded(note))


def _verdict(run: Race, us: bool) -> list[str]:
    """The margin and the chances; none for a piece that does not fit between the rolls."""
    from tripmargin.pictures.margins import rest_words, too_large
    from tripmargin.pictures.words import chance

    if too_large(run.notes):
        return [say("No margin: this piece is too large to pass between the rolls; see below.")]
    if run.margin is None:
        lines = [say("Not caught with every input at its middle, so it goes through.")]
    else:
        lines = [say("Margin: {margin}.", margin=rest_words(run.margin, us))]
    lines.append(
        say(
            "Chance that it goes through: {chance}.",
            chance=chance(run.probability_through),
        )
    )
    if run.piece is not None:
        lines.append(
            say(
                "Chance that it is not caught: {chance}.",
                chance=chance(run.probability_missed),
            )
        )
    return lines


_LIMITS = later(
    "Low and high: with every input within its limits, or within two standard deviations"
    " where the file says (sd)."
)


def _from_axis(run: Race, axis: Race, us: bool) -> list[str]:
    """What would become of a piece that tripped only above the sensor's axis; none without one."""
    from tripmargin.pictures.margins import rest_words, too_large

    if run.piece is None or axis.margin is None or too_large(run.notes):
        return []
    return [
        say(
            "Tripped only above the sensor's axis, it {margin}.",
            margin=rest_words(axis.margin, us, would=True),
        )
    ]


def _heads() -> tuple[str, str, str, str]:
    return say("stage"), "ms", say("low"), say("high")


def _stages(run: Race) -> list[tuple[str, str, str, str]]:
    from tripmargin.pictures.words import time_ms
    from tripmargin.protection.costs import stage_words

    spreads = [
        (stage_words(stage.name), stage.nominal, stage.low, stage.high) for stage in run.stages
    ]
    whole = run.stop_time
    spreads.append((say("stop time"), float(whole), whole.low, whole.high))
    return [(name, time_ms(n), time_ms(low), time_ms(high)) for name, n, low, high in spreads]


def _sticking(run: Race) -> list[str]:
    """Which stages may never come about, in one sentence; none where all end."""
    from tripmargin.protection.costs import stage_words

    stuck = [stage_words(stage.name) for stage in run.stages if not isfinite(stage.high)]
    if not stuck:
        return []
    stages = ", ".join(stuck)
    if any(not isfinite(stage.nominal) for stage in run.stages):
        return [
            say(
                "With every input at its middle a spring does not beat what holds against it"
                " ({stages}): the stop never comes about, and the feed runs on.",
                stages=stages,
            )
        ]
    return [
        say(
            "Within the limits given a spring may not beat what holds against it ({stages}): the"
            " stop may never come about, and the feed runs on.",
            stages=stages,
        )
    ]


def _picture(run: Race, axis: Race) -> Picture:
    def draw(width: float, sun: bool, us: bool) -> str:
        from tripmargin.pictures import race_picture

        return race_picture(run, width=width, sun=sun, us=us)

    def table(_: bool) -> tuple[Any, Any]:
        from tripmargin.pictures.words import NEVER

        def ms(time: float) -> float | str:
            return time * 1e3 if isfinite(time) else NEVER

        rows = [(s.name, ms(s.nominal), ms(s.low), ms(s.high)) for s in run.stages]
        return ("stage", "nominal_ms", "low_ms", "high_ms"), rows

    def sections(us: bool) -> tuple[Section, ...]:
        from tripmargin.pictures import Section

        return (
            Section(
                say("Notes"),
                [say(_LIMITS), *_from_axis(run, axis, us), *_sticking(run), *run.notes],
            ),
        )

    return Picture(
        say("Race to the shear bar of {machine_name}", machine_name=run.machine_name),
        draw,
        table,
        page_table=lambda _: (_heads(), _stages(run)),
        sections=sections,
    )
