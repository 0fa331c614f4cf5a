"""Kinds of entries that say what was set, measured, tried or replaced."""

from __future__ import annotations

from tripmargin.ground.cautions import PASSING, STOPPING
from tripmargin.ground.languages import later
from tripmargin.records.kinds.fields import Field
from tripmargin.records.kinds.kind import Kind
from tripmargin.records.kinds.shared_fields import CUT, HOURS

WORKS = (
    Kind(
        "adjustment",
        later("Adjustment"),
        later("Pawl gaps, as found and as left."),
        (
            Field(
                "gap_before_m/",
                later("Gap as found"),
                "quantity",
                dimension="length",
                low=0.0,
                high=0.03,
                names="pawls",
            ),
            Field(
                "gap_after_m/",
                later("Gap as left"),
                "quantity",
                dimension="length",
                low=0.0,
                high=0.03,
                names="pawls",
            ),
            Field(
                "turns/",
                later("Turns of the clevis"),
                "quantity",
                dimension="number",
                low=0.0,
                high=100.0,
                names="pawls",
                help_message=later(
                    "All together, such as 1.5; 0: nobody touched it. The gaps tell"
                    " which way. The next setting learns from it."
                ),
            ),
            Field(
                "feeler_m",
                later("Step of the feeler gauge"),
                "quantity",
                dimension="length",
                low=0.00001,
                high=0.001,
                help_message=later("Half of it is taken as how far off a gap is."),
            ),
            HOURS,
        ),
        near=True,
    ),
    Kind(
        "stop time",
        later("Stop time"),
        later("Measured from the trip to the feed's standing still."),
        (
            Field(
                "stop_time_s",
                later("Stop time"),
                "quantity",
                required=True,
                dimension="time",
                low=0.001,
                high=2.0,
            ),
            Field(
                "sd_s",
                later("Its standard deviation"),
                "quantity",
                dimension="time",
                low=0.0,
                high=0.5,
            ),
            Field(
                "how",
                later("How it was measured"),
                "choice",
                choice_messages={
                    "logger": later("a logger on trip line and roll"),
                    "sound": later("sound"),
                    "video": later("frames of a video"),
                    "other": later("another way"),
                },
            ),
            CUT,
            HOURS,
        ),
        caution_message=STOPPING,
    ),
    Kind(
        "test pass",
        later("Test pass"),
        later("A test piece sent over the sensor, and whether the feed stopped on it."),
        (
            Field(
                "piece",
                later("Test piece"),
                "text",
                required=True,
                piece=True,
                help_message=later(
                    'Such as "16 mm ball"; anything but a ball with how it lay, such'
                    ' as "M8x30 bolt along".'
                ),
            ),
            Field(
                "across_m",
                later("Across, from the roll's middle"),
                "quantity",
                required=True,
                dimension="length",
                low=-2.0,
                high=2.0,
                help_message=later(
                    "Seen the way that the crop goes; below zero: left of the middle."
                ),
            ),
            Field(
                "height_m",
                later("Height above the lower front roll"),
                "quantity",
                required=True,
                dimension="length",
                low=0.0,
                high=1.0,
                help_message=later("Of the piece's middle over the top of the roll."),
            ),
            Field(
                "speed_m_s",
                later("Speed"),
                "quantity",
                required=True,
                dimension="speed",
                low=0.01,
                high=20.0,
                help_message=later("Of the piece over the sensor."),
            ),
            Field(
                "caught",
                later("Was it caught?"),
                "yes or no",
                required=True,
                help_message=later("Caught: the feed stopped."),
            ),
            Field(
                "place_doubt_m",
                later("How well is its place known?"),
                "quantity",
                dimension="length",
                low=0.0,
                high=0.1,
                help_message=later(
                    "Standard deviation, across and in height; 3 mm is taken without it."
                ),
            ),
            HOURS,
        ),
        caution_message=PASSING,
    ),
    Kind(
        "part replaced",
        later("Part replaced"),
        later("A part or a module taken out and another put in."),
        (
            Field("part", later("Which part?"), "text", required=True),
            Field("number", later("Its number"), "text"),
            Field("cured", later("Did it cure the fault?"), "yes or no"),
            HOURS,
        ),
        near=True,
    ),
)
