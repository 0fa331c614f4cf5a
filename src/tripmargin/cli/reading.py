"""`tripmargin read`: what a recording holds; the stop time or the noise in it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.output import Output, Picture, output_options
from tripmargin.cli.progress import working
from tripmargin.cli.reading_words import print_noise, print_recording, print_stop_time

if TYPE_CHECKING:
    from tripmargin.recordings import Recording
    from tripmargin.recordings.noise import Noise
    from tripmargin.recordings.stop_time import StopTime


@click.command("read")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE")
@click.option("--stop-time", "stop", is_flag=True, help="The stop time in it, with its interval.")
@click.option("--noise", "machine", metavar="MACHINE", help="The noise of a quiet run of MACHINE.")
@click.option("--channel", metavar="CHANNEL", help="The channel, by its name or number from 1.")
@click.option("--trip", metavar="CHANNEL", help="The channel of the trip line.")
@click.option("--roll", metavar="CHANNEL", help="The channel of the roll's sensor.")
@click.option("--which", type=int, metavar="N", help="The stop, by its number, where several are.")
@click.option(
    "--moved",
    multiple=True,
    metavar="INSTANT=SECONDS",
    help='An instant put right by hand, such as "rest=1.234"; several times.',
)
@click.option("--kind", metavar="KIND", help="What the file is, such as CSV or WAV.")
@click.option("--delimiter", metavar="WORD", help="CSV: comma, semicolon, tab, space or bar.")
@click.option("--decimal", metavar="WORD", help="CSV: point or comma.")
@click.option("--thousands", metavar="WORD", help="CSV: comma, point, space, apostrophe or none.")
@click.option("--encoding", metavar="NAME", help="CSV: utf-8, utf-16, latin-1, cp1252...")
@click.option("--header", type=int, metavar="LINES", help="CSV: lines above the first numbers.")
@click.option("--time", metavar="COLUMN", help='The column of the time; "none": there is none.')
@click.option("--rate", type=float, metavar="HZ", help="Samples a second, whatever the file says.")
@click.option(
    "--unit",
    "units",
    multiple=True,
    metavar="CHANNEL=UNIT",
    help="A channel's unit; several times.",
)
@click.option("--group", type=int, metavar="N", help="MDF4: the channel group, from 1.")
@output_options
def read_file(
    file: Path,
    stop: bool,
    machine: str | None,
    channel: str | None,
    trip: str | None,
    roll: str | None,
    which: int | None,
    moved: tuple[str, ...],
    units: tuple[str, ...],
    output: Output,
    **how: Any,
) -> None:
    """Read a recording: a logger's file or sound."""
    from tripmargin.recordings.reading import read

    if stop and machine is not None:
        raise click.UsageError("Give --stop-time or --noise, not both.")
    with working("reading", quiet=output.as_json):
        recording = read(file, units=dict(_pairs("--unit", units)) or None, **how)
    if stop:
        _show_stop(recording, trip, roll, channel, which, moved, output)
    elif machine is not None:
        _show_noise(recording, machine, channel, roll, output)
    else:
        if output.save is not None:
            raise click.UsageError("--save goes with --stop-time or --noise: they have a picture.")
        output.show(recording.to_dict(), lines=lambda: print_recording(recording))


def _show_stop(
    recording: Recording,
    trip: str | None,
    roll: str | None,
    channel: str | None,
    which: int | None,
    moved: tuple[str, ...],
    output: Output,
) -> None:
    from tripmargin.recordings.stop_time import stop_time

    given: dict[str, Any] = {"trip": trip, "roll": roll, "which": which}
    if channel is not None:
        given["channels"] = (channel,)
    with working("looking for the stop", quiet=output.as_json):
        found = stop_time(recording, **{k: v for k, v in given.items() if v is not None})
    if moved:
        found = found.moved(**{name: _seconds(at) for name, at in _pairs("--moved", moved)})
    output.show(found, lines=lambda: print_stop_time(found), picture=_stop_picture(found))


def _show_noise(
    recording: Recording, machine: str, channel: str | None, roll: str | None, output: Output
) -> None:
    from tripmargin.machine import load_machine
    from tripmargin.recordings.noise import noise_of

    loaded = load_machine(machine)
    with working("measuring the noise", quiet=output.as_json):
        found = noise_of(recording, loaded, channel=channel, roll_pickup=roll)
    output.show(found, lines=lambda: print_noise(found), picture=_noise_picture(found))


def _stop_picture(found: StopTime) -> Picture:
    from tripmargin.pictures.stop_time import stop_time_picture
    from tripmargin.pictures.stop_time_data import stop_time_table

    return Picture(
        "Stop time",
        draw=lambda width, sun, us: stop_time_picture(found.file, found, width=width, sun=sun),
        table=lambda us: stop_time_table(found),
    )


def _noise_picture(found: Noise) -> Picture:
    from tripmargin.pictures.noise_orders import noise_orders_picture, noise_orders_table

    return Picture(
        f"Noise of {found.machine}",
        draw=lambda width, sun, us: noise_orders_picture(found, width=width, sun=sun),
        table=lambda us: noise_orders_table(found),
    )


def _pairs(option: str, given: tuple[str, ...]) -> list[tuple[str, str]]:
    made = []
    for each in given:
        name, equals, value = each.rpartition("=")
        if not equals or not name.strip() or not value.strip():
            raise click.UsageError(f"{option} {each}: write a name, =, and a value.")
        made.append(
            (name.strip().replace(" ", "_") if option == "--moved" else name.strip(), value.strip())
        )
    return made


def _seconds(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise click.UsageError(
            f"--moved: {text!r} is no number of seconds, such as 1.234 (a point, no comma)."
        ) from None
