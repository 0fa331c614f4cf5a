"""The parts of the wiring in the machine file, a dataclass for each kind.

Nodes carry names of the person's own, best those that stand on the wiring diagram; "0" is the
battery's negative post. Terminals carry the designations of DIN 72552 where it has one. What the
machine file says elsewhere (the hold winding, the detector's least supply, the sensor's windings)
is taken from there where a part leaves it out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

from tripmargin.ground.quantities import Quantity
from tripmargin.machine.fields import measured, other, table
from tripmargin.machine.sections import Suppression

Q = Quantity | None
Words = tuple[tuple[str, str], ...]
_OHM = (1e-6, 1e9)


def _kind(word: str, meaning: str) -> str:
    kind: str = other("choice", meaning, choices=(word,), required=True)
    return kind


def _ohm(meaning: str, usual: str | None = None, **more: bool) -> Quantity:
    made: Quantity = measured(meaning, "resistance", *_OHM, usual=usual, **more)
    return made


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A table under a name of the person's own."""

    name: str = ""

    def called(self, name: str) -> Self:
        """The same table with its name."""
        return replace(self, name=name)


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitPart(Named):
    """A part of the wiring; what it is its `kind` says."""

    kind: str = _kind("part", "a part")
    place: str | None = other("text", "where on the machine it sits, for a person who looks for it")


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoEnded(CircuitPart):
    """A part with two ends."""

    between: tuple[str, ...] = other(
        "texts",
        "the two nodes at its ends; where it is polar, the one that the current enters first",
        count=2,
        required=True,
    )

    @property
    def ends(self) -> tuple[str, str]:
        """The two nodes."""
        first, second = self.between
        return first, second


@dataclass(frozen=True, slots=True, kw_only=True)
class Battery(TwoEnded):
    """The battery."""

    kind: str = _kind("battery", "the battery, positive post first")
    voltage: Quantity = measured(
        "where a step does not say otherwise", "voltage", 0.5, 100.0, usual="12.6 V"
    )
    inside: Q = _ohm("of the battery and its main leads; without it the source is ideal")


@dataclass(frozen=True, slots=True, kw_only=True)
class FusePart(TwoEnded):
    """A fuse."""

    kind: str = _kind("fuse", "a fuse")
    rating: Quantity = measured("printed on it", "current", 0.01, 1000.0, required=True)
    resistance: Q = _ohm(
        "cold; without it 75 mV over the rating, as blade fuses have (typical, from memory)"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WirePart(TwoEnded):
    """A wire."""

    kind: str = _kind("wire", "a wire, by length and section or by its resistance")
    length: Q = measured("of the copper from end to end", "length", 1e-3, 1e3)
    section: Q = measured(
        "0.5, 0.75, 1, 1.5, 2.5, 4, 6 or 10 mm2 (IEC 60228, flexible copper)", "area", 1e-8, 1e-3
    )
    resistance: Q = _ohm("instead of length and section")


@dataclass(frozen=True, slots=True, kw_only=True)
class ConnectorPart(TwoEnded):
    """A pin of a plug."""

    kind: str = _kind("connector", "a pin of a plug connection")
    resistance: Quantity = _ohm("of the plugged pin", "5 mohm")


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundPart(TwoEnded):
    """A joint to the frame."""

    kind: str = _kind("ground", "a joint to the frame, or of the frame to the battery")
    resistance: Quantity = _ohm("of the joint", "5 mohm")


@dataclass(frozen=True, slots=True, kw_only=True)
class ResistorPart(TwoEnded):
    """A resistor."""

    kind: str = _kind("resistor", "a resistor")
    resistance: Quantity = _ohm("of the resistor", required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadPart(TwoEnded):
    """A consumer."""

    kind: str = _kind("load", "another consumer on the same wiring, as a resistance")
    resistance: Quantity = _ohm("of the consumer", required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorPart(TwoEnded):
    """The sensor's windings."""

    kind: str = _kind("sensor", "the sensor's windings, all in series")
    resistance: Q = _ohm("of all windings; without it sensor.coil_resistance")


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckWindingPart(TwoEnded):
    """The test winding."""

    kind: str = _kind("check winding", "a winding in the sensor that a check button feeds")
    resistance: Quantity = _ohm("of the winding", required=True)
    button: str = other("text", "name of the switch that feeds it", usual="check")
    trips_from: Quantity = measured(
        "least current whose coming looks like metal to the detector",
        "current",
        1e-6,
        10.0,
        usual="10 mA",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DiodePart(TwoEnded):
    """A diode."""

    kind: str = _kind("diode", "a diode, the end that the current enters first")
    forward: Quantity = measured(
        "across it while it conducts", "voltage", 0.05, 100.0, usual="0.8 V"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SignPart(TwoEnded):
    """What a person looks at or listens to."""

    proves: str | None = other("text", "what it says when it is on", required=True)
    colour: str | None = other("text", "its colour")


@dataclass(frozen=True, slots=True, kw_only=True)
class LampPart(SignPart):
    """A filament lamp."""

    kind: str = _kind("lamp", "a filament lamp")
    power: Quantity = measured("printed on it, at 12 V", "power", 0.05, 500.0, required=True)
    on_from: Quantity = measured("across it, burns", "voltage", 0.01, 100.0, usual="7.2 V")
    dim_from: Quantity = measured("across it, glimmers", "voltage", 0.01, 100.0, usual="3 V")


@dataclass(frozen=True, slots=True, kw_only=True)
class BuzzerPart(SignPart):
    """A buzzer."""

    kind: str = _kind("buzzer", "a buzzer")
    resistance: Quantity = _ohm("while it sounds", "150 ohm")
    on_from: Quantity = measured("across it, sounds", "voltage", 0.01, 100.0, usual="6 V")
    dim_from: Quantity = measured("across it, hums", "voltage", 0.01, 100.0, usual="3 V")


@dataclass(frozen=True, slots=True, kw_only=True)
class LedPart(SignPart):
    """A light-emitting diode."""

    kind: str = _kind("led", "an LED with its resistor, the end that the current enters first")
    forward: Quantity = measured("of the LED alone", "voltage", 0.5, 50.0, usual="2 V")
    series: Quantity = _ohm("of its resistor", "1 kohm")
    on_from: Quantity = measured("shines", "current", 1e-6, 10.0, usual="3 mA")
    dim_from: Quantity = measured("glimmers", "current", 1e-6, 10.0, usual="0.5 mA")


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchPart(TwoEnded):
    """A contact that a hand moves."""

    kind: str = _kind("switch", "a contact that a hand, a lever or a button moves")
    switch: str | None = other(
        "text", "the switch that it belongs to; without it a switch of the contact's own name"
    )
    closed_in: tuple[str, ...] = other(
        "texts", 'positions in which it is closed; without it, and without open_in, "on"'
    )
    open_in: tuple[str, ...] = other(
        "texts", "or the positions in which it is open, closed in all others"
    )
    resistance: Quantity = _ohm("closed", "10 mohm")


@dataclass(frozen=True, slots=True, kw_only=True)
class RelayPart(CircuitPart):
    """A relay."""

    kind: str = _kind("relay", "a relay")
    at: Words = other(
        "words",
        "node at each terminal: coil 86 to 85, common 30, make 87, break 87a",
        keys=("86", "85", "30", "87", "87a"),
        needs=("86", "85", "30"),
        required=True,
    )
    coil: Quantity = _ohm("of the coil", "90 ohm")
    contact: Quantity = _ohm("of a closed contact", "10 mohm")
    pulls_at: Quantity = measured("across the coil", "voltage", 0.1, 100.0, usual="7.2 V")
    drops_at: Quantity = measured("across the coil", "voltage", 0.01, 100.0, usual="1.8 V")
    suppression: Suppression = table(
        Suppression, "what sits across the coil", usual={"kind": "none"}
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SolenoidPart(CircuitPart):
    """The two-winding solenoid."""

    kind: str = _kind("solenoid", "the two-winding solenoid that holds the pawls off")
    at: Words = other(
        "words",
        "node at each terminal: hold, 31; pull where the pull winding is fed apart (else it is fed"
        " from hold, and the end-of-travel switch inside breaks it); end and end_return where that"
        " switch is wired apart",
        keys=("hold", "31", "pull", "end", "end_return"),
        needs=("hold", "31"),
        required=True,
    )
    hold: Q = _ohm("of the hold winding; without it chain.hold_winding.resistance")
    pull: Quantity = _ohm("of the pull winding", required=True)
    end_switch: Quantity = _ohm("of the end-of-travel switch, closed", "20 mohm")
    holds_from: Q = measured(
        "least current that holds the plunger; without it chain.hold_winding.release_current",
        "current",
        1e-6,
        1e3,
    )
    pulls_from: Quantity = measured(
        "least current that pulls the plunger in", "current", 1e-3, 1e3, required=True
    )
    suppression: Suppression | None = table(
        Suppression,
        "what sits across the hold winding; without it chain.hold_winding.suppression",
        optional=True,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ClutchPart(TwoEnded):
    """What drives the rolls."""

    kind: str = _kind("clutch", "an electric clutch or a valve that drives the rolls")
    resistance: Quantity = _ohm("of its winding", required=True)
    grips_from: Quantity = measured(
        "least current that drives the rolls", "current", 1e-3, 1e3, required=True
    )
    drives: str = other("choice", "which way", choices=("forward", "reverse"), required=True)
    suppression: Suppression = table(
        Suppression, "what sits across it", usual={"kind": "diode", "voltage": "0.8 V"}
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectorSupply:
    """The supply that the detector's module wants."""

    falls_at: Q = measured(
        "out of range below this; without it detector.supply_minimum", "voltage", 0.5, 100.0
    )
    rises_at: Q = measured(
        "in range from this on; without it 0.4 V above falls_at", "voltage", 0.5, 100.0
    )
    alive_at: Quantity = measured(
        "below this nothing in it works", "voltage", 0.1, 100.0, usual="6 V"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectorInput:
    """An input of the detector's module."""

    above: Q = measured("active above this", "voltage", 0.01, 100.0)
    below: Q = measured("or active below this", "voltage", 0.01, 100.0)
    resistance: Quantity = _ohm(
        "that holds the open input at 31, or at 15 where it is active below", "4.7 kohm"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectorReset(DetectorInput):
    """The reset input."""

    counts: str = other(
        "choice",
        "as it becomes active (edge), or for as long as it is (level)",
        choices=("edge", "level"),
        usual="edge",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectorLead:
    """The lead to the sensor, as the module watches it."""

    sound_from: Quantity = measured("least voltage of a sound lead", "voltage", 0.0, 100.0)
    sound_to: Quantity = measured("greatest voltage of a sound lead", "voltage", 0.0, 100.0)
    feed: Quantity = _ohm("that feeds the lead from 15", "18 kohm")
    broken: str = other(
        "choice",
        "what a broken or shorted lead does",
        choices=("trips", "goes unnoticed"),
        usual="trips",
    )


OUTPUTS = ("trip_out", "pull_out", "in_range", "low", "tripped")


@dataclass(frozen=True, slots=True, kw_only=True)
class DetectorPart(CircuitPart):
    """The detector's module."""

    kind: str = _kind("detector", "the detector's module, a latch that comes up tripped")
    at: Words = other(
        "words",
        "node at each terminal: supply 15 and 31; reset, lock, sensor; trip_out (on while not"
        " tripped), pull_out (for a moment after a reset), and the lamps in_range, low, tripped",
        keys=("15", "31", "reset", "lock", "sensor", *OUTPUTS),
        needs=("15", "31", "reset"),
        required=True,
    )
    load: Quantity = _ohm("what the module itself draws", "240 ohm")
    supply: DetectorSupply = table(DetectorSupply, "the supply that it wants")
    reset: DetectorReset = table(DetectorReset, "its reset input", usual={"above": "6 V"})
    lock: DetectorInput = table(
        DetectorInput, "its lock input: active trips it", usual={"above": "6 V"}
    )
    lead: DetectorLead = table(
        DetectorLead,
        "the lead at terminal sensor",
        usual={"sound_from": "50 mV", "sound_to": "3 V"},
    )
    output: Quantity = _ohm("of trip_out and pull_out, on", "0.8 ohm")
    lamp_output: Quantity = _ohm("of the lamps' outputs, on", "5 ohm")
    to_ground: tuple[str, ...] = other(
        "texts", "outputs that switch to 31 instead of from 15", choices=OUTPUTS
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
