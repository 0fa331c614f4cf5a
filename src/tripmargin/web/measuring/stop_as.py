"""What a stop in a recording is read by: channels, delays and the sound's way, to be said."""

from __future__ import annotations

import re
from typing import Any

from tripmargin.ground.languages import later, numeral, say
from tripmargin.ground.units import DIMENSIONS
from tripmargin.recordings import Recording
from tripmargin.recordings.stop_time import StopTime
from tripmargin.recordings.stop_time.logger_words import GUESSED
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.measuring.said import Box, Choice, Said, channels_of, left_to_file

LOW, HIGH = ".low", ".high"
_PAIRS = {
    "click_delay": (
        later("From the click to the trip, at least"),
        later("From the click to the trip, at most"),
        0.5,
    ),
    "trip_delay": (
        later("From the trip to the trip line's change, at least"),
        later("From the trip to the trip line's change, at most"),
        0.5,
    ),
}
"""Labels of the least and the most, and how far it may go, s; where nothing is said it is 0."""
_TOLD = {"trip line": "trip", "roll sensor": "roll", "roll sensor's kind": "roll_is"}
"""What is guessed of a logger's stop, and the boxes that say otherwise."""
_FAR = 0.25  # m, either way, as the library takes it


def stop_boxes(
    said: Said, recording: Recording | None, found: StopTime | None, *, sound: bool, us: bool
) -> list[Box]:
    """The boxes, filled with what was guessed or is taken."""
    return _of_sound(said, recording, us) if sound else _of_logger(said, recording, found)


def stop_options(boxes: list[Box], *, us: bool) -> dict[str, Any]:
    """What was said, as `stop_time` takes it; what cannot be is told beside its box."""
    made: dict[str, Any] = {}
    values: dict[str, float] = {}
    for box in boxes:
        value = box.read() if isinstance(box, (Choice, Number)) else None
        if isinstance(box, Number) and value is not None:
            values[box.name] = float(value)
        elif value and not isinstance(box, Number):
            made[box.name] = int(value) if str(value).isdecimal() else value
    if "channels" in made:
        made["channels"] = (made["channels"],)
    by_name = {box.name: box for box in boxes}
    for name in (*_PAIRS, "distance_difference"):
        low, high = by_name.get(f"{name}{LOW}"), by_name.get(f"{name}{HIGH}")
        if not isinstance(low, Number) or not isinstance(high, Number):
            continue
        if _said(low) or _said(high):
            ends = [values.get(f"{name}{end}") for end in (LOW, HIGH)]
            if ends[0] is None or ends[1] is None:
                continue  # told beside the one that is no number
            if ends[0] > ends[1]:
                high.troubles.append(say("Less than the least.\nAllowed: the least, or more."))
            else:
                made[name] = (_si(ends[0], low), _si(ends[1], high))
    air = by_name.get("temperature")
    if isinstance(air, Number) and _said(air) and "temperature" in values:
        degrees = values["temperature"]
        made["temperature"] = (degrees - 32) / 1.8 if us else degrees
    return made


def _said(box: Number) -> bool:
    return box.text.strip() != box.guess


def _si(value: float, box: Number) -> float:
    dimension = "time" if box.unit == "ms" else "length"
    return value * DIMENSIONS[dimension].units[box.unit].factor


def _of_logger(said: Said, recording: Recording | None, found: StopTime | None) -> list[Box]:
    guessed = _guessed(found)
    channels = channels_of(recording)
    labels = {"trip": say("Trip line's channel"), "roll": say("Roll's channel")}
    made: list[Box] = []
    for name, label in labels.items():
        as_is, help_ = left_to_file(*guessed.get(name, ("", "")))
        made.append(Choice(name, label, [("", as_is), *channels], said.of(name), help_))
    as_is, help_ = left_to_file(*guessed.get("roll_is", ("", "")))
    kinds = [
        ("pulses", say("pulses of a pickup")),
        ("speed", say("a value that rises with the speed")),
    ]
    made.append(
        Choice("roll_is", say("What the roll's channel shows"), [("", as_is), *kinds],
               said.of("roll_is"), help_)
    )  # fmt: skip
    return [*made, *_pair("trip_delay", said)]


def _guessed(found: StopTime | None) -> dict[str, tuple[str, str]]:
    """What the logger's stop says of its guesses: the box's name to value and reason."""
    made = {}
    for what, box in _TOLD.items():
        sentence = re.escape(say(GUESSED[what], value="<value>", because="<because>"))
        told = re.compile(
            sentence.replace("<value>", "(?P<value>.+?)").replace("<because>", "(?P<because>.+?)")
        )
        for line in found.assumed if found is not None else ():
            if guess := told.fullmatch(line):
                made[box] = (guess["value"], re.split(r"\.|; ", guess["because"])[0])
    return made


def _of_sound(said: Said, recording: Recording | None, us: bool) -> list[Box]:
    made: list[Box] = []
    channels = channels_of(recording)
    if len(channels) > 1 or said.of("channels"):
        options = [("", say("all together")), *channels]
        made.append(Choice("channels", say("Channel of the sound"), options, said.of("channels")))
    made += _pair("click_delay", said)
    unit = "ft" if us else "m"
    factor = DIMENSIONS["length"].units[unit].factor
    least = say("The rolls are farther from the phone than the button, at least")
    most = say("The rolls are farther from the phone than the button, at most")
    for end, value, label in ((LOW, -_FAR, least), (HIGH, _FAR, most)):
        name = f"distance_difference{end}"
        text, kept = said.filled(name, numeral(value / factor, ".4g"))
        made.append(
            Number(name, label, unit, round(-100 / factor, 1), round(100 / factor, 1), text,
                   required=False, guess=kept, help=say("Below zero: nearer."))
        )  # fmt: skip
    low, high = (-40.0, 140.0) if us else (-40.0, 60.0)
    text, kept = said.filled("temperature", "68" if us else "20")
    made.append(
        Number("temperature", say("The air's temperature"), "°F" if us else "°C", low, high, text,
               required=False, guess=kept, help=say("The speed of sound goes with it."))
    )  # fmt: skip
    return made


def _pair(name: str, said: Said) -> list[Box]:
    least, most, far = _PAIRS[name]
    made: list[Box] = []
    for end, label in ((LOW, least), (HIGH, most)):
        text, kept = said.filled(f"{name}{end}", "0")
        made.append(
            Number(f"{name}{end}", say(label), "ms", -1e3 * far, 1e3 * far, text,
                   required=False, guess=kept)
        )  # fmt: skip
    return made
