"""The parts of the wiring in the machine file, a dataclass for each kind.

Nodes carry names of the person's own, best those that stand on the wiring diagram; "0" is the
battery's negative post. Terminals carry the designations of DIN 72552 where it has one. What the
machine file says elsewhere (the hold winding, the detector's least supply, the sensor's windings)
is taken from there where a part leaves it out.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine.fields import measured, other

Q = Quantity | None
Words = tuple[tuple[str, str], ...]
_OHM = (1e-6, 1e9)


def kind_field(word: str, meaning: str) -> str:
    """The field that says what kind of part a table is."""
    kind: str = other("choice", meaning, choices=(word,), required=True)
    return kind


def ohm_field(meaning: str, usual: str | None = None, **more: bool) -> Quantity:
    """A field that holds a resistance."""
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

    kind: str = kind_field("part", later("a part"))
    place: str | None = other(
        "text", later("where on the machine it sits, for a person who looks for it")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoEnded(CircuitPart):
    """A part with two ends."""

    between: tuple[str, ...] = other(
        "texts",
        later(
            "the two nodes at its ends; where it is polar, the one that the current enters first"
        ),
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

    kind: str = kind_field("battery", later("the battery, positive post first"))
    voltage: Quantity = measured(
        later("where a step does not say otherwise"), "voltage", 0.5, 100.0, usual="12.6 V"
    )
    inside: Q = ohm_field(
        later("of the battery and its main leads; without it the source is ideal")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class FusePart(TwoEnded):
    """A fuse."""

    kind: str = kind_field("fuse", later("a fuse"))
    rating: Quantity = measured(later("printed on it"), "current", 0.01, 1000.0, required=True)
    resistance: Q = ohm_field(
        later("cold; without it 75 mV over the rating, as blade fuses have (typical, from memory)")
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WirePart(TwoEnded):
    """A wire."""

    kind: str = kind_field("wire", later("a wire, by length and section or by its resistance"))
    length: Q = measured(later("of the copper from end to end"), "length", 1e-3, 1e3)
    section: Q = measured(
        later("0.5, 0.75, 1, 1.5, 2.5, 4, 6 or 10 mm2 (IEC 60228, flexible copper)"),
        "area",
        1e-8,
        1e-3,
    )
    resistance: Q = ohm_field(later("instead of length and section"))


@dataclass(frozen=True, slots=True, kw_only=True)
class ConnectorPart(TwoEnded):
    """A pin of a plug."""

    kind: str = kind_field("connector", later("a pin of a plug connection"))
    resistance: Quantity = ohm_field(later("of the plugged pin"), "5 mohm")


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundPart(TwoEnded):
    """A joint to the frame."""

    kind: str = kind_field("ground", later("a joint to the frame, or of the frame to the battery"))
    resistance: Quantity = ohm_field(later("of the joint"), "5 mohm")


@dataclass(frozen=True, slots=True, kw_only=True)
class ResistorPart(TwoEnded):
    """A resistor."""

    kind: str = kind_field("resistor", later("a resistor"))
    resistance: Quantity = ohm_field(later("of the resistor"), required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadPart(TwoEnded):
    """A consumer."""

    kind: str = kind_field("load", later("another consumer on the same wiring, as a resistance"))
    resistance: Quantity = ohm_field(later("of the consumer"), required=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorPart(TwoEnded):
    """The sensor's windings."""

    kind: str = kind_field("sensor", later("the sensor's windings, all in series"))
    resistance: Q = ohm_field(later("of all windings; without it sensor.coil_resistance"))


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckWindingPart(TwoEnded):
    """The test winding."""

    kind: str = kind_field(
        "check winding", later("a winding in the sensor that a check button feeds")
    )
    resistance: Quantity = ohm_field(later("of the winding"), required=True)
    button: str = other("text", later("name of the switch that feeds it"), usual="check")
    trips_from: Quantity = measured(
        later("least current whose coming looks like metal to the detector"),
        "current",
        1e-6,
        10.0,
        usual="10 mA",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DiodePart(TwoEnded):
    """A diode."""

    kind: str = kind_field("diode", later("a diode, the end that the current enters first"))
    forward: Quantity = measured(
        later("across it while it conducts"), "voltage", 0.05, 100.0, usual="0.8 V"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SignPart(TwoEnded):
    """What a person looks at or listens to."""

    proves: str | None = other("text", later("what it says when it is on"), required=True)
    colour: str | None = other("text", later("its colour"))


@dataclass(frozen=True, slots=True, kw_only=True)
class LampPart(SignPart):
    """A filament lamp."""

    kind: str = kind_field("lamp", later("a filament lamp"))
    power: Quantity = measured(later("printed on it, at 12 V"), "power", 0.05, 500.0, required=True)
    on_from: Quantity = measured(later("across it, burns"), "voltage", 0.01, 100.0, usual="7.2 V")
    dim_from: Quantity = measured(later("across it, glimmers"), "voltage", 0.01, 100.0, usual="3 V")


@dataclass(frozen=True, slots=True, kw_only=True)
class BuzzerPart(SignPart):
    """A buzzer."""

    kind: str = kind_field("buzzer", later("a buzzer"))
    resistance: Quantity = ohm_field(later("while it sounds"), "150 ohm")
    on_from: Quantity = measured(later("across it, sounds"), "voltage", 0.01, 100.0, usual="6 V")
    dim_from: Quantity = measured(later("across it, hums"), "voltage", 0.01, 100.0, usual="3 V")


@dataclass(frozen=True, slots=True, kw_only=True)
class LedPart(SignPart):
    """A light-emitting diode."""

    kind: str = kind_field(
        "led", later("an LED with its resistor, the end that the current enters first")
    )
    forward: Quantity = measured(later("of the LED alone"), "voltage", 0.5, 50.0, usual="2 V")
    series: Quantity = ohm_field(later("of its resistor"), "1 kohm")
    on_from: Quantity = measured(later("shines"), "current", 1e-6, 10.0, usual="3 mA")
    dim_from: Quantity = measured(later("glimmers"), "current", 1e-6, 10.0, usual="0.5 mA")


@dataclass(frozen=True, slots=True, kw_only=True)
class SwitchPart(TwoEnded):
    """A contact that a hand moves."""

    kind: str = kind_field("switch", later("a contact that a hand, a lever or a button moves"))
    switch: str | None = other(
        "text",
        later("the switch that it belongs to; without it a switch of the contact's own name"),
    )
    closed_in: tuple[str, ...] = other(
        "texts", later('positions in which it is closed; without it, and without open_in, "on"')
    )
    open_in: tuple[str, ...] = other(
        "texts", later("or the positions in which it is open, closed in all others")
    )
    resistance: Quantity = ohm_field(later("closed"), "10 mohm")
