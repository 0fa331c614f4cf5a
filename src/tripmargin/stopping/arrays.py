"""Inputs of a stage, lined up and checked: one number each, or many draws at once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say

Array = NDArray[np.float64]
Quantity = float | Array


def require_positive(**quantities: Quantity) -> None:
    """Refuse values that are not above zero, by name.

    Raises
    ------
    ValueError
        If a value is zero, negative or not a number, or infinite.
    """
    for name, value in quantities.items():
        numbers = np.asarray(value, dtype=float)
        if not np.all(np.isfinite(numbers) & (numbers > 0)):
            raise ValueError(
                say(
                    "{name} must be a finite number above zero, got {value!r}.",
                    name=name,
                    value=value,
                )
            )


def require_not_negative(**quantities: Quantity) -> None:
    """Refuse values below zero, by name.

    Raises
    ------
    ValueError
        If a value is negative or not a number, or infinite.
    """
    for name, value in quantities.items():
        numbers = np.asarray(value, dtype=float)
        if not np.all(np.isfinite(numbers) & (numbers >= 0)):
            raise ValueError(
                say(
                    "{name} must be a finite number, zero or above, got {value!r}.",
                    name=name,
                    value=value,
                )
            )


def lined_up(*groups: Any, **quantities: Quantity) -> tuple[tuple[int, ...], dict[str, Array]]:
    """Broadcast the fields of dataclasses, and single quantities, to flat arrays of one length.

    Parameters
    ----------
    *groups : dataclass instances
        Every field a number or an array; names must not repeat across the groups.
    **quantities : float or array_like
        Further inputs by name.

    Returns
    -------
    shape : tuple of int
        The common shape, () when all inputs are single numbers.
    columns : dict of str to ndarray
        Each input as a flat float array of the common size.

    Examples
    --------
    >>> shape, columns = lined_up(supply=[12.0, 13.2], resistance=18.0)
    >>> shape, columns["resistance"].tolist()
    ((2,), [18.0, 18.0])
    """
    values = {f.name: getattr(group, f.name) for group in groups for f in fields(group)}
    values |= quantities
    arrays = np.broadcast_arrays(*(np.asarray(v, dtype=float) for v in values.values()))
    return arrays[0].shape, {k: a.ravel() for k, a in zip(values, arrays, strict=True)}


def in_shape(values: Array, shape: tuple[int, ...]) -> Quantity:
    """Give flat results their shape back: a Python float for (), else an array."""
    return values.reshape(shape) if shape else float(values[0])


def rising_root(
    function: Callable[[Array], tuple[Array, Array]], *, guess: Array, low: Array, high: Array
) -> Array:
    """Find where functions that rise from below zero cross it, each in its own bracket.

    Parameters
    ----------
    function : callable
        Maps arguments, shape (n,), to values and slopes, shape (n,) each.
    guess, low, high : ndarray, shape (n,)
        First try and brackets; `high` may be inf where no upper end is known.

    Returns
    -------
    ndarray, shape (n,)
        The roots, to about 1e-14 of themselves.

    Notes
    -----
    Newton's steps, with bisection (or doubling, while there is no upper end) wherever a step
    would leave the bracket. Texts on numerical methods, e.g. Press et al., `rtsafe`.

    Examples
    --------
    >>> one = np.ones(1)
    >>> rising_root(lambda t: (t**2 - 2, 2 * t), guess=one, low=0 * one, high=np.inf * one)
    array([1.41421356])
    """
    at, low, high = guess.copy(), low.copy(), high.copy()
    for _ in range(200):
        value, slope = function(at)
        low = np.where(value <= 0, at, low)
        high = np.where(value >= 0, at, high)
        with np.errstate(divide="ignore", invalid="ignore"):
            newton = at - value / slope
            halfway = np.where(np.isfinite(high), 0.5 * (low + high), 2 * low)
        following = np.where((newton > low) & (newton < high), newton, halfway)
        if np.all(np.abs(following - at) <= 1e-14 * np.abs(at)):
            return following
        at = following
    return at
