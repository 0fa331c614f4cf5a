"""Propagation of distributions by drawing: for doubts that are neither small nor straight."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.results import plain
from tripmargin.recordings.uncertainty.inputs import Input

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Drawn:
    """A result as draws.

    Attributes
    ----------
    values
        (n,) the draws, rising, in the result's SI unit.
    """

    values: Floats

    @property
    def value(self) -> float:
        """Mean of the draws."""
        return float(self.values.mean())

    @property
    def u(self) -> float:
        """Standard deviation of the draws."""
        return float(self.values.std(ddof=1))

    def interval(self, probability: float = 0.95) -> tuple[float, float]:
        """Limits with as much outside on either side (JCGM 101:2008, 7.7.2)."""
        low, high = np.quantile(self.values, [(1 - probability) / 2, (1 + probability) / 2])
        return float(low), float(high)

    def shortest(self, probability: float = 0.95) -> tuple[float, float]:
        """The shortest limits that hold that share of the draws (JCGM 101:2008, 7.7.3)."""
        n = len(self.values)
        held = min(n - 1, round(probability * n))
        first = int(np.argmin(self.values[held:] - self.values[: n - held]))
        return float(self.values[first]), float(self.values[first + held])

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI; without the draws."""
        low, high = self.interval()
        return dict(
            plain(
                {
                    "value": self.value,
                    "u": self.u,
                    "low": low,
                    "high": high,
                    "draws": len(self.values),
                }
            )
        )


def draw_result(
    model: Callable[..., Any],
    inputs: Mapping[str, Input],
    *,
    draws: int = 200_000,
    seed: int = 1,
) -> Drawn:
    """A result's distribution by drawing its inputs (JCGM 101:2008, clause 7).

    Parameters
    ----------
    model
        Takes each input by its name as an array of draws, gives an array.
    inputs
        By name; independent of each other.
    draws
        How many.
    seed
        The same seed gives the same draws.

    Raises
    ------
    ValueError
        Where the model gives something that is no number.
    """
    random = np.random.default_rng(seed)
    drawn = {name: each.draw(random, draws) for name, each in inputs.items()}
    values = np.broadcast_to(np.asarray(model(**drawn), dtype=float), (draws,))
    if not np.isfinite(values).all():
        lost = int((~np.isfinite(values)).sum())
        raise ValueError(f"{lost} of {draws} draws give no number; the inputs are too wide for it.")
    return Drawn(np.sort(values))
