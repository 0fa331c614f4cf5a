"""Nodal analysis of a circuit whose diodes either block or conduct.

Voltages follow from Kirchhoff's current law at every node (modified nodal analysis: one more
unknown current for every ideal source). A diode is a straight line above its forward voltage and an
open contact below it; which of the two is found by trying until all agree. The network is solved
once with all diodes blocking; the trying goes on in the small problem that is left at their ends.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from tripmargin.circuit.errors import NoSolutionError
from tripmargin.circuit.grid import Grid, Key, Look
from tripmargin.ground.patience import still_time

_SWAPS_AT_ONCE = 8
"""Rounds in which all diodes that disagree are turned together; after that one at a time, the first
of them, which always ends for a network of positive resistances (Murty's least-index rule)."""


_NO_CURRENT = -1e-12
"""A, or V above the forward voltage: still taken as none, so that rounding turns nothing."""


def look(grid: Grid, key: Key) -> Look:
    """Voltages and currents in one state.

    Parameters
    ----------
    grid : Grid
    key : (closed, blown, volts)
        Contacts closed and fuses blown, in the order of the parts; V, of the sources that follow
        the step.

    Raises
    ------
    NoSolutionError
        If the diodes find no state that agrees with itself.
    """
    look_at_all([(grid, key)])
    return grid.looks[key]


def look_at_all(wanted: Iterable[tuple[Grid, Key]]) -> None:
    """Work out many looks at once and leave them with their grids.

    States of different networks go together as long as they have as many parts of each kind.

    Raises
    ------
    NoSolutionError
        If somewhere the diodes find no state that agrees with itself.
    """
    groups: dict[tuple[int, ...], list[tuple[Grid, Key]]] = {}
    for grid, key in wanted:
        if key not in grid.looks:
            groups.setdefault(grid.shape, []).append((grid, key))
    for group in groups.values():
        _look_at(group)


def _look_at(group: list[tuple[Grid, Key]]) -> None:
    """Work out looks that have as many parts of each kind. All arrays: (states, ...)."""
    still_time()
    grids = [grid for grid, _ in group]
    sources = len(grids[0].sources)
    last = len(grids[0].nodes) - 1
    g = _conductances(group)
    x = _ports(group, g)
    state = np.arange(len(group))[:, None]
    p, n = np.array([grid.p for grid in grids]), np.array([grid.n for grid in grids])
    at = np.array([grid.diodes for grid in grids])
    v = x[:, :, 0]
    across = x[state, p[state, at]] - x[state, n[state, at]]
    pushed = _conducting(
        across[:, :, 0],
        -across[:, :, 1:],
        np.array([grid.slope for grid in grids]),
        np.array([grid.forward for grid in grids]),
    )
    if pushed is None:
        raise NoSolutionError(grids[0].diode_names())
    v = v + (x[:, :, 1:] @ pushed[:, :, None])[:, :, 0]
    amps = g * (v[state, p] - v[state, n])
    amps[state, at] += pushed
    amps[state, np.array([grid.sources for grid in grids], int)] = -v[:, last : last + sources]
    v[:, last] = 0.0
    volts = v[:, : last + 1].tolist()
    for (grid, key), one, other in zip(group, volts, amps.tolist(), strict=True):
        grid.looks[key] = Look(tuple(one), tuple(other))


def _conductances(group: list[tuple[Grid, Key]]) -> NDArray[np.float64]:
    """Of every part with all diodes blocking, S."""
    g = np.array([grid.conductance for grid, _ in group])
    state = np.arange(len(group))[:, None]
    gates = np.array([grid.gates for grid, _ in group], int)
    shut = np.array([(*closed, *(not gone for gone in blown)) for _, (closed, blown, _) in group])
    leak = np.array([[grid.leak] for grid, _ in group])
    g[state, gates] = np.where(shut.astype(bool), g[state, gates], leak)
    return g


def _ports(group: list[tuple[Grid, Key]], g: NDArray[np.float64]) -> NDArray[np.float64]:
    """Every unknown with all diodes blocking, and its answer to an ampere at each diode."""
    size, _, _, _, sources = group[0][0].shape
    count, free = len(group), size - 1
    places = np.array([grid.places for grid, _ in group])
    places += size**2 * np.arange(count)[:, None]
    edges = np.array([grid.edges for grid, _ in group])
    stamps = np.concatenate([g, g, -g, -g, edges], axis=1)
    matrix = np.bincount(places.ravel(), stamps.ravel(), count * size**2)
    right = np.array([grid.right for grid, _ in group])
    right[:, free - sources : free, 0] = [grid.levels(key[2]) for grid, key in group]
    matrix = matrix.reshape(count, size, size)[:, :free, :free]
    x = np.zeros_like(right)
    try:
        x[:, :free] = np.linalg.solve(matrix, right[:, :free])
        missing = _missing(group, g, right[:, :, 0], x[:, :, 0])
        x[:, :free, 0] += np.linalg.solve(matrix, missing[:, :free, None])[:, :, 0]
    except np.linalg.LinAlgError as error:
        raise NoSolutionError(()) from error
    return x


def _missing(
    group: list[tuple[Grid, Key]],
    g: NDArray[np.float64],
    right: NDArray[np.float64],
    x: NDArray[np.float64],
) -> NDArray[np.float64]:
    """What the idle unknowns leave unbalanced, added up part by part; (states, size).

    The leaks of a piece that only open contacts hold vanish in the matrix beside the conductances
    of its wires, but not here, where each part's current leaves one node and enters another.
    """
    size, _, _, _, sources = group[0][0].shape
    count, free = len(group), size - 1
    state = np.arange(count)[:, None]
    p, n = np.array([grid.p for grid, _ in group]), np.array([grid.n for grid, _ in group])
    at = np.array([grid.sources for grid, _ in group], int).reshape(count, sources)
    amps = g * (x[state, p] - x[state, n])
    amps[state, at] = x[:, free - sources : free]
    ends = np.concatenate([p, n], axis=1) + size * state
    flows = np.concatenate([amps, -amps], axis=1)
    missing = right - np.bincount(ends.ravel(), flows.ravel(), count * size).reshape(count, size)
    missing[:, free - sources : free] -= x[state, p[state, at]] - x[state, n[state, at]]
    return missing


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
