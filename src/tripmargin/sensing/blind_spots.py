"""Where the must-stop ball is not caught: stretches across the roll, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later

Array = NDArray[np.float64]
_SILENCE, _WEAK = later("no signal at all"), later("too weak")


@dataclass(frozen=True, slots=True)
class BlindSpot:
    """A stretch across the roll where the must-stop ball is not caught, at one height."""

    x_low: float
    x_high: float
    height: float
    kind: str  # "no signal at all" or "too weak": `say(spot.kind)`

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "x_low_m": self.x_low,
            "x_high_m": self.x_high,
            "height_m": self.height,
            "kind": self.kind,
        }


def blind_spots(
    places: Array, heights: Array, smallest: Array, diameter: float | None
) -> tuple[BlindSpot, ...]:
    """Stretches across the roll where a ball is not caught, at the least and greatest height."""
    if diameter is None:
        return ()
    found = []
    for row in sorted({0, len(heights) - 1}):
        missed = smallest[row] > diameter
        edges = np.flatnonzero(np.diff(np.concatenate([[False], missed, [False]]).astype(int)))
        for first, last in zip(edges[::2], edges[1::2] - 1, strict=True):
            stretch = (
                _edge(places, smallest[row], int(first), -1, diameter),
                _edge(places, smallest[row], int(last), +1, diameter),
            )
            silent = np.flatnonzero(np.isinf(smallest[row, first : last + 1])) + first
            # Beside a silent place the signal is weak too: that is the same spot, not another.
            if last - first + 1 > 3 * len(silent):
                found.append(BlindSpot(*stretch, float(heights[row]), _WEAK))
                found += [
                    BlindSpot(float(places[i]), float(places[i]), float(heights[row]), _SILENCE)
                    for i in silent
                ]
            else:
                found.append(BlindSpot(*stretch, float(heights[row]), _SILENCE))
    return tuple(found)


def _edge(places: Array, smallest: Array, index: int, step: int, diameter: float) -> float:
    """Where the smallest ball passes the diameter, between two places: 1/d^3 is nearly straight."""
    beside = index + step
    if not 0 <= beside < len(places):
        return float(places[index])
    a, b, wanted = (1 / v**3 for v in (smallest[index], smallest[beside], diameter))
    return float(places[index] + (wanted - a) / (b - a) * (places[beside] - places[index]))
