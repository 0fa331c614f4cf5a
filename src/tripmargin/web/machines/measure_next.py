"""What to measure next, in the trade's words: what it is, how to measure it, what it settles."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tripmargin.ground.languages import later, say
from tripmargin.ground.units import percent
from tripmargin.machine import Machine
from tripmargin.machine.cautions import while_running
from tripmargin.pictures.question_drawings import question_drawing
from tripmargin.protection import Measure, Proof
from tripmargin.web.machines.naming import called, meaning
from tripmargin.web.machines.turns import in_file

HOW: tuple[tuple[str, str], ...] = (
    (
        r"detector\.decision_delay",
        later(
            "With a logger on the relay's coil, its contact and a switch at the pawls, rigged "
            "with engine off and key out, released on the stand with nobody near: from the "
            "signal's crossing to the trip output."
        ),
    ),
    (
        r"detector\.threshold",
        later(
            "With a signal generator at the detector's input, out of the machine: raise the "
            "signal until it trips, and read the amplifier's test point."
        ),
    ),
    (
        r"detector\.",
        later(
            "With a signal generator at the detector's input and a meter at the amplifier's "
            "test point, out of the machine."
        ),
    ),
    (
        r"chain\.relay_release",
        later(
            "With a logger on the relay's coil, its contact and a switch at the pawls, rigged "
            "with engine off and key out, released on the stand with nobody near: from the trip"
            " output to the contact's opening, ten times; take the least and the greatest."
        ),
    ),
    (
        r"chain\.plunger\.travel_time",
        later(
            "With a logger on the relay's coil, its contact and a switch at the pawls, rigged "
            "with engine off and key out, released on the stand with nobody near: from the "
            "contact's opening to the pawls' letting go, less the winding's release time, ten "
            "times; take the least and the greatest."
        ),
    ),
    (
        r"chain\.hold_winding\.release_current",
        later(
            "On the bench, out of the machine: hold the plunger with an adjustable supply and "
            "lower the current slowly until it lets go; read the meter then. The spring is "
            "under load: hands and face away from its way."
        ),
    ),
    (
        r"chain\.hold_winding\.inductance",
        later(
            "On the bench, out of the machine: an inductance meter on the winding, plunger seated."
        ),
    ),
    (
        r"chain\.hold_winding\.temperature",
        later(
            "A thermometer without contact on the winding after an hour's work, read from "
            "outside with all guards on; and the coldest morning at work."
        ),
    ),
    (
        r"chain\.hold_winding\.suppression\.",
        later("From the data sheet of the part that is fitted, or from its maker's drawing."),
    ),
    (
        r"chain\.pawls\..+\.swing_time\.",
        later(
            "With a logger on the relay's coil, its contact and a switch at the pawls, rigged "
            "with engine off and key out, released on the stand with nobody near: from the "
            "release to the pawl's touching its ratchet, ten times; and the clearance at which "
            "it was measured."
        ),
    ),
    (
        r"chain\.(plunger|pawls\..+)\.parts\.(spring|friction)",
        later(
            "On the bench, out of the machine: a spring balance on the part, drawn slowly "
            "through its way and let back: the mean is the spring, half the difference is the "
            "friction. Take the spring's load off as the manual says first."
        ),
    ),
    (
        r"chain\.(plunger|pawls\..+)\.parts\.(mass|inertia)",
        later(
            "On the bench, out of the machine: a scale; for a moment of inertia let the part "
            "swing on its pivot as a pendulum and time twenty swings."
        ),
    ),
    (
        r"chain\.(plunger|pawls\..+)\.parts\.",
        later("On the bench, out of the machine: calipers on the part, or its drawing."),
    ),
    (
        r"chain\.pawls\..+\.adjuster\.",
        later(
            "Measure the gap, turn the adjuster by a counted number of steps, and measure the "
            "gap again."
        ),
    ),
    (
        r"chain\.rest\.roll_angle",
        later(
            "Mark the roll and the frame, trip it with no crop and nobody near, and read the "
            "turn from the catch to rest off a film: count the frames."
        ),
    ),
    (
        r"chain\.rest\.",
        later("From the drive's drawings: coupling, shafts and slip clutch."),
    ),
    (
        r"sensor\.assemblies\..+\.magnet\.",
        later(
            "The sensor is sealed: pass test pieces of known size at known places, and let "
            "`tripmargin calibrate` find its strength."
        ),
    ),
    (
        r"sensor\.",
        later("The sensor is sealed: its drawing says it, or its maker."),
    ),
)
"""How to measure what the guided questions do not ask, by field. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Advice:
    """One thing to measure.

    `field` is the dotted path, the source of all else; `running` is the caution where it is read
    while the machine runs.
    """

    field: str
    name: str
    what: str
    how: str
    now: str
    assumed: bool
    doubt: str
    running: str
    drawing: str | None


def advice(proof: Proof, machine: Machine, *, us: bool, sun: bool) -> list[Advice]:
    """What a proof says to measure next, the most useful first."""
    return [_one(measure, machine, us=us, sun=sun) for measure in proof.measure_next]


def _one(measure: Measure, machine: Machine, *, us: bool, sun: bool) -> Advice:
    given = machine.get(measure.field)
    share = percent(measure.share)
    doubt = (
        say(
            "It makes {share} of the doubt about whether metal that is caught stops in time.",
            share=share,
        )
        if measure.about == "margin"
        else say("It makes {share} of the doubt about whether metal is caught at all.", share=share)
    )
    return Advice(
        field=measure.field,
        name=called(measure.field),
        what=meaning(measure.field),
        how=say(measure.how) if measure.how else how(measure.field),
        now=in_file(given, us=us) if given is not None else measure.written,
        assumed=measure.assumed,
        doubt=doubt,
        running=while_running(measure.field),
        drawing=question_drawing(measure.field, sun=sun),
    )


def how(field: str) -> str:
    """How a field is measured that the guided questions do not ask; empty where nobody can say.

    >>> how("chain.rest.parts.inertia")
    "From the drive's drawings: coupling, shafts and slip clutch."
    """
    return next((say(words) for pattern, words in HOW if re.match(pattern, field)), "")
