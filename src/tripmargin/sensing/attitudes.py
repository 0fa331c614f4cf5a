"""How a piece lies: directions by the yard's words, and the frame that follows from them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say

__all__ = ["DIRECTIONS", "Direction", "direction", "frame"]

Direction: TypeAlias = str | Sequence[float] | NDArray[np.float64]

DIRECTIONS: dict[str, tuple[float, float, float]] = {
    "x": (1.0, 0.0, 0.0),
    "y": (0.0, 1.0, 0.0),
    "z": (0.0, 0.0, 1.0),
    "across": (1.0, 0.0, 0.0),  # across the roll
    "along": (0.0, 1.0, 0.0),  # with the crop
    "upright": (0.0, 0.0, 1.0),
}
_NEARLY_ZERO = 1e-6


def direction(axis: Direction) -> NDArray[np.float64]:
    """Unit vector of a direction in (x across the roll, y with the crop, z up).

    Parameters
    ----------
    axis : str or array_like, shape (3,)
        "x" or "across", "y" or "along", "z" or "upright"; or a vector of any length.

    Returns
    -------
    ndarray, shape (3,)

    Raises
    ------
    ValueError
        If the word is unknown, or the vector has no direction.

    Examples
    --------
    >>> direction("along")
    array([0., 1., 0.])
    """
    if isinstance(axis, str):
        word = axis.strip().lower()
        if word not in DIRECTIONS:
            raise ValueError(
                say(
                    "axis = {axis!r}: not a direction. Allowed: {known}, a 3-vector.",
                    axis=axis,
                    known=", ".join(DIRECTIONS),
                )
            )
        return np.array(DIRECTIONS[word])
    vector = np.asarray(axis, dtype=np.float64)
    size = float(np.abs(vector).max()) if vector.shape == (3,) else float("nan")
    if not 0.0 < size < np.inf:
        raise ValueError(
            say(
                "axis = {axis!r}: not a direction. Allowed: three finite numbers, not all zero.",
                axis=axis,
            )
        )
    vector = vector / size  # so that no square can overflow or vanish
    return np.asarray(vector / np.linalg.norm(vector), dtype=np.float64)


def frame(axis: Direction | None = None, normal: Direction | None = None) -> NDArray[np.float64]:
    """Body axes of a piece as columns: its length, its width, its thin side.

    Parameters
    ----------
    axis : direction, optional
        Where its length points; left out: across the roll, as far as `normal` allows.
    normal : direction, optional
        Where its thin side points, square to `axis`; left out: as near to upright as `axis`
        allows, and with the crop for a piece that stands upright.

    Returns
    -------
    ndarray, shape (3, 3)
        Right-handed and orthonormal.

    Raises
    ------
    ValueError
        If a direction is not one, or the two are not square to each other.

    Examples
    --------
    >>> frame("z")
    array([[0., 1., 0.],
           [0., 0., 1.],
           [1., 0., 0.]])
    """
    if axis is None:
        first = (
            direction("x") if normal is None else _square_to(direction(normal), prefer=("x", "y"))
        )
    else:
        first = direction(axis)
    if normal is None:
        third = _square_to(first, prefer=("z", "y"))
    else:
        third = direction(normal)
        if abs(float(third @ first)) > 1e-3:
            raise ValueError(
                say(
                    "normal = {normal!r} is not square to axis = {axis!r}: the thin side of"
                    " a plate is square to its length.",
                    normal=normal,
                    axis=axis,
                )
            )
        third = third - (third @ first) * first
        third = third / np.linalg.norm(third)
    return np.stack([first, np.cross(third, first), third], axis=-1)


def _square_to(given: NDArray[np.float64], prefer: tuple[str, str]) -> NDArray[np.float64]:
    """The unit vector square to `given` and nearest to the first word that is not along it."""
    for word in prefer:
        rest = direction(word) - (direction(word) @ given) * given
        size = float(np.linalg.norm(rest))
        if size > _NEARLY_ZERO:
            # Once more: what is left of nearly parallel directions carries their rounding, grown.
            rest = rest / size
            rest = rest - (rest @ given) * given
            return np.asarray(rest / np.linalg.norm(rest), dtype=np.float64)
    raise AssertionError("two axes cannot both lie along one direction")  # pragma: no cover
