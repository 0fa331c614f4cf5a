"""`tripmargin set-threshold`: false trips against reach, and where to stand between them."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

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
from tripmargin.cli.tables import aligned, folded
from tripmargin.cli.typed_numbers import Number
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.protection import ThresholdCurve


@click.command()
@machine_argument
@click.option(
    "--cut",
    "cuts",
    metavar="LENGTH",
    multiple=True,
    help='Cut length in use, such as "9 mm"; may be given several times. Default: all on offer.',
)
@click.option(
    "--false-trips",
    "allowed",
    type=Number(0.01),
    metavar="N",
    help="False trips an hour by noise that you put up with. Default: 0.01, one in 100 hours.",
)
@what_if_option
@output_options
def set_threshold(
    machine: str,
    cuts: tuple[str, ...],
    allowed: float | None,
    settings: tuple[str, ...],
    output: Output,
) -> None:
    """Set the detector's threshold: false trips against the smallest ball seen."""
    from tripmargin import protection

    wanted = [length_of(cut, "--cut") for cut in cuts] or None
    loaded = machine_with(machine, settings)
    with working(say("looking at every threshold"), quiet=output.as_json) as progress:
        found = protection.threshold_curve(
            loaded, cut_lengths=wanted, allowed=allowed, progress=progress
        )
    output.show(found, lines=lambda: _print(found, output.us), picture=_picture(found))


def _print(found: ThresholdCurve, us: bool) -> None:
    from tripmargin.pictures.words import MACHINE_NOT_PEOPLE, assumed_words
    from tripmargin.protection.setting.threshold_words import CAUTIONS, volts

    if found.today.false_trips_high is None:
        said = say("no threshold is recommended")
    elif found.leave:
        said = say("leave the threshold at {threshold}", threshold=volts(found.today.threshold))
    elif found.recommended is not None:
        said = say(
            "set the threshold from {threshold} to {threshold2}",
            threshold=volts(found.today.threshold),
            threshold2=volts(found.recommended.threshold),
        )
    else:
        said = say(
            "no better threshold than today's {threshold}", threshold=volts(found.today.threshold)
        )
    click.secho(f"{found.machine_name}: {said}", bold=True)
    for caution in CAUTIONS:
        click.echo(folded(say(caution), "! ", "  "))
    click.echo("")
    for line in found.because_in(us):
        click.echo(folded(line))
    click.echo("")
    for line in aligned(*_points(found, us)):
        click.echo(line)
    _print_effects(found, us)
    click.echo("")
    for note in (*found.notes, assumed_words(found.assumed), say(MACHINE_NOT_PEOPLE)):
        if note:
            click.echo(folded(note))


def _points(found: ThresholdCurve, us: bool) -> tuple[tuple[str, ...], list[tuple[str, ...]]]:
    """The curve's thresholds, with today's and the recommended one among them."""
    from tripmargin.ground.units import percent
    from tripmargin.pictures.words import length
    from tripmargin.protection.setting.threshold_words import rate_words, volts

    named = [("", point) for point in found.points] + [(say("today"), found.today)]
    if found.recommended is not None:
        named.append((say("recommended"), found.recommended))
    rows: list[tuple[str, ...]] = [
        (
            volts(point.threshold),
            rate_words(point.false_trips_high),
            length(point.smallest_ball, us) if isfinite(point.smallest_ball) else say("none"),
            percent(point.seen, found.confidence),
            name,
        )
        for name, point in sorted(named, key=lambda pair: pair[1].threshold)
    ]
    ball = say("ball seen, {confidence}", confidence=percent(found.confidence))
    return (say("threshold"), say("false trips"), ball, say("piece seen"), ""), rows


def _print_effects(found: ThresholdCurve, us: bool) -> None:
    from tripmargin.ground.units import percent
    from tripmargin.pictures.words import length, said
    from tripmargin.sensing.piece_said import said_piece

    if not found.effects:
        return
    click.echo(
        "\n"
        + say(
            "Protected from the {piece}, today and as recommended:", piece=said_piece(found.piece)
        )
    )
    rows = []
    for old, new in found.effects:
        shares = ["" if v.protected is None else percent(v.protected, found.confidence)
                  for v in (old, new)]  # fmt: skip
        rows.append(
            (length(old.cut_length, us), shares[0], said(old.verdict), shares[1], said(new.verdict))
        )
    for line in aligned((say("cut"), say("today"), "", say("then"), ""), rows):
        click.echo(line)


def _picture(found: ThresholdCurve) -> Picture | None:
    from tripmargin.pictures.threshold_curve import threshold_curve_picture, threshold_curve_table
    from tripmargin.protection.setting.threshold_words import CAUTIONS

    known = [p for p in found.points if isfinite(p.smallest_ball)]
    if len(known) < 2 or any(p.false_trips_high is None for p in known):
        return None

    def draw(width: float, sun: bool, us: bool) -> str:
        return threshold_curve_picture(found, width=width, sun=sun, us=us)

    return Picture(
        say("Threshold of {machine_name}", machine_name=found.machine_name),
        draw,
        lambda _: threshold_curve_table(found),
        cautions=tuple(say(caution) for caution in CAUTIONS),
    )
