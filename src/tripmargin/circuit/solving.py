"""One look at a circuit: voltages and currents with given contacts closed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from tripmargin.circuit.errors import CircuitError, unknown
from tripmargin.circuit.grid import Grid
from tripmargin.circuit.looking import look
from tripmargin.circuit.network import Network
from tripmargin.circuit.parts import Contact, Source


@dataclass(frozen=True, slots=True)
class Solution:
    """Voltages, V, by node, and currents, A, by part, from p to n (sources: what they deliver)."""

    voltages: dict[str, float]
    currents: dict[str, float]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {"voltages_V": dict(self.voltages), "currents_A": dict(self.currents)}


def solve(
    network: Network, closed: Collection[str] = (), *, volts: float | None = None
) -> Solution:
    """Voltages and currents of a circuit at rest.

    Parameters
    ----------
    network : Network
    closed : collection of str
        Names of the contacts that are closed; the others are open. A stuck contact stays stuck.
    volts : float, V
        Of the sources that follow the operating step; left out, their own.

    Returns
    -------
    Solution

    Raises
    ------
    CircuitError
        If a name in `closed` is not a contact.
    NoSolutionError
        If the diodes find no state that agrees with itself.

    Examples
    --------
    >>> from tripmargin.circuit import Network, Resistor, Source
    >>> divider = Network((
    ...     Source("B", "30", "0", 12.0),
    ...     Resistor("R1", "30", "a", 10.0),
    ...     Resistor("R2", "a", "0", 20.0),
    ... ))
    >>> round(solve(divider).voltages["a"], 9)
    8.0
    """
    contacts = [part for part in network.parts if isinstance(part, Contact)]
    names = [part.name for part in contacts]
    wrong = [unknown("closed", name, names, "contact") for name in closed if name not in names]
    if wrong:
        raise CircuitError(wrong)
    states = tuple(
        part.stuck if part.stuck is not None else part.name in closed for part in contacts
    )
    if volts is None:
        own = [part.volts for part in network.parts if isinstance(part, Source) and part.follows]
        volts = own[0] if own else 0.0
    grid = Grid(network)
    seen = look(grid, (states, (False,) * len(grid.fuses), volts + network.volts_offset))
    return Solution(
        dict(zip(grid.nodes, seen.volts, strict=True)),
        {part.name: amps for part, amps in zip(network.parts, seen.amps, strict=True)},
    )
