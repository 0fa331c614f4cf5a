"""Every indicator at every step for every fault: what a fault chart is made of."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.circuit.behaviours import MOVEMENTS
from tripmargin.circuit.errors import CircuitError, unknown
from tripmargin.circuit.faults import Fault, with_faults
from tripmargin.circuit.from_machine import network_of_either
from tripmargin.circuit.indicators import LIGHTS, STOPS
from tripmargin.circuit.meters import with_meters
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import GROUND, Fuse, original
from tripmargin.circuit.running import Outcome, Runner, run_together
from tripmargin.circuit.steps import Step
from tripmargin.machine import Machine

HEALTHY = "healthy"
"""The first row of a fault table."""

AT_A_TIME = 64
"""Rows that are worked out together: many pairs of faults would otherwise fill the memory."""

WIDEST = max(len(word) for word in (*LIGHTS, *STOPS))
"""Characters of the longest word in a table; those of movements are shorter."""


@dataclass(frozen=True, slots=True)
class FaultTable:
    """What each fault shows, at each step.

    Attributes
    ----------
    faults, steps, columns, nodes : tuple of str
        The first fault is "healthy". Columns are the lamps and buzzers, then `MOVEMENTS`.
    words : ndarray of str, shape (faults, steps, columns)
    volts : ndarray, shape (faults, steps, nodes), V
        Where a circuit chatters, those of one of its moments.
    chatters : ndarray of bool, shape (faults, steps)
    fuses : tuple of str
    blown : ndarray of bool, shape (faults, steps, fuses)
        Fuses that are gone.
    """

    faults: tuple[str, ...]
    steps: tuple[str, ...]
    columns: tuple[str, ...]
    nodes: tuple[str, ...]
    words: NDArray[np.str_]
    volts: NDArray[np.float64]
    chatters: NDArray[np.bool_]
    fuses: tuple[str, ...]
    blown: NDArray[np.bool_]

    def shows(self, fault: str, step: str) -> dict[str, str]:
        """What a fault shows at a step, by lamp, buzzer or movement."""
        words = self.words[self._row(fault), self._step(step)]
        return {name: str(word) for name, word in zip(self.columns, words, strict=True)}

    def across(self, red: str, black: str = GROUND) -> NDArray[np.float64]:
        """Voltage from one node to another for each fault and step, V.

        Build the table of a network `with_meters` where a person is to read it.
        """
        for node in (red, black):
            if node not in self.nodes:
                raise CircuitError([unknown("across", node, self.nodes, "node")])
        volts = self.volts[:, :, self.nodes.index(red)] - self.volts[:, :, self.nodes.index(black)]
        return np.asarray(volts)

    def differs(self, fault: str) -> list[tuple[str, str, str, str]]:
        """Where a fault shows something else: (step, column, healthy word, its word)."""
        row = self._row(fault)
        return [
            (self.steps[k], self.columns[c], str(self.words[0, k, c]), str(self.words[row, k, c]))
            for k, c in zip(*np.nonzero(self.words[row] != self.words[0]), strict=True)
        ]

    def silent(self, columns: Sequence[str] | None = None) -> tuple[str, ...]:
        """Faults that look healthy in every step, in these columns (default: all lamps)."""
        chosen = self._columns(columns)
        same = (self.words[:, :, chosen] == self.words[:1, :, chosen]).all(axis=(1, 2))
        return tuple(name for name, quiet in zip(self.faults[1:], same[1:], strict=True) if quiet)

    def alike(self, columns: Sequence[str] | None = None) -> list[tuple[str, ...]]:
        """Groups of faults that look the same in every step, the healthy machine among them."""
        chosen = self._columns(columns)
        groups: dict[bytes, list[str]] = {}
        for name, words in zip(self.faults, self.words[:, :, chosen], strict=True):
            groups.setdefault(words.tobytes(), []).append(name)
        return [tuple(group) for group in groups.values()]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "faults": list(self.faults),
            "steps": list(self.steps),
            "columns": list(self.columns),
            "nodes": list(self.nodes),
            "words": self.words.tolist(),
            "volts_V": self.volts.tolist(),
            "chatters": self.chatters.tolist(),
        }

    def _columns(self, columns: Sequence[str] | None) -> list[int]:
        lamps = self.columns[: -len(MOVEMENTS)]
        return [self.columns.index(name) for name in (lamps if columns is None else columns)]

    def _row(self, fault: str) -> int:
        if fault not in self.faults:
            raise CircuitError([unknown("fault", fault, self.faults, "fault in this table")])
        return self.faults.index(fault)

    def _step(self, step: str) -> int:
        if step not in self.steps:
            raise CircuitError([unknown("step", step, self.steps, "step in this table")])
        return self.steps.index(step)


def fault_table(
    network: Network | Machine,
    steps: Iterable[Step | str] | None = None,
    faults: Iterable[Fault | Sequence[Fault]] = (),
) -> FaultTable:
    """Every indicator at every step, for the healthy machine and for each fault.

    Parameters
    ----------
    network : Network or Machine
    steps : iterable of Step or str, optional
        In order; left out, the machine's own.
    faults : iterable of Fault, or of sequences of them
        A sequence is run with all its faults at once; its row is called "first + second".

    Returns
    -------
    FaultTable

    Raises
    ------
    CircuitError
        If a step is unknown or a fault does not fit the network.
    """
    return fault_tables(network, [steps], faults)[0]


@dataclass(frozen=True, slots=True)
class Metered:
    """A sequence of steps gone through once more with voltmeters at some nodes.

    Attributes
    ----------
    nodes : tuple of str
        A voltmeter from each to the battery's negative post.
    sequence : int
        Number of the sequence.
    after : int
        The meters are put on after so many of its steps.
    """

    nodes: tuple[str, ...]
    sequence: int
    after: int


def fault_tables(
    network: Network | Machine,
    sequences: Sequence[Iterable[Step | str] | None],
    faults: Iterable[Fault | Sequence[Fault]] = (),
    *,
    last_of: Collection[int] = (),
    metered: Sequence[Metered] = (),
) -> tuple[FaultTable, ...]:
    """A fault table for each of several sequences of steps; what they share is worked out once.

    Each sequence starts from a machine that has stood overnight. Of the sequences with the numbers
    in `last_of` the table keeps the last step only. All else is as in `fault_table`. For each of
    `metered` there is one table more, with the last step of its sequence.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> armed = ["key off", "key on", "armed"]
    >>> tables = fault_tables(load_machine("dunlin"), [armed, [*armed, "engine running"]])
    >>> [table.shows("healthy", table.steps[-1])["rolls"] for table in tables]
    ['stopped', 'stopped']
    """
    network = network_of_either(network)
    chosen = [network.steps_named(steps) for steps in sequences]
    groups = [(), *((each,) if isinstance(each, Fault) else tuple(each) for each in faults)]
    kept = [steps[-1:] if k in last_of else steps for k, steps in enumerate(chosen)]
    tables = [_empty(network, groups, steps) for steps in kept]
    read = [_empty(network, groups, chosen[each.sequence][-1:]) for each in metered]
    for start in range(0, len(groups), AT_A_TIME):
        some = groups[start : start + AT_A_TIME]
        base = Runner(network)
        runners = [Runner(with_faults(network, each), base) if each else base for each in some]
        ways = [run_together(runners, steps) for steps in chosen]
        for table, outcomes in zip(tables, ways, strict=True):
            _write(table, start, runners, outcomes)
        for nodes, measured in _by_nodes(zip(read, metered, strict=True)):
            _measure(runners, nodes, start, [(table, chosen[each.sequence], ways, each)
                                             for table, each in measured])  # fmt: skip
    return (*tables, *read)


def _by_nodes(
    metered: Iterable[tuple[FaultTable, Metered]],
) -> Iterable[tuple[tuple[str, ...], list[tuple[FaultTable, Metered]]]]:
    """What is measured with the same meters on, together."""
    found: dict[tuple[str, ...], list[tuple[FaultTable, Metered]]] = {}
    for table, each in metered:
        found.setdefault(each.nodes, []).append((table, each))
    return found.items()


def _measure(
    runners: Sequence[Runner],
    nodes: tuple[str, ...],
    start: int,
    measured: Sequence[tuple[FaultTable, Sequence[Step], list[list[list[Outcome]]], Metered]],
) -> None:
    """Go on from where the meters are put on, and write what they show."""
    first: Runner | None = None
    fitted = []
    for runner in runners:
        fitted.append(Runner(with_meters(runner.network, nodes), first))
        first = first or fitted[0]
    for table, steps, ways, each in measured:
        starts = None
        if each.after:
            stood = [outcomes[each.after - 1] for outcomes in ways[each.sequence]]
            starts = [(outcome.memory, outcome.now) for outcome in stood]
        _write(table, start, fitted, run_together(fitted, steps[each.after :], starts))


def _empty(
    network: Network, groups: Sequence[Sequence[Fault]], steps: Sequence[Step]
) -> FaultTable:
    """A table that nothing has been written into yet."""
    columns = (*network.indicators, *MOVEMENTS)
    fuses = tuple(part.name for part in network.parts if isinstance(original(part), Fuse))
    shape = (len(groups), len(steps))
    return FaultTable(
        tuple(" + ".join(fault.id for fault in group) or HEALTHY for group in groups),
        tuple(step.name for step in steps),
        columns,
        network.nodes,
        np.empty((*shape, len(columns)), dtype=f"<U{WIDEST}"),
        np.empty((*shape, len(network.nodes))),
        np.zeros(shape, bool),
        fuses,
        np.zeros((*shape, len(fuses)), bool),
    )


def _write(
    table: FaultTable, start: int, runners: Sequence[Runner], ways: Sequence[list[Outcome]]
) -> None:
    """Write the rows of some groups of faults into a table: so many as memory likes."""
    for k, outcomes in enumerate(ways):
        kept, rules = outcomes[-len(table.steps) :], runners[k].rules
        row, order = start + k, [rules.grid.node_index[node] for node in table.nodes]
        table.words[row] = [_words(outcome) for outcome in kept]
        table.volts[row] = np.array([each.looks[-1].volts for each in kept])[:, order]
        table.chatters[row] = [len(each.looks) > 1 for each in kept]
        for step, outcome in enumerate(kept):
            gone = rules.fuse_names(outcome.memory.blown)
            table.blown[row, step] = [fuse in gone for fuse in table.fuses]


def _words(outcome: Outcome) -> tuple[str, ...]:
    plunger = "in" if outcome.memory.plunger_in else "out"
    now = outcome.now
    return (*outcome.lamps, plunger, now.pawls, now.rolls, outcome.stop or "")
