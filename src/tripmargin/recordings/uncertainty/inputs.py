"""Inputs of a measurement: a value, how it may be spread, and how well the spread is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Shape = Literal["normal", "t", "rectangular", "triangular", "arcsine", "trapezoid"]


@dataclass(frozen=True, slots=True)
class Input:
    """One input quantity of a measurement.

    Made by the functions of this module, not by hand.

    Attributes
    ----------
    value
        Best estimate, in the quantity's SI unit.
    u
        Standard uncertainty, same unit; of a t its scale, as the GUM counts it.
    dof
        Degrees of freedom of `u`; infinite where it is taken as exactly known.
    shape
        The distribution drawn from: "normal", "t" (shifted and scaled), "rectangular",
        "triangular", "arcsine" (a cycle between two limits) or "trapezoid" (limits that are
        themselves not exactly known).
    half_width, doubt
        Half the distance of the limits, and how far each limit may itself lie off; 0 where the
        shape has none.
    """

    value: float
    u: float
    dof: float = np.inf
    shape: Shape = "normal"
    half_width: float = 0.0
    doubt: float = 0.0

    def draw(self, random: np.random.Generator, n: int) -> Floats:
        """(n,) draws (JCGM 101:2008, clause 6.4)."""
        if self.shape == "normal":
            return random.normal(self.value, self.u, n)
        if self.shape == "t":
            return np.asarray(self.value + self.u * random.standard_t(self.dof, n))
        unit = _on_unit(self.shape, random, n)
        # The limits' own doubt; nothing where they are exact.
        width = self.half_width + self.doubt * random.uniform(-1, 1, n)
        return np.asarray(self.value + width * unit)


def _on_unit(shape: Shape, random: np.random.Generator, n: int) -> Floats:
    if shape == "triangular":
        return random.triangular(-1, 0, 1, n)
    if shape == "arcsine":
        return np.asarray(np.sin(random.uniform(0, 2 * np.pi, n)))
    return random.uniform(-1, 1, n)


def normal(value: float, u: float, *, dof: float = np.inf) -> Input:
    """A value with its standard uncertainty.

    With few degrees of freedom it is drawn as a shifted and scaled t (JCGM 101, 6.4.9).

    Raises
    ------
    ValueError
        Where `u` is negative or not finite, or `dof` is not positive.
    """
    _known(value, u)
    if not dof > 0:
        raise ValueError(f"{dof} degrees of freedom: there must be more than 0.")
    return Input(float(value), float(u), float(dof), "normal" if np.isinf(dof) else "t")


def rectangular(value: float, half_width: float, *, dof: float = np.inf) -> Input:
    """Anything within value +- half_width, all alike: u = half_width / sqrt(3) (GUM 4.3.7)."""
    return _between("rectangular", value, half_width, 3.0, dof)


def triangular(value: float, half_width: float) -> Input:
    """Within value +- half_width, likeliest in the middle: u = half_width / sqrt(6) (GUM 4.3.9)."""
    return _between("triangular", value, half_width, 6.0, np.inf)


def arcsine(value: float, half_width: float) -> Input:
    """A cycle of that amplitude at an unknown phase: u = half_width / sqrt(2) (JCGM 101, 6.4.6)."""
    return _between("arcsine", value, half_width, 2.0, np.inf)


def trapezoid(value: float, half_width: float, doubt: float) -> Input:
    """Limits value +- half_width, each of which may lie off by +- doubt (JCGM 101, 6.4.3).

    u^2 = half_width^2 / 3 + doubt^2 / 9.
    """
    _known(value, half_width)
    if not 0 <= doubt <= half_width:
        raise ValueError(f"a limit's doubt of {doubt} must lie between 0 and {half_width}.")
    u = float(np.sqrt(half_width**2 / 3 + doubt**2 / 9))
    return Input(float(value), u, np.inf, "trapezoid", float(half_width), float(doubt))


def readings(values: Sequence[float]) -> Input:
    """The mean of repeated readings, of n - 1 degrees of freedom (GUM 4.2).

    Raises
    ------
    ValueError
        With fewer than two readings: one tells nothing of the spread.
    """
    seen = np.asarray(values, dtype=float)
    if seen.ndim != 1 or len(seen) < 2:
        raise ValueError(f"{seen.size} readings tell nothing of their spread; take two or more.")
    _known(float(seen.mean()), 0.0)
    u = float(seen.std(ddof=1) / np.sqrt(len(seen)))
    return normal(float(seen.mean()), u, dof=len(seen) - 1)


def combined(value: float, *parts: Input) -> Input:
    """A value whose doubt is that of several parts, their degrees of freedom put together.

    u^2 is the sum of the parts' squares; dof by Welch and Satterthwaite (GUM G.4.1).
    """
    squares = np.array([part.u**2 for part in parts])
    u = float(np.sqrt(squares.sum()))
    return normal(value, u, dof=welch_satterthwaite([p.u for p in parts], [p.dof for p in parts]))


def welch_satterthwaite(contributions: Sequence[float], dofs: Sequence[float]) -> float:
    """Degrees of freedom of a sum: u^4 / sum(u_i^4 / dof_i) (GUM G.4.1, formula G.2b)."""
    u = np.asarray(contributions, dtype=float)
    below = float((u**4 / np.asarray(dofs, dtype=float)).sum())
    return float((u**2).sum() ** 2 / below) if below > 0 else float("inf")


def _between(shape: Shape, value: float, half_width: float, over: float, dof: float) -> Input:
    _known(value, half_width)
    u = float(half_width / np.sqrt(over))
    return Input(float(value), u, dof, shape, float(half_width))


def _known(value: float, width: float) -> None:
    if not np.isfinite(value):
        raise ValueError(f"the value {value} is not a number that can be measured.")
    if not (np.isfinite(width) and width >= 0):
        raise ValueError(f"an uncertainty of {width}: it must be 0 or more, and finite.")
