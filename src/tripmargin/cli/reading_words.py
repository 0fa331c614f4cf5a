"""A recording, a stop time and noise in words, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from tripmargin.cli.reading_options import in_options, option_of
from tripmargin.cli.tables import aligned, folded
from tripmargin.ground.units import percent, shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tripmargin.ground.results import Spread
    from tripmargin.recordings import Guess, Recording, Trouble
    from tripmargin.recordings.noise import Noise
    from tripmargin.recordings.stop_time import StopTime


def print_recording(recording: Recording) -> None:
    """What the file holds, what was guessed, what was noticed."""
    click.secho(f"{recording.path.name}: {recording.kind}, {recording.size:,} bytes", bold=True)
    rate = "uneven times" if recording.rate is None else f"{recording.rate:g} samples a second"
    click.echo(f"{recording.samples:,} samples over {recording.duration:.4g} s; {rate}.")
    rows = [
        (str(number), channel.name, channel.unit or "none said")
        for number, channel in enumerate(recording.channels, start=1)
    ]
    for line in aligned(("channel", "name", "unit"), rows):
        click.echo(line)
    _print_guesses(recording.guesses)
    _print_troubles(recording.troubles)
    click.echo(folded(f"SHA-256 of the file, which stays as it is: {recording.sha256}"))


def print_stop_time(found: StopTime) -> None:
    """The stop time, the instants it stands on, and what was taken for granted."""
    if found.clear:
        click.secho(f"Stop time: {_ms(found.value)}", bold=True)
    else:
        click.secho("No stop time: it is not clear that this is a stop.", bold=True)
        click.echo(f"If it is one, it took {_ms(found.value)}.")
    click.echo(f"95 %: {_ms(found.low)} to {_ms(found.high)}; from {found.source}.")
    rows = [
        (one.name, f"{one.time:.4f} s", f"{one.low:.4f} to {one.high:.4f} s", one.how)
        for one in found.instants
    ]
    for line in aligned(("instant", "at", "95 %", "how found"), rows):
        click.echo(line)
    if len(found.events) > 1:
        click.echo("\nStops in this file; --which N takes another:")
        for event in found.events:
            click.echo(
                f"  {event.number}: at {event.at:.2f} s, {_ms(event.value)},"
                f" 95 %: {_ms(event.low)} to {_ms(event.high)}"
            )
    _print_troubles(found.troubles)
    if found.assumed:
        click.echo("\nAssumed:")
        for line in found.assumed:
            click.echo(folded(in_options(line), first="  - "))


def print_noise(found: Noise) -> None:
    """The floor, what turns with the roll, and the false trips that follow."""
    click.secho(f"Noise of {found.machine}, {found.channel}: {_volts(found.total)} rms", bold=True)
    click.echo(f"Floor, what does not turn with the roll: {_volts(found.floor)} rms")
    if found.share is not None:
        click.echo(f"What turns with the roll: {_volts(found.synchronous)} rms,")
        click.echo(f"  {_share(found.share)} of the power, over {found.turns} turns")
        rows = [(f"{one.number}", _volts(one.amplitude)) for one in found.orders if one.sure]
        for line in aligned(("a turn", "amplitude"), rows):
            click.echo(line)
    for what, rate in (
        ("False trips an hour, now", found.false_trips_per_hour),
        ("With a roll that is neither magnetised nor bent", found.cured_per_hour),
    ):
        if rate is not None:
            click.echo(f"{what}: {rate:.2g}, 95 %: {rate.low:.2g} to {rate.high:.2g}")
    click.echo(f"The record itself passed the threshold {found.crossings_seen} times.")
    click.echo("\nFor the machine file:")
    for path, text in found.fields.items():
        click.echo(f'  {path} = "{text}"')
    _print_guesses(found.guesses)
    _print_troubles(found.troubles)


def _print_guesses(guesses: Sequence[Guess]) -> None:
    if not guesses:
        return
    click.echo("\nGuessed; an option says otherwise:")
    for one in guesses:
        click.echo(
            folded(
                f"{one.what}: {one.value}. {one.because} ({option_of(one.override)})",
                first="  - ",
            )
        )


def _print_troubles(troubles: Sequence[Trouble]) -> None:
    if troubles:
        click.echo("\nNoticed:")
        for one in troubles:
            click.echo(folded(in_options(one.words), first="  - "))


def _ms(seconds: float) -> str:
    return f"{1e3 * seconds:.1f} ms"


def _volts(value: Spread) -> str:
    low, middle, high = (shown(float(v), "voltage") for v in (value.low, value, value.high))
    return f"{middle} ({low} to {high})"


def _share(value: Spread) -> str:
    return f"{percent(float(value))} ({percent(value.low)} to {percent(value.high)})"
