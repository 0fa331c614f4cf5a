"""The circuit as numbers: which parts stand where, and what was found for each state of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import Contact, Diode, Fuse, Part, Resistive, Source, original

Closed = tuple[bool, ...]
Key = tuple[Closed, Closed, float]
"""What a look depends on: contacts closed, fuses blown, volts of the sources that follow."""


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
        fitted = [original(part) for part in parts]
        self.fuses = [k for k, part in enumerate(fitted) if isinstance(part, Fuse)]
        self.gates = [k for k, part in enumerate(parts) if isinstance(part, Contact)] + self.fuses
        self.sources = [k for k, part in enumerate(parts) if isinstance(part, Source)]
        self.leak = 1.0 / network.open_ohm
        self.conductance = np.array([_conductance(part, self.leak) for part in parts])
        diodes = [(k, part) for k, part in enumerate(fitted) if isinstance(part, Diode)]
        self.diodes = np.array([k for k, _ in diodes], int)
        slopes = np.array([part.slope for _, part in diodes])
        self.slope = 1.0 / (1.0 / slopes - self.leak)
        # A diode that is broken or shorted keeps its place among the diodes and never conducts.
        forward = [part.forward if parts[k] is part else np.inf for k, part in diodes]
        self.forward = np.array(forward) / (1.0 - slopes * self.leak)
        self._stamp()
        self.looks: dict[Key, Look] = {}

    def _stamp(self) -> None:
        """Where each part's conductance goes in the matrix of the node equations.

        A part between p and n adds its conductance at (p, p) and (n, n) and takes it away at
        (p, n) and (n, p). Unknowns are the nodes' voltages, then the sources' currents; the ground
        node's row and column come last and are cut off when all is added up.
        """
        last, sources = len(self.nodes) - 1, len(self.sources)
        size = last + sources + 1
        where = [*range(last), size - 1]
        parts = self.network.parts
        self.p = p = np.array([where[self.node_index[part.p]] for part in parts])
        self.n = n = np.array([where[self.node_index[part.n]] for part in parts])
        row = np.arange(last, last + sources)
        sp, sn = p[self.sources], n[self.sources]
        corners = [p * size + p, n * size + n, p * size + n, n * size + p]
        edges = [row * size + sp, sp * size + row, row * size + sn, sn * size + row]
        self.places = np.concatenate(corners + edges)
        self.edges = np.repeat([1.0, 1.0, -1.0, -1.0], sources)
        self.right = np.zeros((size, 1 + len(self.diodes)))
        column = np.arange(1, 1 + len(self.diodes))
        np.add.at(self.right, (p[self.diodes], column), -1.0)
        np.add.at(self.right, (n[self.diodes], column), 1.0)
        self.shape = (size, len(parts), len(self.gates), len(self.diodes), sources)

    def levels(self, volts: float) -> list[float]:
        """Of each source, V, where those that follow the step stand at `volts`."""
        sources = [self.network.parts[k] for k in self.sources]
        return [
            volts if part.follows else part.volts for part in sources if isinstance(part, Source)
        ]

    def diode_names(self) -> list[str]:
        """Names of the diodes and LEDs."""
        return [self.network.parts[k].name for k in self.diodes]


def _conductance(part: Part, leak: float) -> float:
    """Of a part whose contacts are closed and whose diodes block, S; sources have none."""
    if isinstance(part, Contact | Resistive):
        return 1.0 / part.ohm
    return leak if isinstance(part, Diode) else 0.0
