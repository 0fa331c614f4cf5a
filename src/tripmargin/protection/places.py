"""Protection place by place: the worst of them, and the share of them that is protected."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.protection.bench import Bench
from tripmargin.protection.mapping import smallest_ball
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.tables import weights_of

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Places:
    """P(stopped) at every place and height for signals scaled by `scales`, at one cut.

    Attributes
    ----------
    places : ndarray, (p,), m;  heights : ndarray, (h,), m
    protected : ndarray, (s, h, p)
    """

    places: Array
    heights: Array
    protected: Array

    @classmethod
    def of(cls, bench: Bench, piece: Piece, cut_length: float, scales: Array) -> Places:
        """Compute them, over all tolerances at each place."""
        table = bench.table(piece)
        sample, tolerances = bench.everywhere(piece)
        count, spots = len(tolerances), len(table.heights) * len(table.places)
        seen = bench.sight(piece, sample)
        _, _, stopped = bench.chances_by_draw(seen, cut_length, scales, fine=False)
        by_place = stopped.reshape(len(scales), spots, count) @ tolerances
        shape = (len(scales), len(table.heights), len(table.places))
        return cls(table.places, table.heights, by_place.reshape(shape))

    @classmethod
    def least(cls, each: Sequence[Places]) -> Places:
        """The least P(stopped) of several attitudes at every place and height."""
        least = np.min([one.protected for one in each], axis=0)
        return cls(each[0].places, each[0].heights, least)

    def worst(self, index: int = 0) -> tuple[float, float, float]:
        """Place and height with the least P(stopped), and that: (x m, height m, probability)."""
        one = self.protected[index]
        h, p = np.unravel_index(int(one.argmin()), one.shape)
        return float(self.places[p]), float(self.heights[h]), float(one[h, p])

    def share(self, confidence: float, index: int = 0) -> float:
        """Share of places and heights that is protected at that confidence."""
        weights = weights_of(self.heights)[:, None] * weights_of(self.places)
        return float(weights[self.protected[index] >= confidence].sum())

    def smallest_ball(self, diameters: Array, confidence: float) -> float | None:
        """Least ball protected even at the worst place; None where there is none."""
        return smallest_ball(diameters, self.protected.min(axis=(1, 2)), confidence)

    def unprotected_across(
        self, confidence: float, index: int = 0
    ) -> tuple[tuple[float, float], ...]:
        """Stretches across the roll that are not protected at mid height: (from, to), m."""
        short = self.protected[index][len(self.heights) // 2] < confidence
        edges = np.flatnonzero(np.diff(np.concatenate([[False], short, [False]]).astype(int)))
        return tuple(
            (float(self.places[a]), float(self.places[b - 1]))
            for a, b in zip(edges[::2], edges[1::2], strict=True)
        )
