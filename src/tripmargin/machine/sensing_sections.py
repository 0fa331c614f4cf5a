"""What sees the metal, in the machine file: magnets, windings, keeper, the detector's module."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.fields import measured, number, other, table

Q = Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Magnet:
    """A magnet of the sensor: a cuboid."""

    size: tuple[Quantity, ...] = other(
        "vector",
        later("size along x, y, z"),
        dimension="length",
        low=1e-3,
        high=2.0,
        count=3,
        required=True,
    )
    remanence: Quantity = measured(later("remanence"), "flux density", 0.01, 1.6, required=True)
    direction: tuple[float, ...] = other(
        "direction", later("direction of magnetisation, any length"), required=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """A winding: it fills the space between two rectangles evenly, axis along z."""

    turns: Quantity = number(later("number of turns"), 1, 1e6, required=True)
    inner: tuple[Quantity, ...] = other(
        "vector",
        later("inner rectangle, x and y"),
        dimension="length",
        low=1e-3,
        high=3.0,
        count=2,
        required=True,
    )
    outer: tuple[Quantity, ...] = other(
        "vector",
        later("outer rectangle, x and y"),
        dimension="length",
        low=1e-3,
        high=3.0,
        count=2,
        required=True,
    )
    height: Quantity = measured(later("height along z"), "length", 1e-4, 0.5, required=True)
    sense: int = other(
        "sense", later("1: current right-handed about +z; -1: the other way"), required=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """A magnet and the winding around it, both centred on one point."""

    centre: tuple[Quantity, ...] = other(
        "vector",
        later("centre of magnet and winding, x, y, z from the roll's axis"),
        dimension="length",
        low=-3.0,
        high=3.0,
        count=3,
        required=True,
    )
    magnet: Magnet | None = table(Magnet, later("the magnet"), optional=True)
    coil: Coil | None = table(Coil, later("the winding"), optional=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Keeper:
    """A soft-steel plate under the magnets."""

    centre: tuple[Quantity, ...] = other(
        "vector",
        later("centre, x, y, z from the roll's axis"),
        dimension="length",
        low=-3.0,
        high=3.0,
        count=3,
        required=True,
    )
    size: tuple[Quantity, ...] = other(
        "vector",
        later("size along x, y, z"),
        dimension="length",
        low=5e-4,
        high=4.0,
        count=3,
        required=True,
    )
    relative_permeability: Quantity = number(later("relative permeability"), 1, 1e6, required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensor:
    """What stands still inside the lower front roll."""

    coil_resistance: Q = measured(
        later("all windings in series"),
        "resistance",
        0.1,
        1e6,
        measure=later("Unplug the sensor and measure across its two leads."),
    )
    rotation: Q = measured(
        later("of the whole sensor about the roll's axis; 0 faces the crop, 180 is upside down"),
        "angle",
        -2 * pi,
        2 * pi,
        assumed="0 deg +- 5 deg",
        measure=later(
            "Read the mark on the end of the sensor's shaft against the mark on the frame."
        ),
    )
    assemblies: tuple[Assembly, ...] = table(
        Assembly, later("magnets with their windings"), many=True
    )
    keeper: Keeper | None = table(
        Keeper, later("soft-steel plate under the magnets"), optional=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Detector:
    """The module that filters, amplifies and trips."""

    gain: Q = number(later("amplifier's gain in the pass band"), 1e-6, 1e9)
    low_cut: Q = measured(
        later("first-order high-pass; without it there is none"), "frequency", 1e-3, 1e5
    )
    high_cut: Q = measured(
        later("second-order Butterworth low-pass; without it there is none"), "frequency", 0.1, 1e6
    )
    threshold: Q = measured(later("trips at this output, either sign"), "voltage", 1e-6, 1e3)
    noise: Q = measured(
        later(
            "rms at the amplifier's output, rolls turning, no metal; without it 2 to 10 % of the"
            " threshold are assumed"
        ),
        "voltage",
        0.0,
        1e3,
        measure=later(
            "A true-rms meter on the amplifier's test point while the empty rolls turn,"
            " read from outside with all guards on."
        ),
    )
    ripple: Q = measured(
        later(
            "amplitude of the output that repeats with each turn of the roll (a magnetised or bent"
            " roll); without it there is none"
        ),
        "voltage",
        0.0,
        1e3,
    )
    decision_delay: Q = measured(
        later("from the crossing to the trip output"), "time", 0.0, 0.5, assumed="1 ms .. 10 ms"
    )
    supply_minimum: Q = measured(
        later("below this supply the module trips or stays tripped"), "voltage", 1.0, 100.0
    )
