"""The options of `tripmargin read`: which there are, what each goes with, and what they come to."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

import click

from tripmargin.cli.output import quantity_of
from tripmargin.cli.typed_numbers import Number
from tripmargin.ground.languages import later, say
from tripmargin.ground.typed import typed_quantity

ZERO_CELSIUS = 273.15  # K
MOST_FRAMES = 1_000_000_000

FILE_OPTIONS = (
    click.option("--kind", metavar="KIND", help="What the file is, such as CSV or WAV."),
    click.option("--delimiter", metavar="WORD", help="CSV: comma, semicolon, tab, space or bar."),
    click.option("--decimal", metavar="WORD", help="CSV: point or comma."),
    click.option(
        "--thousands", metavar="WORD", help="CSV: comma, point, space, apostrophe or none."
    ),
    click.option("--encoding", metavar="NAME", help="CSV: utf-8, utf-16, latin-1, cp1252..."),
    click.option("--header", type=int, metavar="LINES", help="CSV: lines above the first numbers."),
    click.option("--time", metavar="COLUMN", help='The column of the time; "none": there is none.'),
    click.option(
        "--rate",
        type=Number(59.94),
        metavar="HZ",
        help="Samples a second, whatever the file says; with --frames, the video's frames a"
        " second.",
    ),
    click.option(
        "--unit",
        "units",
        multiple=True,
        metavar="CHANNEL=UNIT",
        help="A channel's unit; several times.",
    ),
    click.option("--group", type=int, metavar="N", help="MDF4: the channel group, from 1."),
)
STOP_OPTIONS = (
    click.option(
        "--from",
        "source",
        type=click.Choice(["sound", "logger"]),
        help="What the stop is taken from. Default: by the kind of file.",
    ),
    click.option("--which", type=int, metavar="N", help="The stop, by its number, of several."),
    click.option(
        "--moved",
        multiple=True,
        metavar="INSTANT=SECONDS",
        help='An instant put right by hand, such as "rest=1.234"; several times.',
    ),
    click.option("--trip", metavar="CHANNEL", help="Logger: the channel of the trip line."),
    click.option(
        "--trip-delay",
        metavar="TIME",
        help="Logger and video: from the threshold's crossing to the trip line's edge or the"
        ' indicator, such as 20ms or "10 ms .. 30 ms".',
    ),
    click.option(
        "--pause",
        metavar="TIME",
        help="Sound: the pause between the button's click and the trip, such as 20ms or"
        ' "10 ms .. 30 ms".',
    ),
    click.option(
        "--farther",
        metavar="LENGTH",
        help="Sound: by how much the rolls are farther from the phone than the button, such as"
        ' 0.5m; below zero where they are nearer. Default: "-0.25 m .. 0.25 m".',
    ),
    click.option(
        "--temperature", metavar="TEMPERATURE", help="Sound: of the air. Default: 20degC."
    ),
    click.option(
        "--known-tone",
        metavar="FREQUENCY",
        help="Sound: a tone that is known to sound, such as 50Hz of the mains: the file's rate is"
        " checked against it.",
    ),
    click.option(
        "--expect",
        metavar="MACHINE",
        help="Sound: take the stop time of MACHINE's own file as likely beforehand; with --cut."
        " The recording then no longer checks that file by itself.",
    ),
    click.option(
        "--cut", metavar="LENGTH", help="Sound: the cut length for --expect, such as 9mm."
    ),
)
ROLL_OPTIONS = (
    click.option("--channel", metavar="CHANNEL", help="The channel, by its name or number from 1."),
    click.option("--roll", metavar="CHANNEL", help="The channel of the roll's pickup or sensor."),
    click.option(
        "--roll-is",
        type=click.Choice(["pulses", "speed", "angle"]),
        help="What the roll's channel has: pulses, a speed (for a stop), an angle or a count of its"
        " turning (for noise). Default: told by its look.",
    ),
)
FRAME_OPTIONS = (
    click.option(
        "--frames",
        nargs=2,
        metavar="FIRST LAST",
        help="The stop time from a video, without FILE: number of the first frame that shows the"
        " trip, and of the first in which the roll stands still; with --rate.",
    ),
    click.option(
        "--rate-varies", is_flag=True, help="Video: the camera does not keep its frame rate."
    ),
    click.option(
        "--rate-within",
        metavar="SHARE",
        help='Video: how near the frame rate is to what --rate says. Default: "0.1 %".',
    ),
)
NOISE_OPTIONS = (
    click.option(
        "--at",
        type=click.Choice(["output", "coil"]),
        help="Where the noise was recorded. Default: told by the channel's name and size.",
    ),
    click.option(
        "--scale",
        metavar="VOLTAGE",
        help="What one unit of the channel stands for (full scale of sound), such as 2.5V.",
    ),
    click.option(
        "--pulses-per-turn",
        type=Number(12.5),
        metavar="N",
        help="Pulses of the roll's pickup, or counts, for one turn of the roll. Default: 1.",
    ),
    click.option(
        "--roll-speed",
        metavar="SPEED",
        help='At the roll\'s surface, such as "1.7 m/s", where there is no pickup.',
    ),
)

_KEYWORDS = {
    "channels": "channel", "click_delay": "pause", "cut_length": "cut", "from_": "from",
    "distance_difference": "farther", "known_tone": "known-tone", "machine": "expect",
    "pulses_per_turn": "pulses-per-turn", "rate_uncertainty": "rate-within",
    "pickup_is": "roll-is", "roll_is": "roll-is", "roll_pickup": "roll", "roll_speed": "roll-speed",
    "trip_delay": "trip-delay", "units": "unit", "variable": "rate-varies",
    "at": "at", "channel": "channel", "decimal": "decimal", "delimiter": "delimiter",
    "encoding": "encoding", "group": "group", "header": "header", "kind": "kind", "rate": "rate",
    "roll": "roll", "scale": "scale", "temperature": "temperature", "thousands": "thousands",
    "time": "time", "trip": "trip", "which": "which",
}  # fmt: skip
"""What the library calls each option."""

_ONE = "|".join(sorted(_KEYWORDS, key=len, reverse=True))
_QUOTED = r"(?<![\w=])\"[^\"\n]*\"|(?<!\w)'[^'\n]*'(?!\w)"
_SAID = re.compile(rf"{_QUOTED}|(?<![\w=])({_ONE})=(\"[^\"\n]*\"|\w+(?:\.\w+)*)?")
_BEGIN = re.compile(rf"^(\w*_\w*|{_ONE})(?= = | is nothing that )")
_TAKES = re.compile(r"(?<= It takes: )[a-z_, ]+(?=\.)")
_VIDEO = {
    "first": later("--frames, the first"),
    "last": later("--frames, the last"),
    "delay": "--trip-delay",
}


def together(groups: tuple[Callable[..., Any], ...]) -> Callable[..., Any]:
    """Several options on a command, in their order."""

    def put(command: Callable[..., Any]) -> Callable[..., Any]:
        for option in reversed(groups):
            command = option(command)
        return command

    return put


def option_of(keyword: str) -> str:
    """The option by which the command takes what the library calls so.

    >>> option_of("roll_pickup"), option_of("units")
    ('--roll', '--unit')
    """
    return f"--{_KEYWORDS.get(keyword, keyword)}"


def in_options(words: str) -> str:
    """A sentence of the library with its keywords as the command's options.

    >>> in_options('If points are the decimal sign, say decimal="point"; else say rate=.')
    'If points are the decimal sign, say --decimal point; else say --rate.'
    >>> in_options('"rate=5" stays; temperature = 99 degC. Allowed: -40 to 60 degC.')
    '"rate=5" stays; temperature = 99 degC. Allowed: -40 to 60 degC.'
    """

    def said(found: re.Match[str]) -> str:
        if found[1] is None:
            return found[0]
        value = (found[2] or "").strip('"')
        return option_of(found[1]) + (f" {value}" if value and value != "True" else "")

    words = _SAID.sub(said, words)
    words = _BEGIN.sub(lambda found: option_of(found[1]), words)
    return _TAKES.sub(
        lambda found: ", ".join(sorted({option_of(each) for each in found[0].split(", ")})), words
    )


def frames_in_options(words: str) -> str:
    """The same for what the library says of counted frames."""
    for keyword, option in _VIDEO.items():
        words = re.sub(rf"\b{keyword} = ", f"{say(option)} = ", words)
    return in_options(words)


def limits_of(text: str, dimension: str, option: str, less: float = 0.0) -> Any:
    """An option's quantity in SI: a number, or least and greatest."""
    from tripmargin.ground.errors import QuantityError
    from tripmargin.ground.quantities import quantity

    try:
        found = quantity(typed_quantity(text), dimension)
    except QuantityError as error:
        raise click.UsageError(f"{option}: {error}") from error
    return (found.low - less, found.high - less) if found.uncertain else found.nominal - less


def stop_keywords(said: Mapping[str, Any]) -> dict[str, Any]:
    """What `stop_time` takes, from the options said."""
    made = {
        "from_": said["source"], "which": said["which"], "trip": said["trip"],
        "roll": said["roll"], "roll_is": said["roll_is"],
    }  # fmt: skip
    if said["channel"] is not None:
        made["channels"] = (said["channel"],)
    for option, keyword, dimension in (
        ("trip_delay", "trip_delay", "time"),
        ("pause", "click_delay", "time"),
        ("farther", "distance_difference", "length"),
    ):
        if said[option] is not None:
            made[keyword] = limits_of(said[option], dimension, option_of(keyword))
    if said["temperature"] is not None:
        kelvin = quantity_of(said["temperature"], "temperature", "--temperature")
        made["temperature"] = kelvin - ZERO_CELSIUS
    if said["known_tone"] is not None:
        made["known_tone"] = quantity_of(said["known_tone"], "frequency", "--known-tone")
    if (said["expect"] is None) != (said["cut"] is None):
        raise click.UsageError(
            say("--expect and --cut go together: the stop's time goes with the cut.")
        )
    if said["expect"] is not None:
        from tripmargin.machine import load_machine

        made["machine"] = load_machine(said["expect"])
        made["cut_length"] = quantity_of(said["cut"], "length", "--cut")
    return {keyword: value for keyword, value in made.items() if value is not None}


def noise_keywords(said: Mapping[str, Any]) -> dict[str, Any]:
    """What `noise_of` takes, from the options said."""
    made = {
        "channel": said["channel"], "roll_pickup": said["roll"], "at": said["at"],
        "pickup_is": said["roll_is"],
        "pulses_per_turn": said["pulses_per_turn"],
    }  # fmt: skip
    if said["scale"] is not None:
        made["scale"] = quantity_of(said["scale"], "voltage", "--scale")
    if said["roll_speed"] is not None:
        made["roll_speed"] = quantity_of(said["roll_speed"], "speed", "--roll-speed")
    return {keyword: value for keyword, value in made.items() if value is not None}


def frame_keywords(said: Mapping[str, Any]) -> dict[str, Any]:
    """What `stop_time_from_frames` takes, from the options said."""
    if said["rate"] is None:
        raise click.UsageError(
            say("--frames needs --rate: the frames a second of the camera's settings, such as 240.")
        )
    first, last = (_frame(text) for text in said["frames"])
    made = {"first": first, "last": last, "rate": said["rate"], "variable": said["rate_varies"]}
    if said["rate_within"] is not None:
        made["rate_uncertainty"] = quantity_of(said["rate_within"], "fraction", "--rate-within")
    if said["trip_delay"] is not None:
        made["delay"] = limits_of(said["trip_delay"], "time", "--trip-delay")
    return made


def _frame(text: str) -> int:
    """A frame's number; one below zero goes on, for the room to refuse."""
    number = text.strip()
    if not re.fullmatch(r"[+-]?\d{1,12}", number, re.ASCII) or int(number) > MOST_FRAMES:
        raise click.UsageError(
            say(
                '--frames: "{text}" is no frame\'s number. Allowed: whole numbers from 0 to'
                " {MOST_FRAMES}, counted from the file's beginning.",
                text=text[:40],
                MOST_FRAMES=MOST_FRAMES,
            )
        )
    return int(number)
