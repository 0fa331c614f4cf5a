"""`tripmargin reach`: what the sensor sees, and where."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.beside_reach import Beside
from tripmargin.cli.output import (
    Output,
    Picture,
    length_of,
    machine_argument,
    machine_with,
    output_options,
    quantity_of,
    what_if_option,
)
from tripmargin.cli.progress import working
from tripmargin.cli.reading_words import PRACTICALLY_NONE
from tripmargin.cli.tables import folded
from tripmargin.ground.languages import later, say

if TYPE_CHECKING:
    from tripmargin.sensing import Reach


@click.command()
@machine_argument
@click.option(
    "--speed", metavar="SPEED", help='Speed of the metal, such as "1.7 m/s"; or give --cut.'
)
@click.option(
    "--cut", metavar="LENGTH", help='Cut length, such as "9 mm". Default: the shortest on offer.'
)
@click.option(
    "--surely", metavar="SHARE", help='How surely it must be caught in noise, such as "99 %".'
)
@what_if_option
@output_options
def reach(
    machine: str,
    speed: str | None,
    cut: str | None,
    surely: str | None,
    settings: tuple[str, ...],
    output: Output,
) -> None:
    """Show the smallest ball that the sensor sees at each place and height."""
    from tripmargin import sensing

    if speed is not None and cut is not None:
        raise click.UsageError(say("Give --speed or --cut, not both."))
    loaded = machine_with(machine, settings)
    metres_a_second = (
        quantity_of(speed, "speed", "--speed")
        if speed is not None
        else _metal_speed(loaded, length_of(cut, "--cut") if cut is not None else None)
    )
    chance = quantity_of(surely, "fraction", "--surely") if surely is not None else None
    with working(say("looking at every place and height"), quiet=output.as_json):
        seen = sensing.reach(loaded, speed=metres_a_second, probability=chance)
        beside = Beside.of(loaded, seen)
    output.show(
        {**seen.to_dict(), **beside.to_dict()},
        lines=lambda: _print(seen, beside, output.us),
        picture=_picture(seen, beside),
    )


def _metal_speed(machine: Any, cut: float | None) -> float:
    """Speed of the metal at a cut length; without one, at the shortest on offer: the hardest."""
    from tripmargin.ground.errors import NotKnownError
    from tripmargin.stopping import metal_speed

    if cut is None:
        if machine.feed is None or not machine.feed.cut_lengths:
            raise NotKnownError("reach", (say("feed.cut_lengths (or --speed)"),))
        cut = machine.feed.cut_lengths[0]
    return float(metal_speed(machine, cut))


def _print(seen: Reach, beside: Beside, us: bool) -> None:
    from tripmargin.pictures.words import (
        MACHINE_NOT_PEOPLE,
        assumed_words,
        length,
        plain_number,
        speed,
    )

    click.echo(
        say(
            "{machine}: smallest ball seen at {speed}",
            machine=seen.machine_name,
            speed=speed(seen.speed, us),
        )
    )
    _print_table(seen, us)
    for blind in seen.blind:
        ball = length(seen.must_stop_diameter or 0.0, us)
        where = say(
            "from {x_low} to {x_high} across the roll",
            x_low=length(blind.x_low, us),
            x_high=length(blind.x_high, us),
        )
        if blind.x_high - blind.x_low < 1e-3:
            where = say(
                "at {length} across the roll", length=length((blind.x_low + blind.x_high) / 2, us)
            )
        height = length(blind.height, us)
        told = say(
            "A {ball} ball is not seen ({kind}): {where}, {height} high.",
            ball=ball,
            kind=say(blind.kind),
            where=where,
            height=height,
        )
        click.echo(folded(told))
    click.echo(
        say(
            "The signal at the lowest height is {times} times that at the highest.",
            times=plain_number(seen.bottom_to_top),
        )
    )
    if seen.false_trips_per_hour is not None:
        often = seen.false_trips_per_hour
        if often > PRACTICALLY_NONE:
            told = say("False trips by noise alone: {often:.2g} an hour.", often=often)
        else:
            told = say("False trips by noise alone: practically none.")
        click.echo(told)
    for line in beside.lines(us):
        click.echo(line)
    for note in (*seen.notes, assumed_words(seen.assumed), say(MACHINE_NOT_PEOPLE)):
        if note:
            click.echo(folded(note))


def _print_table(seen: Reach, us: bool) -> None:
    """A few places and heights; --save gives all of them."""
    from tripmargin.pictures.words import length, length_unit, plain_number

    name, unit = length_unit(us)
    places = _spread(len(seen.places), 7)
    heights = _spread(len(seen.heights), 6)[::-1]
    click.echo(
        "  " + say("ball, {unit}; across: place from the roll's middle; down: height", unit=name)
    )
    head = "".join(f"{plain_number(seen.places[x] / unit):>8}" for x in places)
    click.echo(f"  {'':>9}{head}")
    for h in heights:
        row = "".join(f"{plain_number(seen.smallest_ball[h, x] / unit):>8}" for x in places)
        click.echo(f"  {length(seen.heights[h], us):>9}{row}")


def _spread(count: int, most: int) -> list[int]:
    """Evenly spread indices, both ends included."""
    if count <= most:
        return list(range(count))
    return [round(i * (count - 1) / (most - 1)) for i in range(most)]


def _picture(seen: Reach, beside: Beside) -> Picture:
    def draw(width: float, sun: bool, us: bool) -> str:
        from tripmargin.pictures import reach_picture

        return reach_picture(seen, width=width, sun=sun, us=us)

    def table(us: bool) -> tuple[Any, Any]:
        from tripmargin.pictures.words import length_unit

        _, unit = length_unit(us)
        headers = _HEADERS["in" if us else "mm"]
        rows = [
            (float(height / unit), float(place / unit), _or_none(ball / unit))
            for height, line in zip(seen.heights, seen.smallest_ball, strict=True)
            for place, ball in zip(seen.places, line, strict=True)
        ]
        return headers, rows

    return Picture(
        say("Reach of {machine}", machine=seen.machine_name),
        draw,
        table,
        sections=beside.sections,
    )


_HEADERS = {
    "mm": (later("height_mm"), later("place_mm"), later("smallest_ball_mm")),
    "in": (later("height_in"), later("place_in"), later("smallest_ball_in")),
}


def _or_none(value: float) -> float | None:
    from math import isfinite

    return float(value) if isfinite(value) else None
