"""Scales from values to pixels, and the round numbers that stand beside them."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log10

import numpy as np
from numpy.typing import ArrayLike

from tripmargin.pictures.data import Array

INCH = 0.0254  # m, exact


@dataclass(frozen=True, slots=True)
class Scale:
    """Values from `low` to `high` laid between the pixels `start` and `end`."""

    low: float
    high: float
    start: float
    end: float
    log: bool = False

    def __call__(self, values: ArrayLike) -> Array:
        """Pixels of values."""
        given = np.asarray(values, dtype=float)
        low, high = self.low, self.high
        if self.log:
            given, low, high = np.log(given), np.log(low), np.log(high)
        return np.asarray(self.start + (given - low) / (high - low) * (self.end - self.start))

    def at(self, value: float) -> float:
        """Pixel of one value."""
        return float(self(value))

    def values(self, pixels: ArrayLike) -> Array:
        """Values at pixels."""
        part = (np.asarray(pixels, dtype=float) - self.start) / (self.end - self.start)
        if self.log:
            return np.asarray(self.low * (self.high / self.low) ** part)
        return np.asarray(self.low + part * (self.high - self.low))

    def has(self, value: float | None) -> bool:
        """Whether a value lies on the scale."""
        return value is not None and self.low <= value <= self.high

    def ticks(self, count: int, unit: float = 1.0) -> list[float]:
        """Round values on the scale, about `count` of them, round in a unit of that many SI."""
        make = log_ticks if self.log else nice_ticks
        return [tick * unit for tick in make(self.low / unit, self.high / unit, count)]


def nice_ticks(low: float, high: float, count: int) -> list[float]:
    """Round numbers from low to high: steps of 1, 2 or 5 times a power of ten.

    >>> nice_ticks(0, 10, 5)
    [0.0, 2.0, 4.0, 6.0, 8.0, 10.0]
    """
    if not high > low:
        return [low]
    rough = (high - low) / max(count, 1)
    power = 10.0 ** floor(log10(rough))
    step = next(power * k for k in (1, 2, 5, 10) if power * k >= rough * (1 - 1e-9))
    first, last = ceil(low / step - 1e-9), floor(high / step + 1e-9)
    return [round(k * step, 12) for k in range(first, last + 1)]


def log_ticks(low: float, high: float, count: int) -> list[float]:
    """Round numbers for a logarithmic scale: 1, 2, 5 in each decade, or decades alone.

    >>> log_ticks(3, 60, 5)
    [5.0, 10.0, 20.0, 50.0]
    """
    fine: list[float] = []
    for mantissas in ((1,), (1, 2, 5), (1, 1.5, 2, 3, 4, 5, 7)):
        powers = range(floor(log10(low)) - 1, ceil(log10(high)) + 1)
        fine = [m * 10.0**p for p in powers for m in mantissas]
        fine = [round(v, 12) for v in fine if low * (1 - 1e-9) <= v <= high * (1 + 1e-9)]
        if len(fine) >= min(count, 3):
            break
    while len(fine) > 2 * count:
        fine = fine[::2]
    return fine
