"""Widths of fields that are written each by itself, chosen so that what follows from them is right.

A posterior ties its parameters together: a stop time says much of the sum of the stages and little
of each. A machine file holds each field as if none hung on another, so the posterior's own width of
each field would make the sums less sure than they were learned to be.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
NARROWEST = 0.95  # of the width that was learned: no main result may be written surer than this
_PULL = 0.05  # towards one share for all, where the results leave the shares open
_CLOSE = 2e-3  # of the greatest factor's square


def shares_of_variance(variances: Floats, kept: Floats, wanted: Floats, weights: Floats) -> Floats:
    """Which share of each field's own variance to write, so that the results' come out, (f,).

    Parameters
    ----------
    variances : ndarray, (r, f)
        Of each result by each field, were it written as sure as it is known by itself.
    kept : ndarray, (r,)
        Of each result by what is written as it is.
    wanted : ndarray, (r,)
        Of each result, as learned.
    weights : ndarray, (r,)

    Notes
    -----
    Least squares of the relative misses, each share between 0 and 1 (Lawson and Hanson, Solving
    Least Squares Problems, 1974, chapter 23; scipy's `lsq_linear`), pulled a little towards one
    share for all.

    Examples
    --------
    >>> shares_of_variance(np.array([[3.0, 1.0]]), np.zeros(1), np.ones(1), np.ones(1)).round(2)
    array([0.25, 0.25])
    """
    from scipy.optimize import lsq_linear

    sums = variances.sum(axis=1)
    room = np.maximum(wanted - kept, 0.0)
    one = np.clip((weights * room / wanted).sum() / (weights * sums / wanted).sum(), 0.0, 1.0)
    root = np.sqrt(weights)
    fields = variances.shape[1]
    rows = np.vstack([root[:, None] * variances / wanted[:, None], _PULL * np.eye(fields)])
    goal = np.concatenate([root * room / wanted, np.full(fields, _PULL * one)])
    return np.asarray(np.clip(lsq_linear(rows, goal, bounds=(0.0, 1.0)).x, 0.0, 1.0))


def settled(
    widths: Callable[[float], Floats], wanted: Floats, weights: Floats, *, most: float
) -> float:
    """The factor with which the results are as wide as learned, and none much narrower.

    Parameters
    ----------
    widths : callable
        A factor, 0 to `most`, to the results' widths (r,); all of them grow with it.
    wanted : ndarray, (r,)
        Widths as learned.
    weights : ndarray, (r,)
        Of each result in the mean; a result without weight may come out as it will.
    most : float

    Notes
    -----
    Where the weighted mean of ln(written / learned) is 0, or, if any result with a weight falls
    below `NARROWEST` there, where the narrowest comes up to it. Widths go with the root of sums of
    squares, so the root is sought over the factor's square (Brent, Algorithms for Minimization
    without Derivatives, 1973; scipy's `brentq`).
    """
    from scipy.optimize import brentq

    counts = weights > 0

    def too_wide(square: float) -> float:
        made = widths(float(np.sqrt(square)))[counts] / wanted[counts]
        logs = np.log(np.maximum(made, 1e-9))
        mean = float(weights[counts] @ logs / weights.sum())
        return min(mean, float(logs.min()) - float(np.log(NARROWEST)))

    if too_wide(0.0) >= 0:
        return 0.0
    if too_wide(most**2) <= 0:
        return most
    return float(np.sqrt(brentq(too_wide, 0.0, most**2, xtol=_CLOSE * most**2)))
