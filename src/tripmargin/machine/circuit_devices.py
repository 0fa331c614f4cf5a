"""Parts of the wiring with terminals of their own, and every kind of part by its word."""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.chain_sections import Suppression
from tripmargin.machine.circuit_parts import (
    Battery,
    BuzzerPart,
    CheckWindingPart,
    CircuitPart,
    ConnectorPart,
    DiodePart,
    FusePart,
    GroundPart,
    LampPart,
    LedPart,
    LoadPart,
    Q,
    ResistorPart,
    SensorPart,
    SwitchPart,
    TwoEnded,
    WirePart,
    Words,
    kind_field,
    ohm_field,
)
from tripmargin.machine.fields import measured, other, table


@dataclass(frozen=True, slots=True, kw_only=True)
class RelayPart(CircuitPart):
    """A relay."""

    kind: str = kind_field("relay", later("a relay"))
    at: Words = other(
        "words",
        later("node at each terminal: coil 86 to 85, common 30, make 87, break 87a"),
        keys=("86", "85", "30", "87", "87a"),
        needs=("86", "85", "30"),
        required=True,
    )
    coil: Quantity = ohm_field(later("of the coil"), "90 ohm")
    contact: Quantity = ohm_field(later("of a closed contact"), "10 mohm")
    pulls_at: Quantity = measured(later("across the coil"), "voltage", 0.1, 100.0, usual="7.2 V")
    drops_at: Quantity = measured(later("across the coil"), "voltage", 0.01, 100.0, usual="1.8 V")
    suppression: Suppression = table(
        Suppression, later("what sits across the coil"), usual={"kind": "none"}
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SolenoidPart(CircuitPart):
    """The two-winding solenoid."""

    kind: str = kind_field("solenoid", later("the two-winding solenoid that holds the pawls off"))
    at: Words = other(
        "words",
        later(
            "node at each terminal: hold, 31; pull where the pull winding is fed apart (else"
            " it is fed from hold, and the end-of-travel switch inside breaks it); end and"
            " end_return where that switch is wired apart"
        ),
        keys=("hold", "31", "pull", "end", "end_return"),
        needs=("hold", "31"),
        required=True,
    )
    hold: Q = ohm_field(later("of the hold winding; without it chain.hold_winding.resistance"))
    pull: Quantity = ohm_field(later("of the pull winding"), required=True)
    end_switch: Quantity = ohm_field(later("of the end-of-travel switch, closed"), "20 mohm")
    holds_from: Q = measured(
        later(
            "least current that holds the plunger; without it chain.hold_winding.release_current"
        ),
        "current",
        1e-6,
        1e3,
    )
    pulls_from: Quantity = measured(
        later("least current that pulls the plunger in"), "current", 1e-3, 1e3, required=True
    )
    suppression: Suppression | None = table(
        Suppression,
        later("what sits across the hold winding; without it chain.hold_winding.suppression"),
        optional=True,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ClutchPart(TwoEnded):
    """What drives the rolls."""

    kind: str = kind_field("clutch", later("an electric clutch or a valve that drives the rolls"))
    resistance: Quantity = ohm_field(later("of its winding"), required=True)
    grips_from: Quantity = measured(
        later("least current that drives the rolls"), "current", 1e-3, 1e3, required=True
    )
    drives: str = other("choice", later("which way"), choices=("forward", "reverse"), required=True)
    suppression: Suppression = table(
        Suppression, later("what sits across it"), usual={"kind": "diode", "voltage": "0.8 V"}
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectorSupply:
    """The supply that the detector's module wants."""

    falls_at: Q = measured(
        later("out of range below this; without it detector.supply_minimum"), "voltage", 0.5, 100.0
    )
    rises_at: Q = measured(
        later("in range from this on; without it 0.4 V above falls_at"), "voltage", 0.5, 100.0
    )
    alive_at: Quantity = measured(
        later("below this nothing in it works"), "voltage", 0.1, 100.0, usual="6 V"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectorInput:
    """An input of the detector's module."""

    above: Q = measured(later("active above this"), "voltage", 0.01, 100.0)
    below: Q = measured(later("or active below this"), "voltage", 0.01, 100.0)
    resistance: Quantity = ohm_field(
        later("that holds the open input at 31, or at 15 where it is active below"), "4.7 kohm"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectorReset(DetectorInput):
    """The reset input."""

    counts: str = other(
        "choice",
        later("as it becomes active (edge), or for as long as it is (level)"),
        choices=("edge", "level"),
        usual="edge",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectorLead:
    """The lead to the sensor, as the module watches it."""

    sound_from: Quantity = measured(later("least voltage of a sound lead"), "voltage", 0.0, 100.0)
    sound_to: Quantity = measured(later("greatest voltage of a sound lead"), "voltage", 0.0, 100.0)
    feed: Quantity = ohm_field(later("that feeds the lead from 15"), "18 kohm")
    broken: str = other(
        "choice",
        later("what a broken or shorted lead does"),
        choices=("trips", "goes unnoticed"),
        usual="trips",
    )


OUTPUTS = ("trip_out", "pull_out", "in_range", "low", "tripped")


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectorPart(CircuitPart):
    """The detector's module."""

    kind: str = kind_field(
        "detector", later("the detector's module, a latch that comes up tripped")
    )
    at: Words = other(
        "words",
        later(
            "node at each terminal: supply 15 and 31; reset, lock, sensor; trip_out (on while not"
            " tripped), pull_out (for a moment after a reset), and the lamps in_range, low, tripped"
        ),
        keys=("15", "31", "reset", "lock", "sensor", *OUTPUTS),
        needs=("15", "31", "reset"),
        required=True,
    )
    load: Quantity = ohm_field(later("what the module itself draws"), "240 ohm")
    supply: DetectorSupply = table(DetectorSupply, later("the supply that it wants"))
    reset: DetectorReset = table(DetectorReset, later("its reset input"), usual={"above": "6 V"})
    lock: DetectorInput = table(
        DetectorInput, later("its lock input: active trips it"), usual={"above": "6 V"}
    )
    lead: DetectorLead = table(
        DetectorLead,
        later("the lead at terminal sensor"),
        usual={"sound_from": "50 mV", "sound_to": "3 V"},
    )
    output: Quantity = ohm_field(later("of trip_out and pull_out, on"), "0.8 ohm")
    lamp_output: Quantity = ohm_field(later("of the lamps' outputs, on"), "5 ohm")
    to_ground: tuple[str, ...] = other(
        "texts", later("outputs that switch to 31 instead of from 15"), choices=OUTPUTS
    )


PARTS: dict[str, type] = {
    "battery": Battery,
    "fuse": FusePart,
    "wire": WirePart,
    "connector": ConnectorPart,
    "ground": GroundPart,
    "switch": SwitchPart,
    "relay": RelayPart,
    "solenoid": SolenoidPart,
    "clutch": ClutchPart,
    "detector": DetectorPart,
    "sensor": SensorPart,
    "check winding": CheckWindingPart,
    "lamp": LampPart,
    "led": LedPart,
    "buzzer": BuzzerPart,
    "diode": DiodePart,
    "resistor": ResistorPart,
    "load": LoadPart,
}
"""Kinds of part, by the word that a machine file uses."""
