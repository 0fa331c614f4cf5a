"""A recording, a stop time and noise in words, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from tripmargin.cli.reading_options import in_options, option_of
from tripmargin.cli.tables import aligned, folded
from tripmargin.ground.languages import numeral, say
from tripmargin.ground.units import percent, shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tripmargin.ground.results import Spread
    from tripmargin.recordings import Guess, Recording, Trouble
    from tripmargin.recordings.noise import Noise
    from tripmargin.recordings.stop_time import StopTime


PRACTICALLY_NONE = 1e-6  # an hour: less than one in a century


def print_recording(recording: Recording) -> None:
    """What the file holds, what was guessed, what was noticed."""
    click.secho(
        say(
            "{name}: {kind}, {size:,} bytes",
            name=recording.path.name,
            kind=recording.kind,
            size=recording.size,
        ),
        bold=True,
    )
    rate = (
        say("uneven times")
        if recording.rate is None
        else say("{rate:g} samples a second", rate=recording.rate)
    )
    click.echo(
        say(
            "{samples:,} samples over {duration:.4g} s; {rate}.",
            samples=recording.samples,
            duration=recording.duration,
            rate=rate,
        )
    )
    rows = [
        (str(number), channel.name, channel.unit or say("none said"))
        for number, channel in enumerate(recording.channels, start=1)
    ]
    for line in aligned((say("channel"), say("name"), say("unit")), rows):
        click.echo(line)
    _print_guesses(recording.guesses)
    _print_troubles(recording.troubles)
    click.echo(
        folded(say("SHA-256 of the file, which stays as it is: {sha256}", sha256=recording.sha256))
    )


def print_stop_time(found: StopTime) -> None:
    """The stop time, the instants it stands on, and what was taken for granted."""
    if found.clear:
        click.secho(say("Stop time: {value}", value=_ms(found.value)), bold=True)
    else:
        click.secho(say("No stop time: it is not clear that this is a stop."), bold=True)
        click.echo(say("If it is one, it took {value}.", value=_ms(found.value)))
    click.echo(
        say(
            "95 %: {low} to {high}; from {source}.",
            low=_ms(found.low),
            high=_ms(found.high),
            source=found.source_said,
        )
    )
    rows = [
        (
            one.said,
            f"{numeral(one.time, '.4f')} s",
            say("{low:.4f} to {high:.4f} s", low=one.low, high=one.high),
        )
        for one in found.instants
    ]
    head, *lines = aligned((say("instant, and how it was found"), say("at"), "95 %"), rows)
    click.echo(head)
    for line, one in zip(lines, found.instants, strict=True):
        click.echo(line)
        click.echo(folded(one.how, first="    "))
    if len(found.events) > 1:
        click.echo("\n" + say("Stops in this file; --which N takes another:"))
        for event in found.events:
            click.echo(
                "  "
                + say(
                    "{number}: at {at:.2f} s, {value}, 95 %: {low} to {high}",
                    number=event.number,
                    at=event.at,
                    value=_ms(event.value),
                    low=_ms(event.low),
                    high=_ms(event.high),
                )
            )
    _print_troubles(found.troubles)
    if found.assumed:
        click.echo("\n" + say("Assumed:"))
        for line in found.assumed:
            click.echo(folded(in_options(line), first="  - "))


def print_noise(found: Noise) -> None:
    """The floor, what turns with the roll, and the false trips that follow."""
    click.secho(
        say(
            "Noise of {machine}, {channel}: {total} rms",
            machine=found.machine,
            channel=found.channel,
            total=_volts(found.total),
        ),
        bold=True,
    )
    click.echo(
        say("Floor, what does not turn with the roll: {floor} rms", floor=_volts(found.floor))
    )
    if found.share is not None:
        click.echo(say("What turns with the roll: {volts} rms,", volts=_volts(found.synchronous)))
        click.echo(
            "  "
            + say(
                "{share} of the power, over {turns} turns",
                share=_share(found.share),
                turns=found.turns,
            )
        )
        rows = [(f"{one.number}", _volts(one.amplitude)) for one in found.orders if one.sure]
        for line in aligned((say("times a turn"), say("amplitude")), rows):
            click.echo(line)
    for what, rate in (
        (say("False trips an hour, now"), found.false_trips_per_hour),
        (say("With a roll that is neither magnetised nor bent"), found.cured_per_hour),
    ):
        if rate is not None and rate.high < PRACTICALLY_NONE:
            click.echo(say("{what}: practically none", what=what))
        elif rate is not None:
            click.echo(
                say(
                    "{what}: {rate:.2g}, 95 %: {low:.2g} to {high:.2g}",
                    what=what,
                    rate=rate,
                    low=rate.low,
                    high=rate.high,
                )
            )
    click.echo(
        say("The record itself passed the threshold {times} times.", times=found.crossings_seen)
    )
    click.echo("\n" + say("For the machine file:"))
    for path, text in found.fields.items():
        click.echo(f'  {path} = "{text}"')
    _print_guesses(found.guesses)
    _print_troubles(found.troubles)


def _print_guesses(guesses: Sequence[Guess]) -> None:
    if not guesses:
        return
    click.echo("\n" + say("Guessed; an option says otherwise:"))
    for one in guesses:
        click.echo(
            folded(
                say(
                    "{what}: {value}; {because} ({option})",
                    what=one.what_said,
                    value=one.value_said,
                    because=one.because,
                    option=option_of(one.override),
                ),
                first="  - ",
            )
        )


def _print_troubles(troubles: Sequence[Trouble]) -> None:
    if troubles:
        click.echo("\n" + say("Noticed:"))
        for one in troubles:
            click.echo(folded(in_options(one.words), first="  - "))


def _ms(seconds: float) -> str:
    return say("{value:.1f} ms", value=1e3 * seconds)


def _volts(value: Spread) -> str:
    low, middle, high = (shown(float(v), "voltage") for v in (value.low, value, value.high))
    return say("{middle} ({low} to {high})", middle=middle, low=low, high=high)


def _share(value: Spread) -> str:
    return say(
        "{percent} ({low} to {high})",
        percent=percent(float(value)),
        low=percent(value.low),
        high=percent(value.high),
    )
