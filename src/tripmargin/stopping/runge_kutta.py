"""One step of an ordinary differential equation for many draws, each with its own length."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from tripmargin.stopping.arrays import Array

# Dormand and Prince, J. Comput. Appl. Math. 6 (1980) 19: order 5 with an embedded order 4.
_STAGES = (
    (1 / 5,),
    (3 / 40, 9 / 40),
    (44 / 45, -56 / 15, 32 / 9),
    (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
    (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
    (35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84),
)
_ERROR = (71 / 57600, 0.0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40)


def step(slopes: Callable[[Array], Array], state: Array, h: Array) -> tuple[Array, Array]:
    """Advance states by one step of order 5.

    Parameters
    ----------
    slopes : callable
        Maps states, shape (m, n), to their time derivatives, same shape. Time itself must
        not enter.
    state : ndarray, shape (m, n)
        m quantities of n draws.
    h : ndarray, shape (n,), s
        Length of each draw's step.

    Returns
    -------
    state, error : ndarray, shape (m, n)
        The state after the step and an estimate of its error.

    Examples
    --------
    >>> after, error = step(lambda y: -y, np.ones((1, 1)), np.array([0.1]))
    >>> bool(abs(after[0, 0] - np.exp(-0.1)) < 1e-9)
    True
    """
    rates = [slopes(state)]
    after = state
    for weights in _STAGES:
        after = state + h * _mix(weights, rates)
        rates.append(slopes(after))
    return after, h * _mix(_ERROR, rates)


def longer_or_shorter(h: Array, ratio: Array) -> Array:
    """Length of the next step from the error over what was allowed: a fifth to five times."""
    return h * np.clip(0.9 * np.maximum(ratio, 1e-12) ** -0.2, 0.2, 5.0)


def _mix(weights: tuple[float, ...], rates: list[Array]) -> Array:
    total = weights[0] * rates[0]
    for weight, rate in zip(weights[1:], rates[1:], strict=True):
        if weight:
            total = total + weight * rate
    return total
