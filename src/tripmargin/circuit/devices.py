"""Devices as they are fitted: a housing with terminals, which is several parts inside.

Terminals carry the designations of DIN 72552 where it has one: 30 battery, 15 switched supply,
31 ground, a relay's coil 86 to 85 and contacts 30, 87 (make) and 87a (break). Where it has none,
words of our own.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, ClassVar

from tripmargin.circuit.behaviours import Detector, Relay
from tripmargin.circuit.errors import CircuitError, problem, unknown
from tripmargin.circuit.moves import ByModule, ByPlunger, ByRelay
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import (
    Contact,
    Diode,
    Load,
    Part,
    RelayCoil,
    Resistor,
    Suppression,
    Winding,
)
from tripmargin.ground.errors import Problem
from tripmargin.ground.languages import say


@dataclass(frozen=True, slots=True)
class Device(ABC):
    """A housing: its name, and the node at each of its terminals."""

    name: str
    at: Mapping[str, str]
    needs: ClassVar[tuple[str, ...]] = ()
    may_have: ClassVar[tuple[str, ...]] = ()

    @abstractmethod
    def parts(self) -> tuple[Part, ...]:
        """What is inside, as parts between nodes."""

    def problems(self) -> list[Problem]:
        """Terminals that are not connected or that it does not have."""
        known = (*self.needs, *self.may_have)
        found = [
            unknown(f"{self.name}.{terminal}", terminal, known, "terminal")
            for terminal in self.at
            if terminal not in known
        ]
        for terminal in self.needs:
            if not self.at.get(terminal):
                found.append(
                    problem(
                        f"{self.name}.{terminal}",
                        None,
                        say("this terminal is not connected"),
                        say("the name of a node"),
                        say("Look at the housing: the number stands beside the pin."),
                    )
                )
        return found


def _suppressed(name: str, p: str, n: str, by: str, value: float | None) -> tuple[Part, ...]:
    """What sits across a winding from p to n: "none", "diode", "zener" or "resistor".

    The value of a resistor is in ohm, of a diode or a zener (one with a plain diode in series, so
    that it takes nothing while the winding is fed) in V.
    """
    if by == "diode" or (by == "zener" and value is not None):
        return (Diode(f"{name}.suppression", n, p, 0.8 if value is None else value),)
    if by == "resistor" and value is not None:
        return (Suppression(f"{name}.suppression", p, n, value),)
    if by == "none":
        return ()
    raise CircuitError(
        [
            problem(
                f"{name}.suppression",
                by,
                say("not known"),
                say("none, diode, zener with its V, or resistor with its ohm"),
            )
        ]
    )


@dataclass(frozen=True, slots=True)
class RelayUnit(Device):
    """A relay: coil 86 to 85, common 30, make contact 87, break contact 87a where it has one.

    Examples
    --------
    >>> at = {"86": "15a", "85": "D.T", "30": "15p", "87": "Y.87"}
    >>> [part.name for part in RelayUnit("K1", at).parts()]
    ['K1.coil', 'K1.87']
    """

    coil_ohm: float = 90.0
    contact_ohm: float = 0.01
    pulls_at: float = 7.2
    drops_at: float = 1.8
    suppression: str = "none"
    suppression_value: float | None = None
    needs: ClassVar[tuple[str, ...]] = ("86", "85", "30")
    may_have: ClassVar[tuple[str, ...]] = ("87", "87a")

    def parts(self) -> tuple[Part, ...]:
        """Coil, its suppression, and the contacts that are wired."""
        at, name = self.at, self.name
        inside: list[Part] = [RelayCoil(f"{name}.coil", at["86"], at["85"], self.coil_ohm)]
        inside += _suppressed(name, at["86"], at["85"], self.suppression, self.suppression_value)
        for terminal in ("87", "87a"):
            if terminal in at:
                by = ByRelay(name, make=terminal == "87")
                inside.append(
                    Contact(f"{name}.{terminal}", at["30"], at[terminal], self.contact_ohm, by)
                )
        return tuple(inside)

    def relay(self) -> Relay:
        """How it moves."""
        return Relay(self.name, f"{self.name}.coil", self.pulls_at, self.drops_at)


@dataclass(frozen=True, slots=True)
class Solenoid(Device):
    """A two-winding solenoid with its end-of-travel switch.

    Terminals: "hold", "31", and "pull" where the pull winding is fed apart. Without "pull" it is
    fed from "hold" and the end-of-travel switch, inside, breaks it. With "pull" that switch is
    wired apart, between terminals "end" and "end return".
    """

    hold_ohm: float = 18.0
    pull_ohm: float = 0.7
    end_switch_ohm: float = 0.02
    suppression: str = "none"
    suppression_value: float | None = None
    needs: ClassVar[tuple[str, ...]] = ("hold", "31")
    may_have: ClassVar[tuple[str, ...]] = ("pull", "end", "end return")

    def parts(self) -> tuple[Part, ...]:
        """Windings `.hold` and `.pull`, the switch `.end`, and the suppression."""
        at, name = self.at, self.name
        hold, ground = at["hold"], at["31"]
        inside: list[Part] = [Winding(f"{name}.hold", hold, ground, self.hold_ohm)]
        inside += _suppressed(name, hold, ground, self.suppression, self.suppression_value)
        end = ("end" in at, at.get("end", f"{name}.E"), at.get("end return", ground))
        if "pull" in at:
            inside.append(Winding(f"{name}.pull", at["pull"], ground, self.pull_ohm))
        else:
            inside.append(Winding(f"{name}.pull", hold, f"{name}.E", self.pull_ohm))
        if "pull" not in at or end[0]:
            inside.append(Contact(f"{name}.end", end[1], end[2], self.end_switch_ohm, ByPlunger()))
        return tuple(inside)


@dataclass(frozen=True, slots=True)
class Clutch(Device):
    """An electric clutch between terminals 15 and 31."""

    ohm: float = 3.2
    suppression: str = "diode"
    suppression_value: float | None = None
    needs: ClassVar[tuple[str, ...]] = ("15", "31")

    def parts(self) -> tuple[Part, ...]:
        """Its winding and what sits across it."""
        p, n = self.at["15"], self.at["31"]
        winding = Winding(f"{self.name}.winding", p, n, self.ohm)
        return (winding, *_suppressed(self.name, p, n, self.suppression, self.suppression_value))


@dataclass(frozen=True, slots=True)
class DetectorUnit(Device):
    """The detector's module: a load on its supply, its inputs' resistors, its outputs' switches.

    Attributes
    ----------
    watches : Detector
        How it decides; its nodes are those at the terminals.
    outputs : mapping of terminal to (output, ohm)
        Output is one of `MODULE_OUTPUTS`. It switches from 15, or to 31 if in `to_ground`.
    inputs : mapping of terminal to (ohm, "15" or "31")
        The resistor that holds an input up or down.
    """

    watches: Detector | None = None
    load_ohm: float = 270.0
    outputs: Mapping[str, tuple[str, float]] = field(default_factory=dict)
    to_ground: tuple[str, ...] = ()
    inputs: Mapping[str, tuple[float, str]] = field(default_factory=dict)
    needs: ClassVar[tuple[str, ...]] = ("15", "31")

    def problems(self) -> list[Problem]:
        """Supply, and every terminal that an input or output is named by, must be connected."""
        wanted = (*self.needs, *self.outputs, *self.inputs)
        return [
            problem(
                f"{self.name}.{each}",
                None,
                say("this terminal is not connected"),
                say("a node's name"),
            )
            for each in wanted
            if not self.at.get(each)
        ]

    def parts(self) -> tuple[Part, ...]:
        """Load, `.in.<terminal>` resistors and `.out.<terminal>` switches."""
        at, name = self.at, self.name
        inside: list[Part] = [Load(f"{name}.load", at["15"], at["31"], self.load_ohm)]
        for terminal, (ohm, rail) in self.inputs.items():
            inside.append(Resistor(f"{name}.in.{terminal}", at[rail], at[terminal], ohm))
        for terminal, (output, ohm) in self.outputs.items():
            ends = (
                (at[terminal], at["31"]) if terminal in self.to_ground else (at["15"], at[terminal])
            )
            inside.append(Contact(f"{name}.out.{terminal}", *ends, ohm, ByModule(output)))
        return tuple(inside)


def network_of(fitted: Iterable[Part | Device], **other: Any) -> Network:
    """A network of parts and devices, each device taken apart.

    Parameters
    ----------
    fitted : iterable of Part or Device
    **other
        Further fields of `Network`; relays and the detector's module come with the devices.

    Raises
    ------
    CircuitError
        If a terminal is not connected or not known, or the network cannot be solved.
    """
    fitted = tuple(fitted)
    devices = [each for each in fitted if isinstance(each, Device)]
    found = [each for device in devices for each in device.problems()]
    if found:
        raise CircuitError(found)
    parts: list[Part] = []
    for each in fitted:
        parts += each.parts() if isinstance(each, Device) else (each,)
    relays = tuple(device.relay() for device in devices if isinstance(device, RelayUnit))
    modules = [x.watches for x in devices if isinstance(x, DetectorUnit) and x.watches]
    if len(modules) > 1:
        raise CircuitError(
            [problem("detector", len(modules), say("more than one module"), say("one"))]
        )
    other.setdefault("detector", modules[0] if modules else None)
    return Network(tuple(parts), relays=relays, **other)
