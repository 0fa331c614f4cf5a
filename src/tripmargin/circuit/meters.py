"""What a hand-held meter shows, which is not quite what is there without it."""

from __future__ import annotations

import math
from collections.abc import Collection

from tripmargin.circuit.errors import CircuitError, unknown
from tripmargin.circuit.network import Network, altered
from tripmargin.circuit.parts import GROUND, Contact, Failed, Part, Resistor, Source, original
from tripmargin.circuit.solving import solve

METER_OHM = 10e6
"""Ohm, of a digital voltmeter's input. Common practice, no source."""

OHMMETER_VOLTS = 0.2
"""V, of an ohmmeter between its probes: too little for a diode to conduct. Simplified; a real one
gives a small current instead."""

OHMMETER_RANGE = 20e6
"""Ohm. Above this a meter shows overload. Common practice, no source."""


def with_meters(network: Network, nodes: Collection[str], ohm: float = METER_OHM) -> Network:
    """The network with a voltmeter from each node to the battery's negative post.

    A wire that hangs in the air has some voltage in a computation; with a meter on it, it has that
    of the meter: next to nothing. Where a person will measure, let the meter be there.

    Raises
    ------
    CircuitError
        If a node is not there.

    Examples
    --------
    >>> from tripmargin.circuit import Contact
    >>> cut = Network((Source("B", "30", "0", 12.0), Contact("key", "30", "15"),
    ...                Resistor("R", "15", "a", 1.0), Contact("arm", "a", "0")))
    >>> [round(solve(each).voltages["15"], 2) for each in (cut, with_meters(cut, ["15"]))]
    [6.0, 0.12]
    """
    _require(network, nodes)
    meters = [Resistor(f"meter at {node}", node, GROUND, ohm) for node in nodes if node != GROUND]
    return altered(network, parts=(*network.parts, *meters))


def resistance(
    network: Network,
    red: str,
    black: str,
    *,
    closed: Collection[str] = (),
    unplugged: Collection[str] = (),
) -> float:
    """What an ohmmeter shows between two nodes of a circuit whose battery is disconnected.

    Parameters
    ----------
    network : Network
    red, black : str
        Nodes that the probes touch.
    closed : collection of str
        Contacts that are closed.
    unplugged : collection of str
        Parts that are unplugged meanwhile: what is parallel to a part is measured with it.

    Returns
    -------
    float, ohm
        Infinite where the meter shows overload, above 20 Mohm.

    Raises
    ------
    CircuitError
        If a node, contact or part is not there.

    Examples
    --------
    >>> pair = Network((Source("B", "30", "0", 12.0), Resistor("R1", "30", "0", 20.0),
    ...                 Resistor("R2", "30", "0", 30.0)))
    >>> round(resistance(pair, "30", "0"), 3)
    12.0
    >>> round(resistance(pair, "30", "0", unplugged=["R2"]), 3)
    20.0
    """
    _require(network, (red, black))
    names = [part.name for part in network.parts]
    wrong = [unknown("unplugged", name, names, "part") for name in unplugged if name not in names]
    if wrong:
        raise CircuitError(wrong)
    if red == black:
        return 0.0
    parts: list[Part] = [
        Failed(part.name, part.p, part.n, network.open_ohm, original(part))
        if isinstance(part, Source) or part.name in unplugged
        else part
        for part in network.parts
    ]
    meter = Source("ohmmeter", red, black, OHMMETER_VOLTS)
    found = solve(altered(network, parts=(*parts, meter)), closed)
    amps = found.currents["ohmmeter"]
    ohm = OHMMETER_VOLTS / amps if amps > 0 else math.inf
    return ohm if ohm <= OHMMETER_RANGE else math.inf


def _require(network: Network, nodes: Collection[str]) -> None:
    known = network.nodes
    wrong = [unknown("meter", node, known, "node") for node in nodes if node not in known]
    if wrong:
        raise CircuitError(wrong)


def nodes_measured(
    network: Network,
    red: str,
    black: str,
    *,
    closed: Collection[str] = (),
    unplugged: Collection[str] = (),
) -> frozenset[str]:
    """Nodes that an ohmmeter's current can reach from red before it is back at black.

    The battery is disconnected, and contacts that are not `closed` are open. A fault in a part
    that touches none of these nodes cannot change what the meter shows (`resistance`).

    Examples
    --------
    >>> pair = Network((Source("B", "30", "0", 12.0), Resistor("R1", "30", "0", 20.0),
    ...                 Resistor("R2", "30", "a", 30.0), Resistor("R3", "b", "0", 30.0)))
    >>> sorted(nodes_measured(pair, "30", "0"))
    ['30', 'a']
    """
    _require(network, (red, black))
    found, new = {red}, [red]
    while new:
        node = new.pop()
        for part in network.parts:
            if node not in (part.p, part.n) or part.name in unplugged:
                continue
            if isinstance(part, Source) or _open(part, closed):
                continue
            other = part.n if part.p == node else part.p
            if other not in found and other != black:
                found.add(other)
                new.append(other)
    return frozenset(found)


def _open(part: Part, closed: Collection[str]) -> bool:
    if not isinstance(part, Contact):
        return False
    return not (part.name in closed if part.stuck is None else part.stuck)
