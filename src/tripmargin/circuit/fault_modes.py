"""How parts fail: the default fault modes of each kind, and how often."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from tripmargin.circuit.errors import CircuitError, unknown
from tripmargin.circuit.faults import Change, Fault, at_part
from tripmargin.circuit.moves import ByModule, ByPlunger, ByRelay
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import (
    GROUND,
    Buzzer,
    Connector,
    Contact,
    Diode,
    Fuse,
    GroundJoint,
    Lamp,
    Led,
    Part,
    RelayCoil,
    Resistor,
    Source,
    Suppression,
    Winding,
    Wire,
)
from tripmargin.ground.languages import later
from tripmargin.ground.languages.phrases import Phrase, Words

INVENTED = later("invented")
"""Where a default rate comes from: no public rate for these machines was found, so each is ours.
A machine file overrides them."""

CHAFED_OHM = 0.05
"""Ohm, of a bare wire against the frame. Engineering judgement, no source."""

CORRODED_OHM = 2.0
"""Ohm, of a corroded ground joint; 1 to 100 ohm is common practice, no source."""

LOOSE_PIN_OHM = 5.0
"""Ohm, of a pin that is loose or green. Engineering judgement, no source."""

WEAK_RELAY_VOLTS = 13.0
"""V that a weak relay wants before it pulls. Engineering judgement, no source."""

WEAK_BATTERY_VOLTS = -1.2
"""V that a weak battery is down. Engineering judgement, no source."""


@dataclass(frozen=True, slots=True)
class FaultMode:
    """A fault, how often it comes (per 1000 operating hours), and where that rate is from."""

    fault: Fault
    rate: float
    source: str = INVENTED

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {
            "id": self.fault.id,
            "text": self.fault.text,
            "parts": list(self.fault.parts),
            "rate_per_1000_h": self.rate,
            "source": self.source,
        }


Mode = tuple[str, Words, tuple[Change, ...], float]


def fault_modes(network: Network) -> tuple[FaultMode, ...]:
    """The default fault modes of every part of a network, and the machine's own.

    Parameters
    ----------
    network : Network

    Returns
    -------
    tuple of FaultMode
        Rates are invented unless their source says otherwise.

    Examples
    --------
    >>> from tripmargin.circuit import Fuse, Load, Network, Source
    >>> car = Network((Source("BAT", "30", "0"), Fuse("F1", "30", "15"), Load("D", "15", "0")))
    >>> [mode.fault.id for mode in fault_modes(car)]
    ['BAT:weak', 'F1:open']
    """
    found = [_at(part.name, mode) for part in network.parts for mode in _modes(part)]
    for relay in network.relays:
        found += [_at(relay.name, mode) for mode in _relay_modes(relay.name, network)]
    if network.detector is not None:
        dead = later("the detector's sensing stage is dead")
        found.append(_behaviour("detect_dead", True, dead, 0.02))
    if network.mechanism is not None:
        found += [_behaviour(*row) for row in _MECHANICAL]
    return (*_with_own_rates(found, network.rates), *network.own_faults)


def _with_own_rates(
    found: list[FaultMode], rates: Mapping[str, tuple[float, str]]
) -> tuple[FaultMode, ...]:
    """The modes with the rates that this machine's file gives in place of the default ones."""
    known = [mode.fault.id for mode in found]
    wrong = [unknown(f"faults.{name}", name, known, "fault") for name in rates if name not in known]
    if wrong:
        raise CircuitError(wrong)
    return tuple(
        FaultMode(mode.fault, *rates.get(mode.fault.id, (mode.rate, mode.source))) for mode in found
    )


_MECHANICAL: tuple[tuple[str, bool | str, str, float], ...] = (
    ("plunger_spring_weak", True, later("the plunger's spring is weak"), 0.02),
    ("plunger_stuck", "out", later("the plunger is seized, let go"), 0.02),
    ("plunger_stuck", "in", later("the plunger is seized, pulled in"), 0.01),
    ("pawl_spring_broken", True, later("a pawl's spring is broken"), 0.03),
    ("linkage_broken", True, later("the linkage is broken: the pawls stay in"), 0.01),
    ("clearance_wide", True, later("the pawls' clearance is too wide"), 0.10),
)


def _at(part: str, mode: Mode) -> FaultMode:
    word, text, changes, rate = mode
    said = at_part(part, text if isinstance(text, Phrase) else Phrase(text))
    return FaultMode(Fault(f"{part}:{word}", said, changes, {}, (part,)), rate)


def _behaviour(name: str, value: bool | str, text: str, rate: float) -> FaultMode:
    word = name if value is True else f"{name}:{value}"
    where = (name.partition("_")[0],)
    return FaultMode(Fault(word, Phrase(text), (), {name: value}, where), rate)


def _modes(part: Part) -> Iterator[Mode]:
    for kind, modes in _BY_KIND.items():
        if type(part) is kind:
            yield from modes(part)


def _broken(text: str, rate: float) -> Callable[[Part], Iterator[Mode]]:
    def modes(part: Part) -> Iterator[Mode]:
        yield "open", text, (Change("open", part.name),), rate

    return modes


def _source_modes(part: Part) -> Iterator[Mode]:
    yield "weak", later("battery weak"), (Change("volts_offset", value=WEAK_BATTERY_VOLTS),), 0.10


def _wire_modes(part: Part) -> Iterator[Mode]:
    yield "open", later("wire broken"), (Change("open", part.name),), 0.03
    if GROUND not in (part.p, part.n):
        chafed = Resistor(f"{part.name}.chafed", part.n, GROUND, CHAFED_OHM)
        yield "chafed", later("wire chafed to ground"), (Change("add", added=chafed),), 0.02


def _ground_modes(part: Part) -> Iterator[Mode]:
    corroded = (Change("ohm", part.name, CORRODED_OHM),)
    text = Phrase(later("ground joint corroded, {value:g} ohm"), {"value": CORRODED_OHM})
    yield "corroded", text, corroded, 0.10
    yield "open", later("ground joint open"), (Change("open", part.name),), 0.03


def _connector_modes(part: Part) -> Iterator[Mode]:
    loose = (Change("ohm", part.name, LOOSE_PIN_OHM),)
    text = Phrase(later("pin loose or corroded, {value:g} ohm"), {"value": LOOSE_PIN_OHM})
    yield "loose", text, loose, 0.05
    yield "open", later("pin does not touch"), (Change("open", part.name),), 0.03


def _winding_modes(part: Part) -> Iterator[Mode]:
    yield "open", later("winding broken"), (Change("open", part.name),), 0.02
    if isinstance(part, Winding):
        yield (
            "turns",
            later("half its turns shorted"),
            (Change("ohm", part.name, part.ohm / 2),),
            0.005,
        )


def _diode_modes(part: Part) -> Iterator[Mode]:
    yield "open", later("diode open"), (Change("open", part.name),), 0.01
    yield "short", later("diode shorted"), (Change("short", part.name),), 0.005
    yield (
        "reverse",
        later("diode fitted the wrong way round"),
        (Change("reverse", part.name),),
        0.002,
    )


def _contact_modes(part: Part) -> Iterator[Mode]:
    by = part.by if isinstance(part, Contact) else None
    if by is None or isinstance(by, ByRelay):
        return
    if isinstance(by, ByModule):
        words = (later("output never switches on"), later("output never switches off"))
    elif isinstance(by, ByPlunger):
        words = (later("end-of-travel switch open"), later("end-of-travel switch stuck closed"))
    else:
        words = (later("contact never closes"), later("contact stuck closed"))
    yield "never", words[0], (Change("stuck", part.name, False),), 0.02
    yield "always", words[1], (Change("stuck", part.name, True),), 0.02


def _relay_modes(relay: str, network: Network) -> Iterator[Mode]:
    contacts = [
        (part.name, part.by.make)
        for part in network.parts
        if isinstance(part, Contact) and isinstance(part.by, ByRelay) and part.by.relay == relay
    ]
    makes = [name for name, make in contacts if make]
    breaks = [name for name, make in contacts if not make]
    shut = tuple(Change("stuck", name, True) for name in makes)
    apart = tuple(Change("stuck", name, False) for name in breaks)
    if makes:
        yield "welded", later("make contact welded"), shut + apart, 0.02
        dead = tuple(Change("stuck", name, False) for name in makes)
        yield "make", later("make contact does not conduct"), dead, 0.02
    if breaks:
        yield "break", later("break contact does not conduct"), apart, 0.01
    yield (
        "weak",
        later("relay weak, pulls late"),
        (Change("pulls_at", relay, WEAK_RELAY_VOLTS),),
        0.01,
    )


_BY_KIND: dict[type[Part], Callable[[Part], Iterator[Mode]]] = {
    Source: _source_modes,
    Wire: _wire_modes,
    Fuse: _broken(later("fuse gone"), 0.05),
    Connector: _connector_modes,
    GroundJoint: _ground_modes,
    RelayCoil: _broken(later("relay's coil broken"), 0.01),
    Winding: _winding_modes,
    Suppression: _broken(later("suppression open"), 0.01),
    Resistor: _broken(later("resistor broken"), 0.005),
    Lamp: _broken(later("lamp blown"), 0.20),
    Led: _broken(later("LED dead"), 0.02),
    Buzzer: _broken(later("buzzer dead"), 0.03),
    Diode: _diode_modes,
    Contact: _contact_modes,
}
