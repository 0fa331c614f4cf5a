"""The first and last tables of the machine file: which machine, its feed, what is asked of it.

Meanings as on the models page, one dataclass a table, SI inside. Quantities hold their limits. A
field that is None was neither given nor may be assumed; the answer that needs it says so.
"""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.fields import measured, number, other

Q = Quantity | None
_TAPE = later("Use a tape measure.")


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """Which machine this is."""

    name: str = other("text", later("what people call the machine"), required=True)
    description: str | None = other("text", later("what kind of machine it is"))
    serial: str | None = other("text", later("serial number, from the type plate"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """The rolls and the cutterhead: how fast metal travels and how far it may go."""

    knives: Q = number(
        later("cuts per drum revolution"),
        1,
        200,
        whole=True,
        measure=later(
            "Count the cuts that one turn of the cutterhead makes at one spot of the shear"
            " bar. Count with the engine off and the key out; knives cut at rest too."
        ),
    )
    cutterhead_speed: Q = measured(
        later("speed of the cutterhead at work"),
        "rotation",
        50 / 60,
        5000 / 60,
        measure=later(
            "From the type plate or the operator's manual, or with a non-contact tachometer."
        ),
    )
    cut_lengths: tuple[float, ...] = other(
        "lengths",
        later("cut lengths on offer: gear steps, or the two ends of a range"),
        dimension="length",
        low=0.5e-3,
        high=0.2,
        measure=later("From the table of gears or the setting range in the operator's manual."),
    )
    slip: Q = measured(
        later("the crop runs slower than the rolls by this much"),
        "fraction",
        -0.2,
        0.9,
        assumed="0 % .. 10 %",
        measure=later(
            "Mark the mat, let it run a counted number of roll turns, compare the lengths."
        ),
    )
    roll_diameter: Q = measured(
        later("lower front roll over the flutes; it holds the sensor"),
        "length",
        0.05,
        1.0,
        measure=later("Lay a straight edge on each side of the roll and measure between them."),
    )
    roll_width: Q = measured(
        later("length of the lower front roll across the feed"), "length", 0.1, 3.0, measure=_TAPE
    )
    sensor_to_shear_bar: Q = measured(
        later("along the crop's path, from above the roll's axis to the shear bar's edge"),
        "length",
        0.05,
        2.0,
        measure=later(
            "Measure along the crop's path from above the roll's axis to the shear bar's edge."
        ),
    )
    crop_depth: Q = measured(
        later("heights above the top of the lower front roll at which pieces travel"),
        "length",
        0.0,
        0.6,
        assumed="5 mm .. 110 mm",
        measure=later(
            "The least and the greatest opening between the front rolls at work: from the"
            " operator's manual, or read from outside with all guards on. Nobody reaches in while"
            " anything runs."
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What is asked of the machine."""

    clearance: Quantity = measured(
        later("window for the pawls' clearance (common practice, no source: 2.5 to 5 mm)"),
        "length",
        0.0,
        0.05,
        assumed="2.5 mm .. 5 mm",
    )
    stop_time: Quantity = measured(
        later("greatest nominal stop time (common practice, no source: about 0.05 s)"),
        "time",
        1e-3,
        2.0,
        assumed="60 ms",
    )
    confidence: Quantity = measured(
        later("asked of P(stopped)"), "fraction", 0.5, 0.999999999, assumed="99 %"
    )
    must_stop: str = other(
        "text", later("the piece that the verdict is about"), assumed="20 mm ball"
    )
