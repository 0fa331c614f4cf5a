"""Which input a doubt comes from: first-order shares of a variance (Sobol, Saltelli)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.draws import evenly_spread

Array = NDArray[np.float64]


def first_order_shares(
    result: Callable[[Array], Array], inputs: int, n: int = 2048
) -> tuple[Array, Array]:
    """Share of the result's variance that each input explains by itself.

    Parameters
    ----------
    result : callable
        Points in the unit cube (n, inputs) to results (n,).
    inputs : int
    n : int
        Draws; (inputs + 2) n results are asked for.

    Returns
    -------
    shares : ndarray, (inputs,)
        Var(E[result | input]) / Var(result): the part of the variance that would go, on average, if
        that input were known exactly. Small negative values are sampling error, cut to zero.
    moments : ndarray, (2,)
        Mean and variance of the result.

    Notes
    -----
    Saltelli et al., Comput. Phys. Commun. 181 (2010) 259, table 2 (b), with evenly spread points.

    Examples
    --------
    >>> shares, _ = first_order_shares(lambda u: 2 * u[:, 0] + u[:, 1], 2)
    >>> shares.round(1)
    array([0.8, 0.2])
    """
    points = evenly_spread(n, 2 * inputs)
    first, second = points[:, :inputs], points[:, inputs:]
    one, other = result(first), result(second)
    both = np.concatenate([one, other])
    mean, variance = both.mean(), both.var()
    if variance <= 0:
        return np.zeros(inputs), np.array([mean, 0.0])
    shares = np.empty(inputs)
    for i in range(inputs):
        mixed = first.copy()
        mixed[:, i] = second[:, i]
        shares[i] = ((other - mean) * (result(mixed) - one)).mean() / variance
    return np.maximum(shares, 0.0), np.array([mean, variance])
