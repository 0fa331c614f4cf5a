"""The circuit as numbers: nodal analysis with diodes that either block or conduct.

Voltages follow from Kirchhoff's current law at every node (modified nodal analysis: one more unknown
current for every ideal source). A diode is a straight line above its forward voltage and an open
contact below it; which of the two is found by trying until all agree. The network is solved once
with all diodes blocking; the trying goes on in the small problem that is left at their ends.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.circuit.errors import NoSolutionError
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import GROUND, Contact, Diode, Fuse, Part, Resistive, Source

Closed = tuple[bool, ...]

_SWAPS_AT_ONCE = 8
"""Rounds in which all diodes that disagree are turned together; after that one at a time, the first
of them, which always ends for a network of positive resistances (Murty's least-index rule)."""


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
        self._leak = 1.0 / network.open_ohm
        self._conductance = np.array([_conductance(part, self._leak) for part in parts])
        self._p = np.array([self.node_index[part.p] for part in parts])
        self._n = np.array([self.node_index[part.n] for part in parts])
        diodes = [(k, part) for k, part in enumerate(parts) if isinstance(part, Diode)]
        self._diodes = np.array([k for k, _ in diodes], int)
        slopes = np.array([part.slope for _, part in diodes])
        self._slope = 1.0 / (1.0 / slopes - self._leak)
        self._forward = np.array([part.forward for _, part in diodes]) / (1.0 - slopes * self._leak)
        self._sources = [k for k, part in enumerate(parts) if isinstance(part, Source)]
        self._stamp()
        self._looks: dict[tuple[Closed, Closed, float], Look] = {}

    def _stamp(self) -> None:
        """Where each part's conductance goes in the matrix of the node equations.

        A part between p and n adds its conductance at (p, p) and (n, n) and takes it away at
        (p, n) and (n, p). Source currents are unknowns after the nodes. The ground node's row and
        column are kept here and cut off when all is added up.
        """
        p, n, nodes = self._p, self._n, len(self.nodes)
        size = nodes + len(self._sources)
        self._places = np.concatenate([p * size + p, n * size + n, p * size + n, n * size + p])
        border = np.zeros((size, size))
        right = np.zeros((size, 1 + len(self._diodes)))
        for row, k in enumerate(self._sources, nodes):
            border[row, p[k]] = border[p[k], row] = 1.0
            border[row, n[k]] = border[n[k], row] = -1.0
        for column, k in enumerate(self._diodes, 1):
            right[p[k], column] -= 1.0
            right[n[k], column] += 1.0
        self._border = border.ravel()
        self._right = right
        self._free = np.array([k for k in range(size) if k != nodes - 1])

    def look(self, closed: Closed, blown: Closed, volts: float) -> Look:
        """Voltages and currents with these contacts closed and these fuses blown.

        Parameters
        ----------
        closed : tuple of bool, in the order of `contacts`
        blown : tuple of bool, in the order of `fuses`
        volts : float, V
            Of the sources that follow the step.

        Raises
        ------
        NoSolutionError
            If the diodes find no state that agrees with itself.
        """
        key = (closed, blown, volts)
        found = self._looks.get(key)
        if found is None:
            found = self._looks[key] = self._solved(closed, blown, volts)
        return found

    def _solved(self, closed: Closed, blown: Closed, volts: float) -> Look:
        g = self._conductance.copy()
        shut = [k for k, on in zip(self.contacts, closed, strict=True) if not on]
        g[shut + [k for k, gone in zip(self.fuses, blown, strict=True) if gone]] = self._leak
        x = self._ports(g, volts)
        across = x[self._p[self._diodes]] - x[self._n[self._diodes]]
        pushed = self._conducting(across[:, 0], -across[:, 1:])
        v = x[:, 0] + x[:, 1:] @ pushed
        amps = g * (v[self._p] - v[self._n])
        amps[self._diodes] += pushed
        nodes = len(self.nodes)
        amps[self._sources] = -v[nodes:]
        return Look(tuple(v[:nodes].tolist()), tuple(amps.tolist()))

    def _ports(self, g: NDArray[np.float64], volts: float) -> NDArray[np.float64]:
        """Every unknown with all diodes blocking, and its answer to an ampere at each diode."""
        right, nodes = self._right, len(self.nodes)
        size = len(right)
        stamps = np.concatenate([g, g, -g, -g])
        matrix = (self._border + np.bincount(self._places, stamps, size * size)).reshape(size, size)
        parts = self.network.parts
        right[nodes:, 0] = [_level(parts[k], volts) for k in self._sources]
        x = np.zeros_like(right)
        free = self._free
        try:
            x[free] = np.linalg.solve(matrix[free[:, None], free], right[free])
        except np.linalg.LinAlgError as error:
            raise NoSolutionError(()) from error
        return x

    def _conducting(
        self, idle: NDArray[np.float64], ports: NDArray[np.float64]
    ) -> NDArray[np.float64]:
        """Current that each diode adds to what it leaks, A.

        Seen from the diodes the rest of the network is a battery and a resistance at each of them:
        u = idle - ports @ i. Those found above their forward voltage conduct, and so on until all
        agree. All block at first, so that the answer never depends on what was solved before.
        """
        on = np.zeros(len(idle), bool)
        pushed, u = np.zeros(len(idle)), idle
        for turn in range(_SWAPS_AT_ONCE + 40 * (1 + len(on))):
            above = np.where(on, pushed > -self._leak * self._forward, u > self._forward)
            wrong = (above != on).nonzero()[0]
            if not len(wrong):
                return pushed
            on[wrong if turn < _SWAPS_AT_ONCE else wrong[:1]] ^= True
            k = on.nonzero()[0]
            matrix = ports[k[:, None], k]
            matrix.flat[:: len(k) + 1] += self._slope[k]
            pushed = np.zeros(len(idle))
            pushed[k] = np.linalg.solve(matrix, idle[k] - self._forward[k])
            u = idle - ports @ pushed
        raise NoSolutionError([self.network.parts[self._diodes[k]].name for k in wrong])


def _conductance(part: Part, leak: float) -> float:
    """Of a part whose contacts are closed and whose diodes block, S; sources have none."""
    if isinstance(part, Contact | Resistive):
        return 1.0 / part.ohm
    return leak if isinstance(part, Diode) else 0.0


def _level(part: Part, volts: float) -> float:
    assert isinstance(part, Source)
    return volts if part.follows else part.volts


def fixed_contacts(network: Network) -> Sequence[bool | None]:
    """For each contact: stuck closed, stuck open, or None where something moves it."""
    return [part.stuck for part in network.parts if isinstance(part, Contact)]


__all__ = ["GROUND", "Closed", "Grid", "Look", "fixed_contacts"]
