"""Kinds of entries that say how the protection worked."""

from __future__ import annotations

from tripmargin.ground.languages import later
from tripmargin.records.kinds.fields import Field
from tripmargin.records.kinds.kind import Kind
from tripmargin.records.kinds.shared_fields import CUT, FOUND, HOURS

HAPPENINGS = (
    Kind(
        "daily check",
        later("Daily check"),
        later(
            "The check that a person makes before work: does it trip, does it reset, are"
            " the lamps as they should be."
        ),
        (
            Field("tripped", later("Did it trip?"), "yes or no", required=True),
            Field(
                "reset",
                later("Did it reset?"),
                "yes or no",
                help_message=later("Leave it out where the check ended before."),
            ),
            Field("lamps", later("Lamps and buzzer as expected?"), "yes or no"),
            Field("lamps/", later("As expected at this step?"), "yes or no", names="steps"),
            HOURS,
        ),
        caution_message=later(
            "Do it as the operator's manual says. Guards shut and everybody clear before"
            " anything runs. Never reach in to look: engine off, key out, all at rest"
            " first."
        ),
    ),
    Kind(
        "trip",
        later("Trip"),
        later("The feed stopped on metal."),
        (
            Field(
                "found", later("What was found?"), "choice", required=True, choice_messages=FOUND
            ),
            Field(
                "size_m",
                later("Its size across"),
                "quantity",
                dimension="length",
                low=0.0005,
                high=1.0,
                help_message=later("The second longest way through it."),
            ),
            Field(
                "length_m",
                later("Its length"),
                "quantity",
                dimension="length",
                low=0.0005,
                high=3.0,
            ),
            Field(
                "left_m",
                later("From the metal to the shear bar"),
                "quantity",
                dimension="length",
                low=-0.5,
                high=3.0,
                help_message=later(
                    "Along the crop's path, when the feed stood. Below zero: past the bar."
                ),
            ),
            Field("through", later("Did it reach the knives?"), "yes or no"),
            CUT,
            HOURS,
        ),
        near=True,
    ),
    Kind(
        "false trip",
        later("False trip"),
        later("The feed stopped, and no metal was found."),
        (
            Field(
                "searched",
                later("How was it searched?"),
                "choice",
                choice_messages={
                    "thoroughly": later("the whole mat, by hand and magnet"),
                    "quickly": later("a quick look"),
                    "no": later("not searched"),
                },
            ),
            CUT,
            HOURS,
        ),
        near=True,
    ),
    Kind(
        "missed metal",
        later("Missed metal"),
        later("Metal went through, or a test piece was not seen: the protection did not stop it."),
        (
            Field("found", later("What was it?"), "choice", required=True, choice_messages=FOUND),
            Field(
                "size_m",
                later("Its size across"),
                "quantity",
                dimension="length",
                low=0.0005,
                high=1.0,
            ),
            Field(
                "length_m",
                later("Its length"),
                "quantity",
                dimension="length",
                low=0.0005,
                high=3.0,
            ),
            Field(
                "why",
                later("What happened?"),
                "choice",
                required=True,
                choice_messages={
                    "not seen": later("it never tripped"),
                    "too late": later("it tripped too late"),
                    "not known": later("nobody knows"),
                },
            ),
            CUT,
            HOURS,
        ),
        near=True,
    ),
)
