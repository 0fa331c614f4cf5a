"""The discrete rules: what relays, module, plunger and fuses do after a look at the voltages."""

from __future__ import annotations

import math
from collections.abc import Callable

from tripmargin.circuit.behaviours import Detector, Input, Mechanism
from tripmargin.circuit.grid import Grid, Key, Look
from tripmargin.circuit.memory import Before, Memory
from tripmargin.circuit.moves import ByModule, ByRelay, BySwitch, Mover
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import Contact, Failed, Fuse
from tripmargin.circuit.steps import ON, Step

FUSE_HOLDS = 1.35
"""A fuse opens above this many times its rating. Typical of blade fuses, which then take from a
second to ten minutes; from memory of ISO 8820-3, not checked against its text."""

Closes = Callable[[Memory], bool]


class Rules:
    """The rules of one network, with every name looked up once.

    Parameters
    ----------
    network : Network
    """

    def __init__(self, network: Network, grid: Grid | None = None) -> None:
        self.network = network
        self.grid = grid if grid is not None else Grid(network)
        node, part = self.grid.node_index, self.grid.part_index
        coils = [network.part(relay.coil) for relay in network.relays]
        self._coils = [(node[x.p], node[x.n], not isinstance(x, Failed)) for x in coils]
        detector, mechanism = network.detector, network.mechanism
        if detector:
            self._supply = (node[detector.supply[0]], node[detector.supply[1]])
            self._node = {name: node[name] for name in detector.nodes()}
            self._check = part[detector.check.winding] if detector.check else None
        self._hold = part[mechanism.hold] if mechanism else -1
        self._pull = part[mechanism.pull] if mechanism else -1
        self._fuses = [network.parts[k] for k in self.grid.fuses]
        # A fuse that is gone from the start does not open again.
        self._ratings = [x.rating if isinstance(x, Fuse) else math.inf for x in self._fuses]
        self._by_rating = sorted(
            range(len(self._fuses)), key=lambda k: (self._ratings[k], self._fuses[k].name)
        )
        order = {relay.name: k for k, relay in enumerate(network.relays)}
        self._contacts = [part for part in network.parts if isinstance(part, Contact)]
        self._by_memory = [
            (k, _by_memory(part.by, order))
            for k, part in enumerate(self._contacts)
            if part.stuck is None and part.by is not None and not isinstance(part.by, BySwitch)
        ]
        self._by_switch = [
            (k, part.by)
            for k, part in enumerate(self._contacts)
            if part.stuck is None and isinstance(part.by, BySwitch)
        ]

    def by_hand(self, step: Step) -> list[bool]:
        """Contacts as the step's switches set them; those that the circuit moves are open."""
        closed = [bool(part.stuck) for part in self._contacts]
        for k, by in self._by_switch:
            closed[k] = by.closed(step.position(by.switch))
        return closed

    def key(self, by_hand: list[bool], memory: Memory, step: Step) -> Key:
        """What the look at one moment of a step depends on."""
        closed = by_hand.copy()
        for k, closes in self._by_memory:
            closed[k] = closes(memory)
        return tuple(closed), memory.blown, step.volts + self.network.volts_offset

    def closed(self, memory: Memory, step: Step) -> tuple[str, ...]:
        """Names of the contacts that are closed at one moment."""
        closed = self.key(self.by_hand(step), memory, step)[0]
        return tuple(part.name for part, on in zip(self._contacts, closed, strict=True) if on)

    def supply(self, look: Look) -> float:
        """Voltage between the module's own terminals, V; 0 without a module."""
        if self.network.detector is None:
            return 0.0
        return look.volts[self._supply[0]] - look.volts[self._supply[1]]

    def check_current(self, look: Look) -> float:
        """Current through the test winding, A."""
        return (
            abs(look.amps[self._check]) if self.network.detector and self._check is not None else 0
        )

    def pull_current(self, look: Look) -> float:
        """Current through the pull winding, A."""
        return abs(look.amps[self._pull]) if self.network.mechanism else 0.0

    def trips_once(self, memory: Memory, look: Look, step: Step, before: Before) -> bool:
        """Whether metal or the check button trips the module as the step begins."""
        detector = self.network.detector
        if detector is None or self.network.behaviour.get("detect_dead"):
            return False
        if not memory.alive or self.supply(look) < detector.alive_at or not self._sound(look):
            return False
        pressed = False
        if detector.check:
            least = detector.check.current
            pressed = self.check_current(look) > least >= before.check_current
        return pressed or (step.metal and before.rolls == "forward")

    def _sound(self, look: Look) -> bool:
        """Whether the sensor's lead looks whole to the module."""
        detector = self.network.detector
        if detector is None or detector.sensor is None:
            return True
        volts = look.volts[self._node[detector.sensor.node]] - look.volts[self._supply[1]]
        return detector.sensor.low <= volts <= detector.sensor.high

    def relays_and_module(self, memory: Memory, look: Look, before: Before) -> Memory:
        """Relays and latch after a look; they move together."""
        relays = self._relays(memory, look)
        detector = self.network.detector
        if detector is None:
            return memory._replace(relays=relays)
        supply = self.supply(look)
        alive = supply >= detector.alive_at
        in_range = supply >= (detector.falls_at if memory.in_range else detector.rises_at)
        reset = self._active(detector.reset, look)
        tripped = memory.tripped
        if not in_range or self._must_trip(detector, look):
            tripped = True
        elif reset and (not detector.reset.on_edge or (before.alive and not memory.reset)):
            tripped = False
        return memory._replace(
            relays=relays,
            alive=alive,
            in_range=in_range,
            tripped=tripped,
            reset=reset,
            pull_over=memory.pull_over and not tripped,
        )

    def _relays(self, memory: Memory, look: Look) -> tuple[bool, ...]:
        """Which relays are pulled; a broken or shorted coil pulls nothing."""
        pulled = []
        for was, (p, n, whole), relay in zip(
            memory.relays, self._coils, self.network.relays, strict=True
        ):
            volts = abs(look.volts[p] - look.volts[n])
            holds = volts > relay.drops_at if was else volts >= relay.pulls_at
            pulled.append(whole and holds)
        return tuple(pulled)

    def _active(self, watched: Input, look: Look) -> bool:
        return watched.active(look.volts[self._node[watched.node]] - look.volts[self._supply[1]])

    def _must_trip(self, detector: Detector, look: Look) -> bool:
        """Whether the lock's switch or an unsound lead of a watched sensor keeps it tripped."""
        if detector.lock is not None and self._active(detector.lock, look):
            return True
        return detector.sensor is not None and detector.sensor.monitored and not self._sound(look)

    def plunger(self, memory: Memory, look: Look, step: Step) -> Memory:
        """The plunger after a look: pulled in, held, or let go."""
        mechanism = self.network.mechanism
        if mechanism is None:
            return memory
        return memory._replace(plunger_in=self._plunger_in(mechanism, memory, look, step))

    def _plunger_in(self, mechanism: Mechanism, memory: Memory, look: Look, step: Step) -> bool:
        seized = self.network.behaviour.get("plunger_stuck")
        if seized:
            return bool(seized == "in")
        if mechanism.lock_holds == "plunger out" and step.position(mechanism.lock) == ON:
            return False
        if abs(look.amps[self._pull]) >= mechanism.pull_min:
            return True
        return memory.plunger_in and abs(look.amps[self._hold]) >= mechanism.hold_min

    def pull_timer(self, memory: Memory) -> Memory:
        """The timed pull output ends once all else rests."""
        detector = self.network.detector
        if detector is None or not detector.timed_pull or memory.tripped:
            return memory
        return memory._replace(pull_over=True)

    def fuse(self, memory: Memory, looks: list[Look]) -> Memory:
        """One fuse opens if its root-mean-square current is too much; the smallest first."""
        for k in self._by_rating:
            index = self.grid.fuses[k]
            square = sum(look.amps[index] ** 2 for look in looks) / len(looks)
            if not memory.blown[k] and square > (FUSE_HOLDS * self._ratings[k]) ** 2:
                return memory._replace(blown=(*memory.blown[:k], True, *memory.blown[k + 1 :]))
        return memory

    def fuse_names(self, blown: tuple[bool, ...]) -> tuple[str, ...]:
        """Names of the fuses that are gone."""
        return tuple(x.name for x, gone in zip(self._fuses, blown, strict=True) if gone)


def _by_memory(by: Mover | None, relays: dict[str, int]) -> Closes:
    """What tells whether a contact that the circuit itself moves is closed."""
    if isinstance(by, ByRelay):
        index, make = relays[by.relay], by.make
        return lambda memory: memory.relays[index] == make
    if isinstance(by, ByModule):
        return _MODULE[by.output]
    return lambda memory: not memory.plunger_in


_MODULE: dict[str, Closes] = {
    "out": lambda memory: not memory.tripped,
    "pull": lambda memory: not memory.tripped and not memory.pull_over,
    "l_ok": lambda memory: memory.in_range,
    "l_low": lambda memory: memory.alive and not memory.in_range,
    "l_trip": lambda memory: memory.alive and memory.tripped,
}
