"""The circuit as numbers: nodal analysis with diodes that either block or conduct.

Voltages follow from Kirchhoff's current law at every node (modified nodal analysis: one more
unknown current for every ideal source). A diode is a straight line above its forward voltage and an
open contact below it; which of the two is found by trying until all agree. The network is solved
once with all diodes blocking; the trying goes on in the small problem that is left at their ends.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.circuit.errors import NoSolutionError
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import Contact, Diode, Fuse, Part, Resistive, Source

Closed = tuple[bool, ...]
Key = tuple[Closed, Closed, float]
"""What a look depends on: contacts closed, fuses blown, volts of the sources that follow."""

_SWAPS_AT_ONCE = 8
"""Rounds in which all diodes that disagree are turned together; after that one at a time, the first
of them, which always ends for a network of positive resistances (Murty's least-index rule)."""


_NO_CURRENT = -1e-12
"""A, or V above the forward voltage: still taken as none, so that rounding turns nothing."""


@dataclass(frozen=True, slots=True)
class Look:
    """What a meter would show everywhere, in one state.

    `volts` by node in the grid's order (the battery's negative post last), `amps` by part, from
    p to n; for a source, what it delivers.
    """

    volts: tuple[float, ...]
    amps: tuple[float, ...]


class Grid:
    """A network prepared for solving again and again with other contacts closed.

    Parameters
    ----------
    network : Network
    """

    def __init__(self, network: Network) -> None:
        parts = network.parts
        self.network = network
        self.nodes = network.nodes
        self.node_index = {node: k for k, node in enumerate(self.nodes)}
        self.part_index = {part.name: k for k, part in enumerate(parts)}
        self.contacts = [k for k, part in enumerate(parts) if isinstance(part, Contact)]
        self.fuses = [k for k, part in enumerate(parts) if isinstance(part, Fuse)]
        self.leak = 1.0 / network.open_ohm
        self._conductance = np.array([_conductance(part, self.leak) for part in parts])
        self.p = np.array([self.node_index[part.p] for part in parts])
        self.n = np.array([self.node_index[part.n] for part in parts])
        diodes = [(k, part) for k, part in enumerate(parts) if isinstance(part, Diode)]
        self.diodes = np.array([k for k, _ in diodes], int)
        slopes = np.array([part.slope for _, part in diodes])
        self.slope = 1.0 / (1.0 / slopes - self.leak)
        self.forward = np.array([part.forward for _, part in diodes]) / (1.0 - slopes * self.leak)
        self.sources = [k for k, part in enumerate(parts) if isinstance(part, Source)]
        self._stamp()
        self.looks: dict[Key, Look] = {}

    def _stamp(self) -> None:
        """Where each part's conductance goes in the matrix of the node equations.

        A part between p and n adds its conductance at (p, p) and (n, n) and takes it away at
        (p, n) and (n, p). Source currents are unknowns after the nodes. The ground node's row and
        column are kept here and cut off when all is added up.
        """
        p, n, nodes = self.p, self.n, len(self.nodes)
        size = nodes + len(self.sources)
        self.places = np.concatenate([p * size + p, n * size + n, p * size + n, n * size + p])
        border = np.zeros((size, size))
        right = np.zeros((size, 1 + len(self.diodes)))
        for row, k in enumerate(self.sources, nodes):
            border[row, p[k]] = border[p[k], row] = 1.0
            border[row, n[k]] = border[n[k], row] = -1.0
        for column, k in enumerate(self.diodes, 1):
            right[p[k], column] -= 1.0
            right[n[k], column] += 1.0
        self.border = border
        self._right = right
        self.shape = (size, len(self.diodes))

    def look(self, key: Key) -> Look:
        """Voltages and currents in one state.

        Parameters
        ----------
        key : (closed, blown, volts)
            In the order of `contacts` and of `fuses`; V, of the sources that follow the step.

        Raises
        ------
        NoSolutionError
            If the diodes find no state that agrees with itself.
        """
        if key not in self.looks:
            solve_all([(self, key)])
        return self.looks[key]

    def diode_parts(self) -> list[Part]:
        """The diodes and LEDs."""
        return [self.network.parts[k] for k in self.diodes]

    def conductances(self, key: Key) -> NDArray[np.float64]:
        """Of every part in one state with all diodes blocking, S."""
        closed, blown, _ = key
        g = self._conductance.copy()
        open_ = [k for k, on in zip(self.contacts, closed, strict=True) if not on]
        g[open_ + [k for k, gone in zip(self.fuses, blown, strict=True) if gone]] = self.leak
        return g

    def right_side(self, volts: float) -> NDArray[np.float64]:
        """Right-hand sides: the sources first, then an ampere through each diode."""
        right = self._right.copy()
        levels = [_level(self.network.parts[k], volts) for k in self.sources]
        right[len(self.nodes) :, 0] = levels
        return right


def solve_all(wanted: Iterable[tuple[Grid, Key]]) -> None:
    """Work out many looks at once and leave them with their grids.

    States of different networks go together as long as they have as many unknowns and diodes.

    Raises
    ------
    NoSolutionError
        If somewhere the diodes find no state that agrees with itself.
    """
    groups: dict[tuple[int, ...], list[tuple[Grid, Key]]] = {}
    for grid, key in wanted:
        if key not in grid.looks:
            groups.setdefault(grid.shape, []).append((grid, key))
    for (size, _), group in groups.items():
        conductances = [grid.conductances(key) for grid, key in group]
        x = _ports(group, conductances, size)
        slopes = np.array([grid.slope for grid, _ in group])
        forward = np.array([grid.forward for grid, _ in group])
        rows = np.arange(len(group))[:, None]
        p = np.array([grid.p[grid.diodes] for grid, _ in group], int)
        n = np.array([grid.n[grid.diodes] for grid, _ in group], int)
        across = x[rows, p] - x[rows, n]
        pushed = _conducting(across[:, :, 0], -across[:, :, 1:], slopes, forward)
        if pushed is None:
            raise NoSolutionError([part.name for part in group[0][0].diode_parts()])
        v = x[:, :, 0] + (x[:, :, 1:] @ pushed[:, :, None])[:, :, 0]
        for (grid, key), g, volts, extra in zip(group, conductances, v, pushed, strict=True):
            amps = g * (volts[grid.p] - volts[grid.n])
            amps[grid.diodes] += extra
            nodes = len(grid.nodes)
            amps[grid.sources] = -volts[nodes:]
            grid.looks[key] = Look(tuple(volts[:nodes].tolist()), tuple(amps.tolist()))


def _ports(
    group: Sequence[tuple[Grid, Key]], conductances: Sequence[NDArray[np.float64]], size: int
) -> NDArray[np.float64]:
    """Every unknown with all diodes blocking, and its answer to an ampere at each diode."""
    count = len(group)
    places = np.concatenate([grid.places + k * size**2 for k, (grid, _) in enumerate(group)])
    stamps = np.concatenate([sign * g for g in conductances for sign in (1.0, 1.0, -1.0, -1.0)])
    matrix = np.bincount(places, stamps, count * size**2).reshape(count, size, size)
    matrix += np.array([grid.border for grid, _ in group])
    right = np.array([grid.right_side(key[2]) for grid, key in group])
    # The ground node's own equation is left out: its voltage is 0 by definition.
    ground = len(group[0][0].nodes) - 1
    matrix[:, ground, :] = 0.0
    matrix[:, :, ground] = 0.0
    matrix[:, ground, ground] = 1.0
    right[:, ground] = 0.0
    try:
        return np.linalg.solve(matrix, right)
    except np.linalg.LinAlgError as error:
        raise NoSolutionError(()) from error


def _conducting(
    idle: NDArray[np.float64],
    ports: NDArray[np.float64],
    slopes: NDArray[np.float64],
    forward: NDArray[np.float64],
) -> NDArray[np.float64] | None:
    """Current that each diode adds to what it leaks, A; None where there is no answer.

    Seen from the diodes the rest of the network is a battery and a resistance at each of them:
    u = idle - ports @ i. Those found above their forward voltage conduct, and so on until all
    agree. All block at first, so that the answer never depends on what was solved before. Shapes:
    ports (states, diodes, diodes), all others (states, diodes).
    """
    diodes = idle.shape[1]
    on = np.zeros(idle.shape, bool)
    pushed = np.zeros(idle.shape)
    u = idle
    for turn in range(_SWAPS_AT_ONCE + 40 * (1 + diodes)):
        wrong = np.where(on, pushed, u - forward) > _NO_CURRENT
        wrong ^= on
        if not wrong.any():
            return pushed
        if turn >= _SWAPS_AT_ONCE:
            wrong &= wrong.cumsum(axis=1) == 1
        on ^= wrong
        matrix = ports * (on[:, :, None] & on[:, None, :])
        matrix[:, range(diodes), range(diodes)] += np.where(on, slopes, 1.0)
        right = np.where(on, idle - forward, 0.0)
        pushed = np.asarray(np.linalg.solve(matrix, right[:, :, None])[:, :, 0], np.float64)
        u = idle - (ports @ pushed[:, :, None])[:, :, 0]
    return None


def _conductance(part: Part, leak: float) -> float:
    """Of a part whose contacts are closed and whose diodes block, S; sources have none."""
    if isinstance(part, Contact | Resistive):
        return 1.0 / part.ohm
    return leak if isinstance(part, Diode) else 0.0


def _level(part: Part, volts: float) -> float:
    assert isinstance(part, Source)
    return volts if part.follows else part.volts
