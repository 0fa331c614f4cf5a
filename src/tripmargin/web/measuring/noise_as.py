"""What a quiet run is read by: channels, volts, pulses and the roll's speed, to be said."""

from __future__ import annotations

from typing import Any

from tripmargin.ground.languages import say
from tripmargin.ground.units import DIMENSIONS
from tripmargin.recordings import Noise, Recording
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.measuring.said import Box, Choice, Said, channels_of, left_to_file

TURNING = ("roll_speed", "pulses_per_turn")
"""What is asked for with the file already."""


def turning_boxes(said: Said, *, us: bool) -> list[Number]:
    """The roll's speed or its pulses."""
    dimension = DIMENSIONS["speed"]
    unit = dimension.us if us else dimension.metric
    factor = dimension.units[unit].factor
    text, kept = said.filled("pulses_per_turn", "1")
    return [
        Number("roll_speed", say("Speed of the roll's surface"), unit, round(0.01 / factor, 4),
               round(20 / factor, 1), said.of("roll_speed"), required=False,
               help=say("Without a pickup at the roll its turning is looked for near this speed;"
                        " left empty, within what the machine's cut lengths make possible.")),
        Number("pulses_per_turn", say("Pulses of the pickup for one turn"), "", 0.01, 10_000, text,
               required=False, guess=kept, help=say("Where one channel follows the roll.")),
    ]  # fmt: skip


def noise_boxes(
    said: Said, recording: Recording | None, found: Noise | None, *, us: bool
) -> list[Box]:
    """The boxes, filled with what was guessed or is taken."""
    guessed = {one.override: one for one in found.guesses} if found is not None else {}
    if found is not None:
        guessed |= {one.override: one for one in found.guesses if one.what == "roll pickup"}
    channels = channels_of(recording)
    places = [("output", say("the amplifier's output")), ("coil", say("the coil"))]
    made: list[Box] = []
    for name, label, options in (
        ("channel", say("Channel of the noise"), channels),
        ("at", say("Where it was recorded"), places),
        ("roll_pickup", say("Channel that follows the roll"), channels),
    ):
        one = guessed.get(name)
        known = one is not None and (name != "roll_pickup" or one.what == "roll pickup")
        as_is, help_ = left_to_file(*((one.value_said, one.because) if one and known else ("", "")))
        if name == "roll_pickup" and not known and found is not None:
            as_is = say("None was found by its name")
        made.append(Choice(name, label, [("", as_is), *options], said.of(name), help_))
    scale = guessed.get("scale")
    text, kept = said.filled("scale", None if found is None else "1" if scale else "")
    why = say("Needed where the channel's unit is no voltage; full scale of a sound is one unit.")
    if scale:
        why = say("So because {because}.", because=scale.because)
    made.append(
        Number("scale", say("Volts for one unit of the channel"), "V", 1e-4, 1e4, text,
               required=False, guess=kept, help=why)
    )  # fmt: skip
    return [*made, *turning_boxes(said, us=us)]


def noise_options(boxes: list[Box], *, us: bool) -> dict[str, Any]:
    """What was said, as `noise_of` takes it; what cannot be is told beside its box."""
    made: dict[str, Any] = {}
    for box in boxes:
        value = box.read() if isinstance(box, (Choice, Number)) else None
        if value is None or box.text.strip() == box.guess:
            continue
        if isinstance(box, Number):
            made[box.name] = float(value)
        else:
            made[box.name] = int(value) if str(value).isdecimal() else value
    if "roll_speed" in made:
        dimension = DIMENSIONS["speed"]
        unit = dimension.us if us else dimension.metric
        made["roll_speed"] *= dimension.units[unit].factor
    return made
