"""The boxes of a stop by two frames of a video, and what no stop can be."""

from __future__ import annotations

from typing import Any

from tripmargin.ground.languages import say
from tripmargin.pictures.words import plain_number
from tripmargin.recordings.stop_time import StopTime
from tripmargin.records.kinds import KINDS
from tripmargin.web.measuring.numbers import Number


def frame_boxes(said: Any) -> list[Number]:
    """The frame that shows the trip, the one in which the roll stands, frames a second."""
    lit = say(
        "The lamp lit, or the button pressed. Step through the video frame by frame and count."
    )
    same = say("Counted from the same beginning as the frame above.")
    filmed = say("As filmed, not as played slowly: 240 for instance. The camera's settings say it.")
    return [
        Number("first", say("First frame that shows the trip"), "", 0.0, 1e7,
               said.get("first", ""), whole=True, help=lit),
        Number("last", say("First frame in which the roll stands"), "", 0.0, 1e7,
               said.get("last", ""), whole=True, help=same),
        Number("rate", say("Frames a second"), "", 1.0, 1e5, said.get("rate", ""), help=filmed),
    ]  # fmt: skip


def too_long(seen: StopTime) -> list[str]:
    """Why two frames lie too far from each other, or too near, for the log; empty where not."""
    field = KINDS["stop time"].field_of("stop_time_s")
    assert field is not None
    if field.low <= seen.value <= field.high:
        return []
    return [
        say(
            "That is {time} s from the trip to rest, and no stop.\n"
            "Allowed: {low:g} s to {high:g} s.\n"
            "Are both frames counted from the same beginning, and is the rate that of the filming?",
            time=plain_number(seen.value),
            low=field.low,
            high=field.high,
        )
    ]
