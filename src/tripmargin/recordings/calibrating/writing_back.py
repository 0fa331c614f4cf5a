"""A posterior as fields of the machine file, so that all that reads the file knows it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from tripmargin.ground.quantities import Quantity, quantity
from tripmargin.ground.results import plain
from tripmargin.ground.units import DIMENSIONS, from_si

_WIDE = 0.3  # standard deviation of a logarithm: more is not written as a normal distribution
_TWO_SIDES = 1.959964  # of a normal distribution: 95 %
_MIDDLE = 0.95  # of a rectangle's width holds 95 %
_EXACT = 1e-6  # of a value: less doubt than this is none


@dataclass(frozen=True, slots=True)
class CalibratedField:
    """One field of the machine file, before and after.

    Attributes
    ----------
    path, before, after
    alone : float or None
        Standard deviation that was learned of it by itself, SI, where `after` is written surer;
        None where it is not.
    """

    path: str
    before: Quantity
    after: Quantity
    alone: float | None = None

    @property
    def said_alone(self) -> str:
        """How far off it may be by itself, as a person would write it; "" where `after` says it."""
        if self.alone is None:
            return ""
        kind = DIMENSIONS[self.after.dimension]
        unit = f" {kind.metric}" if kind.metric else ""
        return f"{_short(self.alone / kind.units[kind.metric].factor)[0]}{unit} (sd)"

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return dict(
            plain(
                {
                    "field": self.path,
                    "before": self.before,
                    "after": self.after,
                    "sd_by_itself": self.alone,
                }
            )
        )


def surer_than(after: Quantity, sd: float) -> float | None:
    """For `CalibratedField.alone`: the width by itself, where the written one is narrower."""
    return sd if after.sd < 0.9 * sd else None


def normal_quantity(value: float, sd: float, dimension: str) -> Quantity:
    """A quantity with a standard deviation, written in the unit that a person would choose.

    >>> normal_quantity(0.0031, 0.0002, "time").text
    '3.10 ms +- 0.20 ms (sd)'
    """
    kind = DIMENSIONS[dimension]
    unit = kind.metric
    factor, name = kind.units[unit].factor, f" {unit}" if unit else ""
    said = from_si(value, dimension, unit)
    if sd <= _EXACT * abs(value):
        return quantity(f"{said:.6g}{name}", dimension)
    off, places = _short(sd / factor)
    middle = f"{round(said, places) + 0.0:.{places}f}"  # no "-0.0"
    return quantity(f"{middle}{name} +- {off}{name} (sd)", dimension)


def _short(sd: float) -> tuple[str, int]:
    """A standard deviation in two digits, and how many places behind the point they take."""
    rounded = float(f"{sd:.2g}")
    places = max(0, 1 - int(np.floor(np.log10(rounded))))
    return f"{rounded:.{places}f}", places


def gain_quantity(nominal: float, log_sd: float) -> Quantity:
    """A gain known to within a factor; limits where a normal distribution would reach nothing.

    The limits hold 95 % between the same ends as the normal distribution of the logarithm.
    """
    if log_sd <= _WIDE:
        return normal_quantity(nominal, nominal * log_sd, "number")
    off = _TWO_SIDES * log_sd / _MIDDLE
    low, high = (float(f"{nominal * np.exp(end):.3g}") for end in (-off, off))
    return quantity(f"{low:g} .. {high:g}", "number")


def is_learned(before: Quantity, middle: float, sd: float) -> bool:
    """Whether a field moved or became surer by enough to write it anew."""
    return sd < 0.95 * before.sd or abs(middle - before.nominal) > 0.1 * before.sd
