"""The stages of the stop in the machine file: supply, hold winding, plunger, pawls, rest."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.adjuster_section import PawlAdjuster
from tripmargin.machine.fields import measured, number, other, table

Q = Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Suppression:
    """What catches the hold winding's current when the relay lets go."""

    kind: str = other(
        "choice",
        later("what is fitted across the winding"),
        choices=("none", "resistor", "diode", "zener"),
        required=True,
    )
    resistance: Q = measured(later("of the resistor"), "resistance", 0.0, 1e6)
    voltage: Q = measured(later("across the diode or zener while it conducts"), "voltage", 0.0, 1e3)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldWinding:
    """The winding that holds the plunger; letting go makes the stop."""

    resistance: Q = measured(
        later("at 20 degC"),
        "resistance",
        0.01,
        1e5,
        measure=later(
            "Unplug the solenoid, engine off and key out, and measure the winding with the"
            " higher resistance."
        ),
    )
    inductance: Q = measured(later("plunger seated"), "inductance", 1e-6, 100.0)
    release_current: Q = measured(later("where the spring beats the magnet"), "current", 1e-6, 1e3)
    suppression: Suppression = table(
        Suppression,
        later("what catches the current"),
        assumed={"kind": "diode", "voltage": "0.8 V"},
    )
    temperature: Q = measured(
        later("of the winding at work; without it the resistance is taken as written"),
        "temperature",
        213.15,
        523.15,
    )
    release_time: Q = measured(
        later(
            "from the relay's opening to the plunger's start, where someone measured it; it"
            " replaces the computed decay"
        ),
        "time",
        0.0,
        1.0,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlungerParts:
    """The plunger as parts, for a stage computed and not measured."""

    mass: Quantity = measured(
        later("plunger with what moves along"), "mass", 1e-4, 50.0, required=True
    )
    travel: Quantity = measured(
        later("from seated to the pawls' release"), "length", 1e-4, 0.2, required=True
    )
    spring_force: Quantity = measured(
        later("return spring, plunger seated"), "force", 0.01, 1e4, required=True
    )
    spring_rate: Quantity = measured(later("return spring"), "stiffness", 0.0, 1e6, required=True)
    friction: Quantity = measured(
        later("sliding friction of plunger and linkage"), "force", 0.0, 1e4, required=True
    )
    damping: Q = measured(later("viscous"), "damping", 0.0, 1e4)
    magnet_gap: Quantity = measured(
        later("travel at which the winding's inductance has halved"),
        "length",
        1e-5,
        0.05,
        required=True,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Plunger:
    """The plunger's fall, from its start to the pawls' release."""

    travel_time: Q = measured(
        later("measured fall; `parts` take its place"),
        "time",
        0.0,
        1.0,
        assumed="4 ms .. 15 ms",
        unless="parts",
    )
    parts: PlungerParts | None = table(PlungerParts, later("the fall as parts"), optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingTime:
    """A pawl's swing, measured at one clearance."""

    time: Quantity = measured(later("swing"), "time", 0.0, 1.0, required=True)
    at_clearance: Quantity = measured(
        later("clearance at which it was measured"), "length", 1e-4, 0.05, required=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PawlParts:
    """A pawl as parts, for a swing computed and not measured."""

    inertia: Quantity = measured(
        later("about the pivot"), "moment of inertia", 1e-7, 10.0, required=True
    )
    spring_torque: Quantity = measured(
        later("at the released position"), "torque", 1e-4, 1e4, required=True
    )
    spring_rate: Quantity = measured(
        later("of the spring about the pivot"), "torsional stiffness", 0.0, 1e6, required=True
    )
    friction_torque: Quantity = measured(later("at the pivot"), "torque", 0.0, 1e4, required=True)
    damping: Q = measured(later("viscous, at the pivot"), "torsional damping", 0.0, 1e3)
    engagement_depth: Quantity = measured(
        later("how deep the tip must fall behind the tooth"), "length", 0.0, 0.05, required=True
    )
    tip_radius: Quantity = measured(later("pivot to tip"), "length", 5e-3, 1.0, required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pawl:
    """A spring-loaded pawl and its ratchet."""

    name: str = other("text", later("which pawl: lower, upper"), required=True)
    clearance: Q = measured(
        later("between pawl and ratchet while the feed runs"),
        "length",
        -0.01,
        0.05,
        assumed="2 mm .. 8 mm",
        measure=later(
            "Engine off, key out, everything at rest, stored energy released, feed rolls"
            " blocked. Then a feeler gauge or drill shanks between pawl and tooth tip."
        ),
    )
    swing_time: SwingTime | None = table(
        SwingTime,
        later(
            "the swing, measured; scales with the square root of the clearance; `parts` take"
            " its place"
        ),
        assumed={"time": "5 ms .. 12 ms", "at_clearance": "3.5 mm"},
        unless="parts",
    )
    parts: PawlParts | None = table(PawlParts, later("the swing as parts"), optional=True)
    ratchet_teeth: Q = number(
        later("teeth of the ratchet"),
        1,
        400,
        whole=True,
        measure=later("Count them, engine off and key out."),
    )
    ratchet_turns_per_roll_turn: Q = number(
        later("turns of the ratchet for one turn of the lower front roll"),
        0.01,
        100.0,
        measure=later(
            "From the numbers of teeth between roll and ratchet, counted with the engine off"
            " and the key out, everything at rest, feed rolls blocked; or from the parts list."
        ),
    )
    adjuster: PawlAdjuster | None = table(
        PawlAdjuster, later("what sets its gap, for the steps to another one"), optional=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RestParts:
    """Wind-up of the drive from engagement to rest, as parts."""

    inertia: Quantity = measured(
        later("rolls and drive, at the roll"), "moment of inertia", 1e-5, 1e3, required=True
    )
    stiffness: Quantity = measured(
        later("of the caught drive, at the roll"), "torsional stiffness", 1.0, 1e8, required=True
    )
    slip_torque: Quantity = measured(
        later("of the slip clutch, at the roll"), "torque", 1.0, 1e6, required=True
    )
    drag_torque: Quantity = measured(
        later("of the crop, at the roll"), "torque", 0.0, 1e5, required=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """From the catch to standing still."""

    roll_angle: Q = measured(
        later(
            "turn of the roll from engagement to rest: wind-up of the drive while the slip clutch"
            " lets go; `parts` take its place"
        ),
        "angle",
        0.0,
        2 * pi,
        assumed="2 deg .. 12 deg",
        unless="parts",
    )
    parts: RestParts | None = table(RestParts, later("the wind-up as parts"), optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """The stages of the stop, in the order in which they run."""

    supply: Q = measured(
        later("at the hold winding, engine running"),
        "voltage",
        1.0,
        100.0,
        assumed="11.5 V .. 14.5 V",
        measure=later("A voltmeter at the solenoid's plug, read from outside."),
    )
    relay_release: Q = measured(
        later("from the trip output to the relay's contact opening"),
        "time",
        0.0,
        0.5,
        assumed="2 ms .. 15 ms",
    )
    hold_winding: HoldWinding = table(HoldWinding, later("the winding that holds the plunger"))
    plunger: Plunger = table(Plunger, later("the plunger's fall"))
    pawls: tuple[Pawl, ...] = table(Pawl, later("the pawls"), many=True)
    feeler_step: Q = measured(
        later(
            "step from one feeler blade, or drill shank, to the next that the gaps are"
            " measured with; without it 0.05 mm are assumed where a gap is set"
        ),
        "length",
        1e-5,
        2e-3,
    )
    rest: Rest = table(Rest, later("from the catch to standing still"))
