"""How often noise about a moving, repeating trace passes the threshold by itself."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.results import Spread
from tripmargin.recordings.noise.orders import Synchronous, one_turn, trace_of
from tripmargin.recordings.noise.spectrum import Spectrum
from tripmargin.sensing import level_crossings

Floats = NDArray[np.float64]
_DRAWS = 1000
_HOUR = 3600.0


def trips_per_hour(
    threshold: float, floor: Floats, crossing_rate: Floats, trace: Floats, slope: Floats
) -> Floats:
    """Crossings an hour of a two-sided threshold by Gaussian noise about a repeating trace.

    Parameters
    ----------
    threshold : float, V
    floor, crossing_rate : ndarray, (...,), V and 1/s
        rms of the noise and its up-crossings of zero a second.
    trace, slope : ndarray, (..., n), V and V/s
        One turn, and how fast it changes.

    Returns
    -------
    ndarray, (...,), 1/h

    Notes
    -----
    The mean over one turn of the rate at which the noise passes what is left to the level, which
    moves as the trace does (`sensing.level_crossings` has the formula and its sources).

    Examples
    --------
    >>> still = np.zeros((1, 4))
    >>> trips_per_hour(5.0, np.array([1.0]), np.array([100.0]), still, still).round(3)
    array([2.683])
    """
    sd, pace = np.asarray(floor)[..., None], np.asarray(crossing_rate)[..., None]
    total = np.zeros(np.broadcast_shapes(sd.shape, trace.shape))
    for sign in (1.0, -1.0):
        total = total + level_crossings((threshold - sign * trace) / sd, sign * slope / sd, pace)
    return np.asarray(total.mean(axis=-1) * _HOUR)


def rates(
    threshold: float,
    floor: float,
    spectrum: Spectrum,
    crossing_rate: float,
    synchronous: Synchronous | None,
    turns_per_second: float,
) -> tuple[Spread, Spread]:
    """False trips an hour now and with the turning part cured, each with its 95 % interval.

    The floor's variance is drawn from its scaled chi-square, the crossing rate about its value by
    what the two moments' independent samples leave open, the orders from their scatter over turns.
    """
    random = np.random.default_rng(1)
    count = max(spectrum.independent, 2.0)
    variances = floor**2 * count / random.chisquare(count, _DRAWS)
    floors = np.concatenate([[floor], np.sqrt(variances)])
    wander = np.exp(random.standard_normal(_DRAWS) / sqrt(2 * count))
    paces = crossing_rate * np.concatenate([[1.0], wander])
    turn = one_turn()
    still = np.zeros((1, 1))
    cured = trips_per_hour(threshold, floors, paces, still, still)
    if synchronous is None or not synchronous.sure.any():
        return _spread(cured), _spread(cured)
    amplitudes = np.concatenate(
        [np.where(synchronous.sure, synchronous.mean, 0.0)[None], synchronous.draws(_DRAWS, random)]
    )
    orders = np.arange(1, amplitudes.shape[1] + 1)
    slopes = amplitudes * (2j * pi * orders * turns_per_second)
    now = trips_per_hour(
        threshold, floors, paces, trace_of(amplitudes, turn), trace_of(slopes, turn)
    )
    return _spread(now), _spread(cured)


def _spread(drawn: Floats) -> Spread:
    """The first is the value, the others tell its interval."""
    low, high = np.quantile(drawn[1:], [0.025, 0.975])
    return Spread(float(drawn[0]), low=float(low), high=float(high))
