"""One machine on the bench: what its sensor sees met by its stop, for every question about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.machine import Machine
from tripmargin.protection.seeing import Sight
from tripmargin.protection.sights import REFERENCE_BALL, Progress, Sights
from tripmargin.protection.stops import LATE_PLACES, LateTable, Stops
from tripmargin.protection.strength import Strength
from tripmargin.stopping import feed_speed

__all__ = ["REFERENCE_BALL", "Bench", "Chances", "Progress"]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Chances:
    """P(missed), P(caught but too late), P(caught and stopped); arrays of one shape."""

    missed: Array
    too_late: Array
    protected: Array


class Bench:
    """One machine's sights and stops, shared by every question about it.

    Parameters
    ----------
    machine : Machine
    cut_lengths : sequence of float, m
        Every cut that will be asked about.
    progress : callable, optional
        Told the share done of each table of passes, 0 to 1.
    sights, stops : Sights, Stops, optional
        This machine's, where they are known already. Sights may be those of another machine that
        differs in nothing that the sensor sees.
    """

    def __init__(
        self,
        machine: Machine,
        cut_lengths: Sequence[float],
        progress: Progress | None = None,
        *,
        sights: Sights | None = None,
        stops: Stops | None = None,
    ) -> None:
        self.machine = machine
        self.sights = sights or Sights(machine, cut_lengths, progress)
        self.stops = stops or Stops(machine)
        self.places, self.heights = self.sights.places, self.sights.heights
        self.table, self.curve = self.sights.table, self.sights.curve
        self.sample, self.everywhere = self.sights.sample, self.sights.everywhere
        self.sight, self.sight_near = self.sights.sight, self.sights.sight_near
        self._lates: dict[tuple[float, float, bool], LateTable] = {}

    @property
    def strength(self) -> Strength:
        """How the sensor's tolerances scale the signal, found at the strongest place."""
        return self.sights.strength

    def chances(self, seen: Sight, cut_length: float, scales: Array, *, fine: bool) -> Chances:
        """The three chances at one cut, for signals scaled by `scales` (s,); arrays (s,)."""
        missed, late, stopped = self.chances_by_draw(seen, cut_length, scales, fine=fine)
        weights = seen.sample.weights
        few = Chances(missed @ weights, late @ weights, stopped @ weights)
        piece = self.sights.spread_of(seen)
        if piece is None:
            return few
        # What is missed lies in the corners of the crop: that takes more draws than what is late.
        wide = self.sights.missed(piece, feed_speed(self.machine, cut_length), scales)
        seen_share = np.maximum(few.too_late + few.protected, 1e-300)
        late_share = few.too_late / seen_share * (1 - wide)
        return Chances(wide, late_share, 1 - wide - late_share)

    def chances_by_draw(
        self, seen: Sight, cut_length: float, scales: Array, *, fine: bool
    ) -> tuple[Array, Array, Array]:
        """As `chances`, for each draw by itself: arrays (s, n)."""
        drift, chance, where = self.sights.caught(
            seen, feed_speed(self.machine, cut_length), np.asarray(scales, dtype=float)
        )
        late = chance * self._late(cut_length, drift, fine=fine).at(where)
        return 1.0 - chance, late, chance - late

    def _late(self, cut_length: float, drift: float, *, fine: bool) -> LateTable:
        """Chance of being too late over the crossing's place; tabulated once a cut and drift."""
        key = (cut_length, round(drift, 4), fine)
        if key not in self._lates:
            travel = self.stops.travel(cut_length, fine=fine)
            late = travel.late(LATE_PLACES, drift=drift, fine=fine)
            self._lates[key] = LateTable.of(late)
        return self._lates[key]
