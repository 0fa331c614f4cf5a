"""`tripmargin read`: what a recording holds; the stop time or the noise in it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tripmargin.cli.output import Output, Picture, output_options
from tripmargin.cli.progress import working
from tripmargin.cli.reading_options import (
    FILE_OPTIONS,
    FRAME_OPTIONS,
    NOISE_OPTIONS,
    ROLL_OPTIONS,
    STOP_OPTIONS,
    frame_keywords,
    frames_in_options,
    in_options,
    noise_keywords,
    stop_keywords,
    together,
)
from tripmargin.cli.reading_words import print_noise, print_recording, print_stop_time
from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.languages import say
from tripmargin.ground.languages.lists import listed

if TYPE_CHECKING:
    from tripmargin.recordings import Recording
    from tripmargin.recordings.noise import Noise
    from tripmargin.recordings.stop_time import StopTime

_STOP, _NOISE, _FRAMES = "--stop-time", "--noise", "--frames"
_GOES_WITH = {
    **dict.fromkeys(("channel", "roll", "roll_is"), (_STOP, _NOISE)),
    "trip_delay": (_STOP, _FRAMES),
    **dict.fromkeys(
        ("source", "which", "moved", "trip", "pause", "farther", "temperature",
         "known_tone", "expect", "cut"), (_STOP,)),
    **dict.fromkeys(("at", "scale", "pulses_per_turn", "roll_speed"), (_NOISE,)),
    **dict.fromkeys(("rate_varies", "rate_within"), (_FRAMES,)),
}  # fmt: skip
_OF_FILES = (
    "kind", "delimiter", "decimal", "thousands", "encoding", "header", "time", "units", "group",
)  # fmt: skip


@click.command("read")
@click.argument("file", type=click.Path(path_type=Path), metavar="[FILE]", required=False)
@click.option("--stop-time", "stop", is_flag=True, help="The stop time in it, with its interval.")
@click.option("--noise", "machine", metavar="MACHINE", help="The noise of a quiet run of MACHINE.")
@together(FRAME_OPTIONS)
@together(ROLL_OPTIONS)
@together(STOP_OPTIONS)
@together(NOISE_OPTIONS)
@together(FILE_OPTIONS)
@output_options
@click.pass_context
def read_file(context: click.Context, /, file: Path | None, output: Output, **said: Any) -> None:
    """Read a recording: a logger's file or sound; or time a stop by counted video frames."""
    _refuse_idle(context, file, output, said)
    from tripmargin.recordings.recording import RecordingError

    try:
        if said["frames"]:
            _show_frames(said, output)
            return
        assert file is not None
        recording = _recording(file, said, output)
        if said["stop"]:
            _show_stop(recording, said, output)
        elif said["machine"] is not None:
            _show_noise(recording, said, output)
        else:
            output.show(recording.to_dict(), lines=lambda: print_recording(recording))
    except RecordingError as error:
        words = frames_in_options if said["frames"] else in_options
        raise RecordingError(words(str(error))) from error
    except MemoryError as error:
        raise RecordingError(
            say(
                "{file}: this needs more memory than there is free. Cut out the part that is"
                " wanted, or read it on a larger computer.",
                file=file,
            )
        ) from error


def _refuse_idle(
    context: click.Context, file: Path | None, output: Output, said: dict[str, Any]
) -> None:
    """Refuse what would do nothing, instead of passing it over."""
    frames, stop, noise = bool(said["frames"]), said["stop"], said["machine"] is not None
    if frames + stop + noise > 1:
        raise click.UsageError(say("Give one of --stop-time, --noise and --frames."))
    if frames and file is not None:
        raise click.UsageError(
            say("--frames needs no FILE, and {file} was given: leave one out.", file=file)
        )
    if not frames and file is None:
        raise click.UsageError(say("Name the FILE to read, or count video frames with --frames."))
    if not (frames or stop or noise) and output.save is not None:
        raise click.UsageError(
            say("--save goes with --stop-time, --noise or --frames: they have a picture.")
        )
    usable = {_FRAMES: frames, _STOP: stop, _NOISE: noise}
    by_name = {each.name: each for each in context.command.params}
    for name, goes_with in _GOES_WITH.items():
        given = said[name] not in (None, (), False)
        if given and not any(usable[each] for each in goes_with):
            option = by_name[name].opts[0]
            raise click.UsageError(
                say(
                    "{option} goes with {goes_with}.",
                    option=option,
                    goes_with=listed(goes_with, "or"),
                )
            )
    for name in _OF_FILES if frames else ():
        if said[name] not in (None, ()):
            raise click.UsageError(
                say("{option} is about a file; --frames needs none.", option=by_name[name].opts[0])
            )


def _recording(file: Path, said: dict[str, Any], output: Output) -> Recording:
    from tripmargin.recordings.reading import read

    how = {name: said[name] for name in _OF_FILES if name != "units"}
    units = dict(_pairs("--unit", said["units"])) or None
    with working(say("reading"), quiet=output.as_json):
        return read(file, rate=said["rate"], units=units, **how)


def _show_frames(said: dict[str, Any], output: Output) -> None:
    from tripmargin.recordings.stop_time import stop_time_from_frames

    found = stop_time_from_frames(**frame_keywords(said))
    output.show(found, lines=lambda: print_stop_time(found), picture=_stop_picture(found))


def _show_stop(recording: Recording, said: dict[str, Any], output: Output) -> None:
    from tripmargin.recordings.stop_time import stop_time

    given = stop_keywords(said)
    with working(say("looking for the stop"), quiet=output.as_json):
        found = stop_time(recording, **given)
    if said["moved"]:
        times = {name: _seconds(at) for name, at in _pairs("--moved", said["moved"])}
        found = found.moved(**times)
    output.show(found, lines=lambda: print_stop_time(found), picture=_stop_picture(found))


def _show_noise(recording: Recording, said: dict[str, Any], output: Output) -> None:
    from tripmargin.machine import load_machine
    from tripmargin.recordings.noise import noise_of

    loaded, given = load_machine(said["machine"]), noise_keywords(said)
    with working(say("measuring the noise"), quiet=output.as_json):
        found = noise_of(recording, loaded, **given)
    output.show(found, lines=lambda: print_noise(found), picture=_noise_picture(found))


def _stop_picture(found: StopTime) -> Picture:
    from tripmargin.pictures.stop_time import stop_time_picture
    from tripmargin.pictures.stop_time_data import stop_time_table

    return Picture(
        say("Stop time"),
        draw=lambda width, sun, us: stop_time_picture(found.file, found, width=width, sun=sun),
        table=lambda us: stop_time_table(found),
    )


def _noise_picture(found: Noise) -> Picture:
    from tripmargin.pictures.noise_orders import noise_orders_picture, noise_orders_table

    return Picture(
        say("Noise of {machine}", machine=found.machine),
        draw=lambda width, sun, us: noise_orders_picture(found, width=width, sun=sun),
        table=lambda us: noise_orders_table(found),
    )


def _pairs(option: str, given: tuple[str, ...]) -> list[tuple[str, str]]:
    made = []
    for each in given:
        name, equals, value = each.rpartition("=")
        if not equals or not name.strip() or not value.strip():
            raise click.UsageError(
                say("{option} {seen}: write a name, =, and a value.", option=option, seen=each)
            )
        made.append(
            (name.strip().replace(" ", "_") if option == "--moved" else name.strip(), value.strip())
        )
    return made


def _seconds(text: str) -> float:
    try:
        return float(typed(text))
    except ValueError:
        raise click.UsageError(
            say(
                "--moved: {text!r} is no number of seconds, such as {example}.",
                text=text,
                example=1.234,
            )
        ) from None
