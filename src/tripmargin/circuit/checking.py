"""Whether a circuit can be solved: every problem at once, each with its mending."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from tripmargin.circuit.behaviours import BEHAVIOURS, LOCK_HOLDS, MOVEMENTS
from tripmargin.circuit.errors import problem, unknown
from tripmargin.circuit.moves import MODULE_OUTPUTS, ByModule, ByPlunger, ByRelay
from tripmargin.circuit.parts import GROUND, Contact, Diode, Part, Resistive, Source, Wire
from tripmargin.ground.errors import Problem
from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.circuit.network import Network


def problems_of(network: Network) -> list[Problem]:
    """All that is wrong with a network; none means that it can be solved."""
    found = [
        *_names(network.parts),
        *_signs(network),
        *_terminals(network.parts),
        *_values(network),
    ]
    if not found:
        found = [
            *_wires_to_nowhere(network),
            *_source_loops(network.parts),
            *_hanging(network.parts),
            *_behaviours(network),
            *_movers(network),
        ]
    return found


def _names(parts: Iterable[Part]) -> Iterator[Problem]:
    counts = Counter(part.name for part in parts)
    if not counts:
        yield problem(
            "parts", None, say("the circuit has no parts"), say("at least a source and a load")
        )
    for name, count in counts.items():
        if count > 1:
            yield problem(
                name,
                None,
                say("{count} parts have this name", count=count),
                say("one name for one part"),
                say("Number them, e.g. by the place they sit in."),
            )


def _signs(network: Network) -> Iterator[Problem]:
    for name in network.indicators:
        if name in MOVEMENTS:
            yield problem(
                name,
                None,
                say("a lamp or a buzzer has the name of a movement"),
                say("another name than {movements}", movements=", ".join(MOVEMENTS)),
                say("What is seen is told apart by its name."),
            )


def _terminals(parts: Iterable[Part]) -> Iterator[Problem]:
    for part in parts:
        for terminal in ("p", "n"):
            if not getattr(part, terminal):
                yield problem(
                    f"{part.name}.{terminal}",
                    None,
                    say("this terminal is not connected"),
                    say("the name of a node"),
                    say(
                        'Name the node that it goes to; the battery\'s negative post is "{node}".',
                        node=GROUND,
                    ),
                )


def _values(network: Network) -> Iterator[Problem]:
    for part in network.parts:
        values: dict[str, float] = {}
        if isinstance(part, Contact | Resistive):
            values["ohm"] = part.ohm
        elif isinstance(part, Diode):
            values["slope"] = part.slope
        for name, value in values.items():
            if not (math.isfinite(value) and value > 0):
                yield problem(
                    f"{part.name}.{name}",
                    value,
                    say("a part without resistance cannot be solved"),
                    say("more than 0 ohm, finite"),
                    say("A good joint has some milliohm."),
                )
        if isinstance(part, Source) and not math.isfinite(part.volts):
            yield problem(
                f"{part.name}.volts", part.volts, say("not a voltage"), say("a finite voltage")
            )


def _touching(parts: Iterable[Part]) -> Counter[str]:
    return Counter(node for part in parts for node in {part.p, part.n})


def _wires_to_nowhere(network: Network) -> Iterator[Problem]:
    touching = _touching(network.parts)
    watched = set(network.detector.nodes()) if network.detector else set()
    for part in network.parts:
        if not isinstance(part, Wire):
            continue
        for node in (part.p, part.n):
            if touching[node] < 2 and node not in watched and node != GROUND:
                yield problem(
                    part.name,
                    node,
                    say("this wire goes nowhere: nothing else is at that node"),
                    say("a node that another part touches"),
                    say("Look for a node that is spelt in two ways."),
                )


class _Groups:
    """Nodes that hang together, found by joining them one part at a time."""

    def __init__(self) -> None:
        self._up: dict[str, str] = {}

    def find(self, node: str) -> str:
        up = self._up
        while up.setdefault(node, node) != node:
            up[node] = node = up[up[node]]
        return node

    def join(self, a: str, b: str) -> bool:
        """Join two nodes; false where they hung together already."""
        a, b = self.find(a), self.find(b)
        self._up[a] = b
        return a != b


def _source_loops(parts: Iterable[Part]) -> Iterator[Problem]:
    groups = _Groups()
    for part in parts:
        if isinstance(part, Source) and not groups.join(part.p, part.n):
            yield problem(
                part.name,
                say("{p} to {n}", p=part.p, n=part.n),
                say("ideal sources form a loop"),
                say("one source between two nodes"),
                say("Give each battery its inner resistance, 8 to 20 mohm."),
            )


def _hanging(parts: Iterable[Part]) -> Iterator[Problem]:
    groups = _Groups()
    nodes = dict.fromkeys(node for part in parts for node in (part.p, part.n))
    for part in parts:
        groups.join(part.p, part.n)
    home = groups.find(GROUND)
    loose = [node for node in nodes if groups.find(node) != home]
    if loose:
        yield problem(
            ", ".join(loose[:6]) + (", ..." if len(loose) > 6 else ""),
            None,
            say("nothing connects this to the battery's negative post"),
            say('a path of parts to node "{node}"', node=GROUND),
            say("A ground joint or a return wire is missing."),
        )


def _behaviours(network: Network) -> Iterator[Problem]:
    names = [part.name for part in network.parts]
    nodes = list(network.nodes)
    wanted = [(f"relay {relay.name}.coil", relay.coil) for relay in network.relays]
    if network.mechanism:
        wanted += [("mechanism", name) for name in network.mechanism.parts()]
        if network.mechanism.lock_holds not in LOCK_HOLDS:
            yield unknown("lock_holds", network.mechanism.lock_holds, LOCK_HOLDS, "way to lock")
    if network.detector:
        if network.detector.check:
            wanted.append(("detector check winding", network.detector.check.winding))
        for node in network.detector.nodes():
            if node not in nodes:
                yield unknown("detector", node, nodes, "node")
    for field, name in wanted:
        if name not in names:
            yield unknown(field, name, names, "part")
    for name in network.behaviour:
        if name not in BEHAVIOURS:
            yield unknown("behaviour", name, list(BEHAVIOURS), "fault behaviour")


def _movers(network: Network) -> Iterator[Problem]:
    relays = [relay.name for relay in network.relays]
    for part in network.parts:
        by = part.by if isinstance(part, Contact) else None
        if isinstance(by, ByRelay) and by.relay not in relays:
            yield unknown(f"{part.name}.by", by.relay, relays, "relay")
        if isinstance(by, ByModule) and by.output not in MODULE_OUTPUTS:
            yield unknown(f"{part.name}.by", by.output, MODULE_OUTPUTS, "output of the module")
        lacks = (isinstance(by, ByModule) and network.detector is None) or (
            isinstance(by, ByPlunger) and network.mechanism is None
        )
        if lacks:
            yield problem(f"{part.name}.by", by, say("what should move this contact is missing"))
