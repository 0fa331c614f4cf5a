"""One step of the machine worked out to its end: rest, or a cycle that never rests."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from dataclasses import replace
from itertools import takewhile
from typing import NamedTuple

from tripmargin.circuit.grid import Key, Look
from tripmargin.circuit.indicators import light_of, lights, pawls, rolls, rolls_of_cycle, stop
from tripmargin.circuit.looking import look_at_all
from tripmargin.circuit.memory import Before, Memory, at_rest, differing, safe_side
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import Contact, Part
from tripmargin.circuit.rules import Rules
from tripmargin.circuit.steps import Step


class Outcome(NamedTuple):
    """A step's end.

    `memory` and `now` go to the next step. `memories` and `looks` are the moments of the cycle,
    or the one moment of rest. `lamps`, and the extremes of the step's way there.
    """

    memory: Memory
    now: Before
    memories: tuple[Memory, ...]
    looks: tuple[Look, ...]
    lamps: tuple[str, ...]
    stop: str | None
    momentary: bool
    alternates: tuple[str, ...]
    greatest_pull: float
    least_supply: float


Start = tuple[Memory, Before]
"""How a machine stands before a step."""
Inputs = tuple[object, ...]
"""What a step puts in: two steps with the same inputs do the same."""
Asks = Generator[Key, Look, Outcome]
"""A step being worked out: it asks for looks, and ends with its outcome."""


class Runner:
    """Runs the steps of one network; what was worked out once is remembered.

    Parameters
    ----------
    network : Network
    like : Runner, optional
        Of a network that may have the same parts, but for contacts that are stuck; its solutions
        are then shared.
    """

    def __init__(self, network: Network, like: Runner | None = None) -> None:
        self.network = network
        same = like is not None and _unstuck(like.network) == _unstuck(network)
        self.rules: Rules = Rules(network, like.rules.grid if like and same else None)
        self.lights = lights(network, self.rules.grid)
        self._done: dict[tuple[Memory, Before, Inputs], Outcome] = {}
        self._walked: tuple[Start | None, list[tuple[Inputs, Outcome]]] = (None, [])

    def start(self) -> Start:
        """The machine as it has stood overnight."""
        memory = at_rest(len(self.network.relays), len(self.rules.grid.fuses))
        if self.network.behaviour.get("plunger_stuck") == "in":
            memory = memory._replace(plunger_in=True)
        return memory, Before(pawls=pawls(self.network, memory.plunger_in, Step(""), Before()))

    def sequence(
        self, steps: Sequence[Step], inputs: Sequence[Inputs], start: Start | None = None
    ) -> Generator[Key, Look, list[Outcome]]:
        """All steps in order; asks for each look that it needs and does not look itself.

        So the sequences of many networks can be worked out side by side (`run_together`). What a
        sequence begins with as the last one did is not gone through again.
        """
        memory, before = self.start() if start is None else start
        found = self._as_last(inputs, start)
        if found:
            memory, before = found[-1].memory, found[-1].now
        for step, put_in in zip(steps[len(found) :], inputs[len(found) :], strict=True):
            key = (memory, before, put_in)
            if key not in self._done:
                self._done[key] = yield from self._run(memory, before, step)
            found.append(self._done[key])
            memory, before = found[-1].memory, found[-1].now
        self._walked = start, list(zip(inputs, found, strict=True))
        return found

    def _as_last(self, inputs: Sequence[Inputs], start: Start | None) -> list[Outcome]:
        """Outcomes of the steps that the last sequence from the same start began with too."""
        at, walked = self._walked
        if at != start:
            return []
        same = takewhile(lambda pair: pair[0][0] == pair[1], zip(walked, inputs, strict=False))
        return [outcome for (_, outcome), _ in same]

    def _run(self, memory: Memory, before: Before, step: Step) -> Asks:
        rules, by_hand = self.rules, self.rules.by_hand(step)
        first = yield rules.key(by_hand, memory, step)
        event = rules.trips_once(memory, first, step, before)
        if event:
            memory = memory._replace(tripped=True)
        way, memories = [first], [memory]
        while True:
            told = (step, before, by_hand)
            memories, looks = yield from self._settle(memories[-1], told, way)
            memory = rules.fuse(memories[-1], looks)
            if memory is memories[-1]:
                break
            memories = [memory]
        return self._outcome(memories, looks, way, (step, before, event))

    def _settle(
        self, memory: Memory, told: tuple[Step, Before, list[bool]], way: list[Look]
    ) -> Generator[Key, Look, tuple[list[Memory], list[Look]]]:
        """To rest (one moment) or round a cycle (all of its moments)."""
        step, before, by_hand = told
        seen: dict[Memory, int] = {}
        memories: list[Memory] = []
        looks: list[Look] = []
        while memory not in seen:
            seen[memory] = len(memories)
            memories.append(memory)
            looks.append((yield self.rules.key(by_hand, memory, step)))
            memory = self._next(memory, looks[-1], step, before)
        way += looks
        return memories[seen[memory] :], looks[seen[memory] :]

    def _next(self, memory: Memory, look: Look, step: Step, before: Before) -> Memory:
        """The next moment: relays and module first; the plunger when these rest; then the timer."""
        after = self.rules.relays_and_module(memory, look, before)
        if after == memory:
            after = self.rules.plunger(memory, look, step)
        if after == memory:
            after = self.rules.pull_timer(memory)
        return after

    def _outcome(
        self,
        memories: list[Memory],
        looks: list[Look],
        way: list[Look],
        told: tuple[Step, Before, bool],
    ) -> Outcome:
        step, before, event = told
        rules, network = self.rules, self.network
        memory = safe_side(memories)
        still = pawls(network, memory.plunger_in, step, before)
        moves = [
            rolls(network, rules.grid, look, step, pawls(network, m.plunger_in, step, before))
            for m, look in zip(memories, looks, strict=True)
        ]
        now = Before(
            rolls_of_cycle(network, step, moves, [m.plunger_in for m in memories]),
            still,
            memory.alive,
            memory.tripped,
            rules.check_current(looks[-1]),
        )
        momentary = event and not memory.tripped
        names = tuple(relay.name for relay in network.relays)
        return Outcome(
            memory,
            now,
            tuple(memories),
            tuple(looks),
            tuple([light_of(lit, looks) for lit in self.lights.values()]),
            stop(network, step, before, now, momentary),
            momentary,
            differing(memories, names) if len(memories) > 1 else (),
            max(rules.pull_current(look) for look in way),
            min(rules.supply(look) for look in way),
        )


def _unstuck(network: Network) -> list[Part]:
    """Parts with every contact free to move: what a look depends on besides the contacts."""
    return [
        replace(part, stuck=None) if isinstance(part, Contact) and part.stuck is not None else part
        for part in network.parts
    ]


def run_together(
    runners: Sequence[Runner], steps: Sequence[Step], starts: Sequence[Start] | None = None
) -> list[list[Outcome]]:
    """Each network's outcomes of all steps, with the looks of all worked out in common.

    `starts` are how the networks stand before; left out, they have stood overnight.

    Raises
    ------
    NoSolutionError
        If somewhere the diodes find no state that agrees with itself.
    """
    inputs = [step.inputs() for step in steps]
    sequences = [
        runner.sequence(steps, inputs, None if starts is None else starts[k])
        for k, runner in enumerate(runners)
    ]
    outcomes: list[list[Outcome]] = [[] for _ in runners]
    asked: dict[int, Key] = {}

    def on(k: int, look: Look | None) -> None:
        """Take one sequence on as far as the looks that are known already carry it."""
        looks = runners[k].rules.grid.looks
        try:
            key = sequences[k].send(look) if look is not None else next(sequences[k])
            while key in looks:
                key = sequences[k].send(looks[key])
            asked[k] = key
        except StopIteration as end:
            outcomes[k] = end.value

    for k in range(len(runners)):
        on(k, None)
    while asked:
        now = dict(asked)
        asked.clear()
        look_at_all({(runners[k].rules.grid, key): None for k, key in now.items()})
        for k, key in now.items():
            on(k, runners[k].rules.grid.looks[key])
    return outcomes
