"""One machine's stop, for every cut asked about: densities once, travel once a cut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.machine import Machine
from tripmargin.protection.remembered import Remembered
from tripmargin.sensing.lines import REACH
from tripmargin.stopping import (
    StopChain,
    StopDensities,
    TravelChances,
    stop_chain,
    travel_chances,
)

Array = NDArray[np.float64]
LATE_PLACES = np.linspace(-REACH, 2 * REACH, 480)
"""Places along y at which the chance of being too late is worked out, m."""
_CUTS = 4  # kept, up to 1 MB each


class Stops:
    """How far the metal travels before the rolls stand, as chances, at any cut.

    Parameters
    ----------
    machine : Machine
    densities : StopDensities, optional
        Those of this machine, where they are known already.

    Raises
    ------
    NotKnownError
        If the machine file lacks what the stop needs.
    """

    def __init__(self, machine: Machine, densities: StopDensities | None = None) -> None:
        self.machine = machine
        self.densities = densities or StopDensities.of(machine)
        self._travels = Remembered[tuple[float, bool], TravelChances](_CUTS)
        self._chains = Remembered[float, StopChain](_CUTS)

    def chain(self, cut_length: float) -> StopChain:
        """The stages of the stop at one cut; those of the last few cuts are kept."""
        return self._chains.get(cut_length, lambda: stop_chain(self.machine, cut_length=cut_length))

    def travel(self, cut_length: float, *, fine: bool) -> TravelChances:
        """The chances of every travel at one cut; those of the last few cuts are kept."""
        return self._travels.get(
            (cut_length, fine),
            lambda: travel_chances(self.machine, cut_length, densities=self.densities, fine=fine),
        )


@dataclass(frozen=True, slots=True)
class LateTable:
    """Chance of being too late over the crossing's place, to look up between `LATE_PLACES`.

    `logs` (k,) is the chance's logarithm: far out in the tail it is the nearly straight one.
    """

    logs: Array

    @classmethod
    def of(cls, late: Array) -> LateTable:
        """The table of the chances at `LATE_PLACES`, (k,)."""
        return cls(np.log(late + 1e-300))

    def at(self, where: Array) -> Array:
        """The chance at each crossing, m; shape of `where`."""
        found = np.exp(np.interp(where, LATE_PLACES, self.logs))
        return np.where(found < 1e-250, 0.0, found)
