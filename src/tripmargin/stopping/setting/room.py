"""The room in the window: how surely a gap is inside, now and until it is set again."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.draws import nodes
from tripmargin.stopping.setting.adjusters import Adjusters

Array = NDArray[np.float64]
_NODES = 12
_LEAST_SD = 1e-7  # m


def inside(gaps: ArrayLike, sd: ArrayLike, adjusters: Adjusters) -> Array:
    """Chance that gaps are inside the window, now and still after a season's drift.

    Parameters
    ----------
    gaps, sd : array_like, (..., k), m
        What each pawl's gap is taken for, and how far off that may be (normal).
    adjusters : Adjusters

    Returns
    -------
    ndarray, (..., k)

    Notes
    -----
    The gap drifts one way, so it is inside all along where both its ends are. Integrated over the
    drift by Gauss points.
    """
    from scipy.special import ndtr

    low, high, weights = edges(adjusters)
    middle = np.asarray(gaps, dtype=float)[..., None]
    s = np.maximum(np.asarray(sd, dtype=float), _LEAST_SD)[..., None]
    within = ndtr((high - middle) / s) - ndtr((low - middle) / s)
    return np.asarray((np.maximum(within, 0.0) * weights).sum(axis=-1))


@lru_cache(maxsize=64)
def edges(adjusters: Adjusters) -> tuple[Array, Array, Array]:
    """The window less each drift that may come, and how likely that is.

    Parameters
    ----------
    adjusters : Adjusters

    Returns
    -------
    low, high : ndarray, (k, nodes), m
        Between which a gap must be now to be inside the window now and after that drift.
    weights : ndarray, (k, nodes)
        Chance of each drift, sum 1 for each pawl.
    """
    low, high = adjusters.window
    drifts, weights = (
        np.stack([np.resize(part, _NODES) for part in parts])
        for parts in zip(*(nodes(each.drift, _NODES) for each in adjusters.pawls), strict=True)
    )
    weights /= weights.sum(axis=1, keepdims=True)  # an exact drift stands there many times
    return low - np.minimum(drifts, 0.0), high - np.maximum(drifts, 0.0), weights


@lru_cache(maxsize=64)
def rooms(adjusters: Adjusters) -> tuple[tuple[float, float] | None, ...]:
    """For each pawl the readings at which it is left alone, least and greatest, m.

    None where no reading is sure enough: the window is too narrow for the feeler and the drift.
    """
    low, high = adjusters.window
    grid = np.linspace(low, high, 2001)
    gaps = np.repeat(grid[:, None], len(adjusters.pawls), axis=1)
    enough = inside(gaps, adjusters.reading_sd, adjusters) >= adjusters.confidence_each
    found = [np.flatnonzero(column) for column in enough.T]
    return tuple((float(grid[at[0]]), float(grid[at[-1]])) if len(at) else None for at in found)
