"""Figures as they come in from people and files: looked at before anything is made of them."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.errors import TripmarginError, shortened


class FigureError(TripmarginError, ValueError):
    """A figure that nothing can be worked out from.

    `.name` is the figure's name, `.value` what was seen, `.allowed` what would do, `.hint` how to
    mend it.
    """

    def __init__(self, name: str, value: Any, allowed: str, hint: str = "") -> None:
        self.name, self.value, self.allowed, self.hint = name, value, allowed, hint
        text = f"{name} = {shortened(str(value))}: not usable.\n  Allowed: {allowed}."
        super().__init__(f"{text}\n  {hint}" if hint else text)


def numbers(values: ArrayLike, name: str, allowed: str = "finite numbers") -> NDArray[np.float64]:
    """The values as floats; FigureError names the first that is not a finite number."""
    try:
        found = np.asarray(values, dtype=np.float64)
    except (TypeError, ValueError, OverflowError):
        raise FigureError(name, values, allowed) from None
    refuse(~np.isfinite(found), found, name, allowed)
    return found


def number(value: float, name: str, allowed: str = "a finite number") -> float:
    """One finite number."""
    found = numbers(value, name, allowed)
    if found.ndim:
        raise FigureError(name, value, allowed)
    return float(found)


def series(values: ArrayLike, name: str) -> NDArray[np.float64]:
    """A row of finite numbers, which may be empty."""
    found = numbers(values, name, "a row of finite numbers")
    if found.ndim != 1:
        raise FigureError(name, values, "a row of finite numbers")
    return found


def counts(values: ArrayLike, name: str) -> NDArray[np.float64]:
    """Whole numbers from 0 up."""
    allowed = "whole numbers, 0 or more"
    found = numbers(values, name, allowed)
    refuse((found < 0) | (found != np.floor(found)), found, name, allowed)
    return found


def inner_share(value: float, name: str) -> float:
    """A number between 0 and 1, neither of them."""
    allowed = "a number above 0 and below 1, such as 0.95"
    found = number(value, name, allowed)
    if not 0 < found < 1:
        raise FigureError(name, value, allowed)
    return found


def positive(value: float, name: str, unit: str = "") -> float:
    """A number above 0."""
    allowed = f"a number above 0{', ' + unit if unit else ''}"
    found = number(value, name, allowed)
    if found <= 0:
        raise FigureError(name, value, allowed)
    return found


def not_negative(value: float, name: str, unit: str = "") -> float:
    """A number, 0 or more."""
    allowed = f"a number, 0 or more{', ' + unit if unit else ''}"
    found = number(value, name, allowed)
    if found < 0:
        raise FigureError(name, value, allowed)
    return found


def uncertainties(
    values: ArrayLike | None, like: NDArray[np.float64]
) -> NDArray[np.float64] | None:
    """Standard measuring uncertainties, one for all values or one for each; all above 0."""
    if values is None:
        return None
    allowed = "numbers above 0, one for all values or one for each"
    found = numbers(values, "uncertainty", allowed)
    refuse(found <= 0, found, "uncertainty", allowed)
    if found.ndim and found.shape != like.shape:
        raise FigureError("uncertainty", f"{found.size} numbers for {like.size} values", allowed)
    return np.broadcast_to(found, like.shape)


def refuse(
    bad: NDArray[np.bool_], found: NDArray[np.float64], name: str, allowed: str, hint: str = ""
) -> None:
    """Raise FigureError for the first figure that is bad, with its place where there are many."""
    if not np.any(bad):
        return
    place = np.argwhere(bad)[0]
    where = name + "".join(f"[{i}]" for i in place)
    raise FigureError(where, f"{found[tuple(place)]:g}", allowed, hint)
