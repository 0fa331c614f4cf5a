"""What every result shares: numbers that remember their limits, and a JSON-ready form."""

from __future__ import annotations

from typing import Any

import numpy as np


class Spread(float):
    """A number that remembers its limits: it is its own nominal value, in SI.

    >>> travel = Spread(0.1, low=0.08, high=0.13)
    >>> travel + 0.1, travel.high
    (0.2, 0.13)
    """

    __slots__ = ("high", "low", "sd")

    low: float
    high: float
    sd: float | None

    def __new__(cls, nominal: float, *, low: float, high: float, sd: float | None = None) -> Spread:
        """Nominal value, least and greatest, and standard deviation where it is known."""
        made = super().__new__(cls, nominal)
        made.low, made.high, made.sd = low, high, sd
        return made

    @property
    def nominal(self) -> float:
        """The value with every input at its middle, SI."""
        return float(self)

    def to_dict(self) -> dict[str, float | None]:
        """JSON-ready, SI."""
        return {"nominal": float(self), "low": self.low, "high": self.high, "sd": self.sd}


def plain(value: Any) -> Any:
    """A value as JSON knows it: arrays as lists, infinities and not-a-number as null.

    >>> plain({"a": np.array([1.0, np.inf])})
    {'a': [1.0, None]}
    """
    if isinstance(value, Spread):
        return plain(value.to_dict())
    if isinstance(value, dict):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [plain(item) for item in value]
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, (bool, np.bool_)):
        return bool(value)
    if isinstance(value, np.integer):
        return int(value)
    if isinstance(value, (float, np.floating)):
        return float(value) if np.isfinite(value) else None
    if hasattr(value, "to_dict"):
        return plain(value.to_dict())
    return value
