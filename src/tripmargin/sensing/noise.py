"""Noise: how surely a trace is caught in it, and how often it trips the detector by itself.

Level crossings of a Gaussian process: Rice, Bell Syst. Tech. J. 23 (1944) 282 and 24 (1945) 46.
"""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.languages import later
from tripmargin.machine import Machine
from tripmargin.sensing.detector import Filter

Array = NDArray[np.float64]
_RARE = 1e-300


def crossing_chance(
    output: ArrayLike,
    dt: float,
    *,
    threshold: ArrayLike,
    noise: float,
    rate: float | None,
    narrowness: float = 0.0,
) -> Array:
    """Probability that a trace in noise crosses the threshold, either sign, at least once.

    Parameters
    ----------
    output : array_like, (..., n), V
        The trace without noise, on an even time grid.
    dt : float, s
    threshold : array_like, broadcast against the leading shape, V
    noise : float, V
        rms at the output; 0 gives 0 or 1.
    rate : float or None, 1/s
        Up-crossings of zero a second of the noise (`Filter.noise_crossing_rate`). None: the noise
        has no finite rate, and only the trace's largest instant counts: a lower bound.
    narrowness : float
        Low corner of the noise's band over its high one (`Filter.narrowness`).

    Returns
    -------
    ndarray, leading shape

    Notes
    -----
    Crossings come as a Poisson stream whose rate at each instant is that of a Gaussian process
    through a moving level (Rice; Cramer and Leadbetter 1967, ch. 13), given that the level is not
    passed yet: the rate is divided by the chance to be below (Ditlevsen 1986). Noise without its
    low frequencies swings back and forth, so that it passes a level that stands near it sooner
    than that; `_swinging` was fitted to brute-force noise through seven filters. Exact for rare
    crossings; within 0.03 of brute force between (tests; without the factor up to 0.08 low).
    """
    from scipy.special import ndtr

    trace = np.asarray(output, dtype=float)
    level = np.broadcast_to(np.asarray(threshold, dtype=float), trace.shape[:-1])[..., None]
    if noise <= 0:
        return np.asarray((np.abs(trace).max(axis=-1) >= level[..., 0]).astype(float))
    above, below = (level - trace) / noise, (level + trace) / noise
    inside = np.maximum(1.0 - ndtr(-above) - ndtr(-below), 0.0)
    surely = 1.0 - inside.min(axis=-1)
    if rate is None:
        return np.asarray(surely)
    slope = np.gradient(trace, dt, axis=-1) / noise
    pace = 2 * pi * rate
    stream = sum(
        level_crossings(gap, rise, rate) * _swinging(gap, rise / pace, narrowness)
        for gap, rise in ((above, slope), (below, -slope))
    )
    passed = (stream / np.maximum(inside, _RARE)).sum(axis=-1) * dt
    not_yet = inside[..., 0] * np.exp(-np.minimum(passed, 700.0))
    return np.asarray(np.maximum(1.0 - not_yet, surely))


def _swinging(gap: Array, z: Array, narrowness: float) -> Array:
    """How much oftener a level near the noise is passed where low frequencies are cut away.

    `gap` in rms, `z` the level's own speed over the noise's. A fit, no theory.
    """
    from scipy.special import ndtr

    most = 1.3 * (1 - np.exp(-narrowness / 0.14))
    return np.asarray(1 + most * ndtr(1.6 * (0.9 - gap)) * np.exp(-9.5 * np.abs(z)))


def level_crossings(gap: ArrayLike, closing: ArrayLike, rate: ArrayLike) -> Array:
    """How often Gaussian noise passes upwards through a level that may move.

    Parameters
    ----------
    gap : array_like, rms of the noise
        From the noise's mean up to the level.
    closing : array_like, rms a second
        By which the gap shrinks; 0 for a level at rest.
    rate : array_like, 1/s
        Up-crossings of zero a second of the noise alone.

    Returns
    -------
    ndarray, the shape that the three come to, 1/s

    Notes
    -----
    At rest, Rice's rate * exp(-gap^2 / 2): Bell Syst. Tech. J. 24 (1945) 46. Through a moving level
    w phi(gap) [phi(z) + z Phi(z)] with w = 2 pi rate and z = closing / w: Cramer and Leadbetter,
    Stationary and Related Stochastic Processes, 1967, ch. 13 (from memory).

    Examples
    --------
    >>> level_crossings([0.0, 2.0], 0.0, 100.0).round(6)
    array([100.      ,  13.533528])
    """
    from scipy.special import ndtr

    pace = 2 * pi * np.asarray(rate, dtype=float)
    z = np.asarray(closing, dtype=float) / pace
    density = np.exp(-(np.asarray(gap, dtype=float) ** 2) / 2) / sqrt(2 * pi)
    return np.asarray(density * pace * (np.exp(-(z**2) / 2) / sqrt(2 * pi) + z * ndtr(z)))


def false_trips_per_hour(machine: Machine, *, roll_speed: float | None = None) -> float:
    """Trips an hour by noise alone, no metal near.

    Parameters
    ----------
    machine : Machine
    roll_speed : float, m/s, optional
        Surface speed of the rolls; needed where the file gives a `detector.ripple`, the part that
        repeats with each turn of the roll.

    Returns
    -------
    float, 1/h

    Raises
    ------
    NotKnownError
        If the gain, the threshold or the noise is not given.
    ValueError
        If the detector has no low-pass: such noise has no finite rate.

    Notes
    -----
    Rice: 2 nu0 exp(-T^2 / (2 sigma^2)) crossings a second of the two levels; with a ripple
    A sin(w t), the mean of the moving level's rate over one turn. Every crossing counts as a trip.
    """
    threshold, noise = machine.need(later("false trips"), "detector.threshold", "detector.noise")
    rate = Filter.of(machine).noise_crossing_rate()
    ripple = machine.get("detector.ripple")
    height = 0.0 if ripple is None else ripple.nominal
    if noise.nominal <= 0:
        return 0.0 if height < threshold.nominal else float("inf")
    phase = 2 * pi * (np.arange(720) + 0.5) / 720
    speed = 0.0
    if height > 0:
        (diameter,) = machine.need(later("false trips"), "feed.roll_diameter")
        speed = 2 * (roll_speed or 0.0) / diameter.nominal
    wave = height / noise.nominal * np.sin(phase)
    slope = height / noise.nominal * speed * np.cos(phase)
    level = threshold.nominal / noise.nominal
    stream = level_crossings(level - wave, slope, rate)
    stream = stream + level_crossings(level + wave, -slope, rate)
    return float(stream.mean() * 3600)
