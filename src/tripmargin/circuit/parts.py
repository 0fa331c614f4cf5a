"""Two-ended parts of a circuit: a name, two nodes, and what the part does to a current.

Nodes carry plain names; "0" is the battery's negative post. Where a part is polar, `p` is the end
that the current enters. Values are SI.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

from tripmargin.circuit.moves import Mover
from tripmargin.circuit.wires import wire_resistance

GROUND = "0"
"""The node that all voltages count from: the battery's negative post."""

OPEN_OHM = 1e9
"""Ohm. What a contact, a diode the wrong way round or a broken wire still lets through. It keeps
every node at a definite voltage, as the high resistance of a real insulation does."""


@dataclass(frozen=True, slots=True)
class Part:
    """A part between two nodes; its kind is a word of the trade."""

    name: str
    p: str
    n: str
    kind: ClassVar[str] = "part"


@dataclass(frozen=True, slots=True)
class Source(Part):
    """An ideal source of `volts`; one that `follows` takes the step's battery voltage instead."""

    volts: float = 12.6
    follows: bool = False
    kind: ClassVar[str] = "source"


@dataclass(frozen=True, slots=True)
class Resistive(Part):
    """A part that is nothing but its resistance, ohm."""

    ohm: float = 1.0
    kind: ClassVar[str] = "resistor"


@dataclass(frozen=True, slots=True)
class Resistor(Resistive):
    """A resistor."""


@dataclass(frozen=True, slots=True)
class Wire(Resistive):
    """A wire; `length` (m) and `section` (m2) where they are known.

    >>> round(Wire.of("W1", "15", "D.15", length=3.0, section=0.75e-6).ohm, 4)
    0.078
    """

    length: float | None = None
    section: float | None = None
    kind: ClassVar[str] = "wire"

    @classmethod
    def of(cls, name: str, p: str, n: str, *, length: float, section: float) -> Wire:
        """A wire from its length, m, and section, m2, by the table of IEC 60228."""
        return cls(name, p, n, wire_resistance(length, section), length, section)


@dataclass(frozen=True, slots=True)
class Fuse(Resistive):
    """A fuse: its cold resistance and its rating, A."""

    rating: float = 10.0
    kind: ClassVar[str] = "fuse"


@dataclass(frozen=True, slots=True)
class Connector(Resistive):
    """A pin of a plug connection."""

    kind: ClassVar[str] = "connector"


@dataclass(frozen=True, slots=True)
class GroundJoint(Resistive):
    """A joint to the frame, or of the frame to the battery: where corrosion sits."""

    kind: ClassVar[str] = "ground"


@dataclass(frozen=True, slots=True)
class Load(Resistive):
    """What a module or another consumer draws, as a resistance."""

    kind: ClassVar[str] = "load"


@dataclass(frozen=True, slots=True)
class Winding(Resistive):
    """A winding of a solenoid, clutch, valve or sensor, at 20 degC."""

    kind: ClassVar[str] = "winding"


@dataclass(frozen=True, slots=True)
class RelayCoil(Winding):
    """A relay's coil between its terminals 86 and 85."""

    kind: ClassVar[str] = "coil"


@dataclass(frozen=True, slots=True)
class Suppression(Resistive):
    """A resistor across a winding that takes its energy when it is switched off."""

    kind: ClassVar[str] = "suppression"


@dataclass(frozen=True, slots=True)
class Indicator(Resistive):
    """A filament lamp or a buzzer: `on` and `dim` are voltages across it, V."""

    on: float = 7.2
    dim: float = 3.0


@dataclass(frozen=True, slots=True)
class Lamp(Indicator):
    """A filament lamp, as its hot resistance (a simplification: cold it draws 8 to 10 times)."""

    kind: ClassVar[str] = "lamp"


@dataclass(frozen=True, slots=True)
class Buzzer(Indicator):
    """A buzzer."""

    on: float = 6.0
    kind: ClassVar[str] = "buzzer"


@dataclass(frozen=True, slots=True)
class Diode(Part):
    """A diode: nothing below its forward voltage, (u - forward) / slope above it."""

    forward: float = 0.8
    slope: float = 0.05
    kind: ClassVar[str] = "diode"


@dataclass(frozen=True, slots=True)
class Led(Diode):
    """An LED with its resistor in series: `on` and `dim` are currents, A."""

    forward: float = 2.0
    slope: float = 1000.0
    on: float = 3e-3
    dim: float = 0.5e-3
    kind: ClassVar[str] = "led"


@dataclass(frozen=True, slots=True)
class Contact(Part):
    """A contact: its closed resistance, ohm, what moves it, and whether it is stuck."""

    ohm: float = 0.01
    by: Mover | None = None
    stuck: bool | None = None
    kind: ClassVar[str] = "contact"

    def stuck_at(self, closed: bool) -> Contact:
        """The same contact, no longer moved by anything."""
        return replace(self, stuck=closed)


@dataclass(frozen=True, slots=True)
class Failed(Resistive):
    """What is left of a part that is broken or shorted inside: a resistance, and what it `was`."""

    was: Part | None = None
    kind: ClassVar[str] = "failed part"


def original(part: Part) -> Part:
    """The part as it was fitted."""
    return part.was if isinstance(part, Failed) and part.was is not None else part


INDICATORS = (Led, Indicator)
"""Parts that a person looks at or listens to."""
