"""Two wires of a loom that chafe through and touch: any two may, and no file can list them all."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from tripmargin.circuit import Change, Fault, Network, Resistor, Wire
from tripmargin.circuit.faults import at_part
from tripmargin.circuit.parts import GROUND
from tripmargin.faultfinding.suspects.cause import Cause
from tripmargin.ground.languages import later
from tripmargin.ground.languages.phrases import Phrase

TOUCHES_OHM = 0.05
"""Ohm, of two bare wires against each other. Engineering judgement, no source."""
RATE = 0.01
"""Per 1000 h, that a wire touches some other one (invented)."""


def touching_wires(network: Network) -> tuple[Cause, ...]:
    """Every two wires that may touch, but those whose touching the machine file lists itself.

    Where they touch is taken as where they end. They stand in no table: what a loom's neighbours
    are only the machine file knows, and a fault that it lists stands there.
    """
    wires = [
        part for part in network.parts if type(part) is Wire and GROUND not in (part.p, part.n)
    ]
    listed = {nodes for mode in network.own_faults for nodes in _joined(mode.fault)}
    found = []
    for one, other in combinations(wires, 2):
        nodes = frozenset((one.n, other.n))
        if len(nodes) == 2 and nodes not in listed:
            found.append(_touching(one, other, RATE / max(len(wires) - 1, 1)))
    return tuple(found)


def _joined(fault: Fault) -> Iterator[frozenset[str]]:
    for change in fault.changes:
        if change.added is not None:
            yield frozenset((change.added.p, change.added.n))


def _touching(one: Wire, other: Wire, rate: float) -> Cause:
    name = f"{one.name}:touches {other.name}"
    text = Phrase(later("{one} touches {other}"), {"one": one.name, "other": other.name})
    added = Resistor(f"{one.name}.touch", one.n, other.n, TOUCHES_OHM)
    fault = Fault(name, text, (Change("add", added=added),), {}, (one.name,))
    family = f"{one.name}:touches"
    said = at_part(one.name, Phrase(later("touches another wire")))
    return Cause(name, text, one.name, rate, fault=fault, strength_of=family, at_any_strength=said)
