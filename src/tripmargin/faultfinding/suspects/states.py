"""The states that a machine is brought into, and the minutes from one to another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later
from tripmargin.ground.languages.own_words import OwnWords
from tripmargin.ground.languages.phrases import Phrase, Words
from tripmargin.machine import Machine
from tripmargin.machine.check_sections import Checks, CheckState

MINUTE = 60.0
_BRING = later("Bring the machine into: {state}.")


@dataclass(frozen=True, slots=True)
class MachineState:
    """A state with the way to it.

    `steps` lead here from the machine at rest; `ways` are the words for what a person does, and
    `way` says them; `running` whether the engine runs, so that nobody may come near; `live` whether
    the key is on.
    """

    name: str
    steps: tuple[str, ...]
    ways: tuple[Words, ...]
    running: bool
    live: bool

    @property
    def way(self) -> tuple[str, ...]:
        """What a person does to come here from the machine at rest, said now."""
        return tuple(str(each) for each in self.ways)


def machine_states(machine: Machine, checks: Checks) -> tuple[MachineState, ...]:
    """The states of a machine file's `[checks]`, in its order."""
    circuit = machine.circuit
    steps = {} if circuit is None else {step.name: step for step in circuit.steps}
    found = []
    for state in checks.states:
        chain = chain_to(checks, state.name)
        way = tuple(name for each in chain for name in each.steps)
        found.append(
            MachineState(
                state.name,
                way,
                tuple(_way_into(each) for each in chain),
                any(steps[name].engine for name in way),
                len(chain) > 1,
            )
        )
    return tuple(found)


def _way_into(state: CheckState) -> Words:
    """What a person does to come to a state from the one before."""
    if state.do:
        return OwnWords(state.do)
    return Phrase(_BRING, {"state": OwnWords(state.name)})


def chain_to(checks: Checks, name: str) -> tuple[CheckState, ...]:
    """The states on the way to a state, the machine at rest first."""
    states = {state.name: state for state in checks.states}
    chain: tuple[CheckState, ...] = ()
    at: str | None = name
    while at is not None:
        chain = (states[at], *chain)
        at = states[at].after
    return chain


def onward(checks: Checks, states: Sequence[MachineState], names: Sequence[str]) -> tuple[str, ...]:
    """What is done to come from each state to the next, when they are gone through one by one."""
    return tuple(in_a_row(each) for each in ways_onward(checks, states, names))


def in_a_row(sentences: Sequence[Words]) -> str:
    """Sentences behind each other, said now."""
    return " ".join(str(each) for each in sentences)


def ways_onward(
    checks: Checks, states: Sequence[MachineState], names: Sequence[str]
) -> tuple[tuple[Words, ...], ...]:
    """The words for what is done to come from each state to the next; see `onward`."""
    known = {state.name: state for state in states}
    done: list[tuple[Words, ...]] = []
    before: tuple[str, ...] = ()
    for name in names:
        chain = tuple(state.name for state in chain_to(checks, name))
        shared = max(1, _alike(before, chain))
        way = known[name].ways
        done.append(way[shared:] or way[-1:])
        before = chain
    return tuple(done)


def _alike(one: Sequence[str], two: Sequence[str]) -> int:
    """How much two ways begin with alike."""
    for count, (a, b) in enumerate(zip(one, two, strict=False)):
        if a != b:
            return count
    return min(len(one), len(two))


def moves(checks: Checks) -> NDArray[np.float64]:
    """Minutes from each state (row) to each (column), by the quickest way; (S, S).

    Onward along the way to a state costs its minutes; elsewhere the machine goes back to rest
    first. Where a detour is quicker the detour counts.
    """
    names = [state.name for state in checks.states]
    count = len(names)
    move = np.zeros((count, count))
    for row, one in enumerate(checks.states):
        for column, other in enumerate(checks.states):
            if row == column:
                continue
            chain = chain_to(checks, other.name)
            before = [state.name for state in chain]
            if one.name in before:
                chain = chain[before.index(one.name) + 1 :]
                back = 0.0
            else:
                back = one.back.nominal
            move[row, column] = (back + sum(s.minutes.nominal for s in chain)) / MINUTE
    for by in range(count):
        move = np.minimum(move, move[:, by : by + 1] + move[by : by + 1])
    return move
