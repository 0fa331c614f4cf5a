"""The tables of the machine file. Meanings as on the models page, one dataclass a table, SI inside.

Quantities hold their limits. A field that is None was neither given nor may be assumed; the answer
that needs it says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from tripmargin.ground.quantities import Quantity
from tripmargin.machine.fields import measured, number, other, table

Q = Quantity | None
_TAPE = "Use a tape measure."


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """Which machine this is."""

    name: str = other("text", "what people call the machine", required=True)
    description: str | None = other("text", "what kind of machine it is")
    serial: str | None = other("text", "serial number, from the type plate")


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """The rolls and the cutterhead: how fast metal travels and how far it may go."""

    knives: Q = number(
        "cuts per drum revolution",
        1,
        200,
        whole=True,
        measure="Count the cuts that one turn of the cutterhead makes at one spot of the shear"
        " bar. Count with the engine off and the key out; knives cut at rest too.",
    )
    cutterhead_speed: Q = measured(
        "speed of the cutterhead at work",
        "rotation",
        50 / 60,
        5000 / 60,
        measure="From the type plate or the operator's manual, or with a non-contact tachometer.",
    )
    cut_lengths: tuple[float, ...] = other(
        "lengths",
        "cut lengths on offer: gear steps, or the two ends of a range",
        dimension="length",
        low=0.5e-3,
        high=0.2,
        measure="From the table of gears or the setting range in the operator's manual.",
    )
    slip: Q = measured(
        "the crop runs slower than the rolls by this much",
        "fraction",
        -0.2,
        0.9,
        assumed="0 % .. 10 %",
        measure="Mark the mat, let it run a counted number of roll turns, compare the lengths.",
    )
    roll_diameter: Q = measured(
        "lower front roll over the flutes; it holds the sensor",
        "length",
        0.05,
        1.0,
        measure="Lay a straight edge on each side of the roll and measure between them.",
    )
    roll_width: Q = measured(
        "length of the lower front roll across the feed", "length", 0.1, 3.0, measure=_TAPE
    )
    sensor_to_shear_bar: Q = measured(
        "along the crop's path, from above the roll's axis to the shear bar's edge",
        "length",
        0.05,
        2.0,
        measure="Measure along the crop's path from above the roll's axis to the shear bar's edge.",
    )
    crop_depth: Q = measured(
        "heights above the top of the lower front roll at which pieces travel",
        "length",
        0.0,
        0.6,
        assumed="5 mm .. 110 mm",
        measure="The least and the greatest opening between the front rolls at work.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Magnet:
    """A magnet of the sensor: a cuboid."""

    size: tuple[Quantity, ...] = other(
        "vector",
        "size along x, y, z",
        dimension="length",
        low=1e-3,
        high=2.0,
        count=3,
        required=True,
    )
    remanence: Quantity = measured("remanence", "flux density", 0.01, 1.6, required=True)
    direction: tuple[float, ...] = other(
        "direction", "direction of magnetisation, any length", required=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """A winding: it fills the space between two rectangles evenly, axis along z."""

    turns: Quantity = number("number of turns", 1, 1e6, required=True)
    inner: tuple[Quantity, ...] = other(
        "vector",
        "inner rectangle, x and y",
        dimension="length",
        low=1e-3,
        high=3.0,
        count=2,
        required=True,
    )
    outer: tuple[Quantity, ...] = other(
        "vector",
        "outer rectangle, x and y",
        dimension="length",
        low=1e-3,
        high=3.0,
        count=2,
        required=True,
    )
    height: Quantity = measured("height along z", "length", 1e-4, 0.5, required=True)
    sense: int = other(
        "sense", "1: current right-handed about +z; -1: the other way", required=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """A magnet and the winding around it, both centred on one point."""

    centre: tuple[Quantity, ...] = other(
        "vector",
        "centre of magnet and winding, x, y, z from the roll's axis",
        dimension="length",
        low=-3.0,
        high=3.0,
        count=3,
        required=True,
    )
    magnet: Magnet | None = table(Magnet, "the magnet", optional=True)
    coil: Coil | None = table(Coil, "the winding", optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeper:
    """A soft-steel plate under the magnets."""

    centre: tuple[Quantity, ...] = other(
        "vector",
        "centre, x, y, z from the roll's axis",
        dimension="length",
        low=-3.0,
        high=3.0,
        count=3,
        required=True,
    )
    size: tuple[Quantity, ...] = other(
        "vector",
        "size along x, y, z",
        dimension="length",
        low=5e-4,
        high=4.0,
        count=3,
        required=True,
    )
    relative_permeability: Quantity = number("relative permeability", 1, 1e6, required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensor:
    """What stands still inside the lower front roll."""

    coil_resistance: Q = measured(
        "all windings in series",
        "resistance",
        0.1,
        1e6,
        measure="Unplug the sensor and measure across its two leads.",
    )
    rotation: Q = measured(
        "of the whole sensor about the roll's axis; 0 faces the crop, 180 is upside down",
        "angle",
        -2 * pi,
        2 * pi,
        assumed="0 deg +- 5 deg",
        measure="Read the mark on the end of the sensor's shaft against the mark on the frame.",
    )
    assemblies: tuple[Assembly, ...] = table(Assembly, "magnets with their windings", many=True)
    keeper: Keeper | None = table(Keeper, "soft-steel plate under the magnets", optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Detector:
    """The module that filters, amplifies and trips."""

    gain: Q = number("amplifier's gain in the pass band", 1e-6, 1e9)
    low_cut: Q = measured("first-order high-pass; without it there is none", "frequency", 1e-3, 1e5)
    high_cut: Q = measured(
        "second-order Butterworth low-pass; without it there is none", "frequency", 0.1, 1e6
    )
    threshold: Q = measured("trips at this output, either sign", "voltage", 1e-6, 1e3)
    noise: Q = measured(
        "rms at the amplifier's output, rolls turning, no metal; without it 2 to 10 % of the"
        " threshold are assumed",
        "voltage",
        0.0,
        1e3,
        measure="A true-rms meter on the amplifier's test point while the empty rolls turn,"
        " read from outside with all guards on.",
    )
    ripple: Q = measured(
        "amplitude of the output that repeats with each turn of the roll (a magnetised or bent"
        " roll); without it there is none",
        "voltage",
        0.0,
        1e3,
    )
    decision_delay: Q = measured(
        "from the crossing to the trip output", "time", 0.0, 0.5, assumed="1 ms .. 10 ms"
    )
    supply_minimum: Q = measured(
        "below this supply the module trips or stays tripped", "voltage", 1.0, 100.0
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Suppression:
    """What catches the hold winding's current when the relay lets go."""

    kind: str = other(
        "choice",
        "what is fitted across the winding",
        choices=("none", "resistor", "diode", "zener"),
        required=True,
    )
    resistance: Q = measured("of the resistor", "resistance", 0.0, 1e6)
    voltage: Q = measured("across the diode or zener while it conducts", "voltage", 0.0, 1e3)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldWinding:
    """The winding that holds the plunger; letting go makes the stop."""

    resistance: Q = measured(
        "at 20 degC",
        "resistance",
        0.01,
        1e5,
        measure="Unplug the solenoid, engine off and key out, and measure the winding with the"
        " higher resistance.",
    )
    inductance: Q = measured("plunger seated", "inductance", 1e-6, 100.0)
    release_current: Q = measured("where the spring beats the magnet", "current", 1e-6, 1e3)
    suppression: Suppression = table(
        Suppression, "what catches the current", assumed={"kind": "diode", "voltage": "0.8 V"}
    )
    temperature: Q = measured(
        "of the winding at work; without it the resistance is taken as written",
        "temperature",
        213.15,
        523.15,
    )
    release_time: Q = measured(
        "from the relay's opening to the plunger's start, where someone measured it; it replaces"
        " the computed decay",
        "time",
        0.0,
        1.0,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlungerParts:
    """The plunger as parts, for a stage computed and not measured."""

    mass: Quantity = measured("plunger with what moves along", "mass", 1e-4, 50.0, required=True)
    travel: Quantity = measured(
        "from seated to the pawls' release", "length", 1e-4, 0.2, required=True
    )
    spring_force: Quantity = measured(
        "return spring, plunger seated", "force", 0.01, 1e4, required=True
    )
    spring_rate: Quantity = measured("return spring", "stiffness", 0.0, 1e6, required=True)
    friction: Quantity = measured(
        "sliding friction of plunger and linkage", "force", 0.0, 1e4, required=True
    )
    damping: Q = measured("viscous", "damping", 0.0, 1e4)
    magnet_gap: Quantity = measured(
        "travel at which the winding's inductance has halved", "length", 1e-5, 0.05, required=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Plunger:
    """The plunger's fall, from its start to the pawls' release."""

    travel_time: Q = measured(
        "measured fall; `parts` take its place",
        "time",
        0.0,
        1.0,
        assumed="4 ms .. 15 ms",
        unless="parts",
    )
    parts: PlungerParts | None = table(PlungerParts, "the fall as parts", optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class SwingTime:
    """A pawl's swing, measured at one clearance."""

    time: Quantity = measured("swing", "time", 0.0, 1.0, required=True)
    at_clearance: Quantity = measured(
        "clearance at which it was measured", "length", 1e-4, 0.05, required=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PawlParts:
    """A pawl as parts, for a swing computed and not measured."""

    inertia: Quantity = measured("about the pivot", "moment of inertia", 1e-7, 10.0, required=True)
    spring_torque: Quantity = measured(
        "at the released position", "torque", 1e-4, 1e4, required=True
    )
    spring_rate: Quantity = measured(
        "of the spring about the pivot", "torsional stiffness", 0.0, 1e6, required=True
    )
    friction_torque: Quantity = measured("at the pivot", "torque", 0.0, 1e4, required=True)
    damping: Q = measured("viscous, at the pivot", "torsional damping", 0.0, 1e3)
    engagement_depth: Quantity = measured(
        "how deep the tip must fall behind the tooth", "length", 0.0, 0.05, required=True
    )
    tip_radius: Quantity = measured("pivot to tip", "length", 5e-3, 1.0, required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pawl:
    """A spring-loaded pawl and its ratchet."""

    name: str = other("text", "which pawl: lower, upper", required=True)
    clearance: Q = measured(
        "between pawl and ratchet while the feed runs",
        "length",
        -0.01,
        0.05,
        assumed="2 mm .. 8 mm",
        measure="Engine off, key out, everything at rest, stored energy released, feed rolls"
        " blocked. Then a feeler gauge or drill shanks between pawl and tooth tip.",
    )
    swing_time: SwingTime | None = table(
        SwingTime,
        "the swing, measured; scales with the square root of the clearance; `parts` take its place",
        assumed={"time": "5 ms .. 12 ms", "at_clearance": "3.5 mm"},
        unless="parts",
    )
    parts: PawlParts | None = table(PawlParts, "the swing as parts", optional=True)
    ratchet_teeth: Q = number(
        "teeth of the ratchet", 1, 400, whole=True, measure="Count them, engine off and key out."
    )
    ratchet_turns_per_roll_turn: Q = number(
        "turns of the ratchet for one turn of the lower front roll",
        0.01,
        100.0,
        measure="Turn the drive by hand with the engine off and count.",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RestParts:
    """Wind-up of the drive from engagement to rest, as parts."""

    inertia: Quantity = measured(
        "rolls and drive, at the roll", "moment of inertia", 1e-5, 1e3, required=True
    )
    stiffness: Quantity = measured(
        "of the caught drive, at the roll", "torsional stiffness", 1.0, 1e8, required=True
    )
    slip_torque: Quantity = measured(
        "of the slip clutch, at the roll", "torque", 1.0, 1e6, required=True
    )
    drag_torque: Quantity = measured("of the crop, at the roll", "torque", 0.0, 1e5, required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rest:
    """From the catch to standing still."""

    roll_angle: Q = measured(
        "turn of the roll from engagement to rest: wind-up of the drive while the slip clutch"
        " lets go; `parts` take its place",
        "angle",
        0.0,
        2 * pi,
        assumed="2 deg .. 12 deg",
        unless="parts",
    )
    parts: RestParts | None = table(RestParts, "the wind-up as parts", optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """The stages of the stop, in the order in which they run."""

    supply: Q = measured(
        "at the hold winding, engine running",
        "voltage",
        1.0,
        100.0,
        assumed="11.5 V .. 14.5 V",
        measure="A voltmeter at the solenoid's plug, read from outside.",
    )
    relay_release: Q = measured(
        "from the trip output to the relay's contact opening",
        "time",
        0.0,
        0.5,
        assumed="2 ms .. 15 ms",
    )
    hold_winding: HoldWinding = table(HoldWinding, "the winding that holds the plunger")
    plunger: Plunger = table(Plunger, "the plunger's fall")
    pawls: tuple[Pawl, ...] = table(Pawl, "the pawls", many=True)
    rest: Rest = table(Rest, "from the catch to standing still")


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What is asked of the machine."""

    clearance: Quantity = measured(
        "window for the pawls' clearance (common practice, no source: 2.5 to 5 mm)",
        "length",
        0.0,
        0.05,
        assumed="2.5 mm .. 5 mm",
    )
    stop_time: Quantity = measured(
        "greatest nominal stop time (common practice, no source: about 0.05 s)",
        "time",
        1e-3,
        2.0,
        assumed="60 ms",
    )
    confidence: Quantity = measured(
        "asked of P(stopped)", "fraction", 0.5, 0.999999999, assumed="99 %"
    )
    must_stop: str = other("text", "the piece that the verdict is about", assumed="20 mm ball")
