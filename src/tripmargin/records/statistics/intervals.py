"""Shares and rates with exact intervals: what so many tests, or so many hours, can prove."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, log, log1p
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tripmargin.ground.results import plain
from tripmargin.records.statistics.figures import (
    FigureError,
    counts,
    inner_share,
    numbers,
    refuse,
)

Limits = tuple[NDArray[np.float64], NDArray[np.float64]]


@dataclass(frozen=True, slots=True)
class Interval:
    """An estimate and the limits that cover the true value with at least the confidence.

    Attributes
    ----------
    value : float or None
        The estimate. None: not known, nothing has been seen yet.
    low, high : float
        `high` may be infinite: nothing bounds it.
    confidence : float
        Such as 0.95, both sides together.
    """

    value: float | None
    low: float
    high: float
    confidence: float

    @property
    def known(self) -> bool:
        """Whether there is an estimate."""
        return self.value is not None

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready; the unit stands in the key that holds it. `high` null: not bounded."""
        made: dict[str, Any] = plain(
            {
                "value": self.value,
                "low": self.low,
                "high": self.high,
                "confidence": self.confidence,
            }
        )
        return made


def share_interval(successes: int, trials: int, *, confidence: float = 0.95) -> Interval:
    """Share of trials that succeed, with Clopper and Pearson's exact limits.

    Parameters
    ----------
    successes, trials : int
        Such as tests that tripped, of tests made. No trials: the share is not known, 0 to 1.
    confidence : float
        Both sides together; each side errs with at most half of what is left.

    Raises
    ------
    FigureError
        If a count is not whole, is negative, or more succeed than were tried.

    Notes
    -----
    With s of n and alpha = 1 - confidence: low is the alpha/2 quantile of Beta(s, n - s + 1), high
    the 1 - alpha/2 quantile of Beta(s + 1, n - s); 0 where s = 0, 1 where s = n. Clopper and
    Pearson, Biometrika 26 (1934) 404. The trials must not hang together: thirty tests one after
    another on one afternoon say less than thirty on thirty mornings.

    Examples
    --------
    >>> share = share_interval(81, 263)
    >>> round(share.low, 4), round(share.high, 4)
    (0.2527, 0.3676)
    """
    low, high = share_limits(successes, trials, confidence=confidence)
    tried = float(trials)
    return Interval(
        float(successes) / tried if tried else None, float(low), float(high), float(confidence)
    )


def rate_interval(events: int, exposure: float, *, confidence: float = 0.95) -> Interval:
    """Events a unit of exposure, with Garwood's exact limits for a Poisson count.

    Parameters
    ----------
    events : int
        Such as false trips.
    exposure : float
        How long was watched; s gives a rate a second. 0: the rate is not known, 0 to infinite.
    confidence : float
        Both sides together.

    Raises
    ------
    FigureError
        If the count is not whole, a figure is negative, or events have no exposure.

    Notes
    -----
    With k events in T: low is the alpha/2 quantile of Gamma(k), high the 1 - alpha/2 quantile of
    Gamma(k + 1), each over T; 0 where k = 0. Garwood, Biometrika 28 (1936) 437. Events that come
    in bursts (one loose plug, ten false trips) vary more than the limits allow for.

    Examples
    --------
    >>> rate = rate_interval(3, 1.0)
    >>> round(rate.low, 4), round(rate.high, 4)
    (0.6187, 8.7673)
    """
    low, high = rate_limits(events, exposure, confidence=confidence)
    watched = float(exposure)
    return Interval(
        float(events) / watched if watched else None, float(low), float(high), float(confidence)
    )


def share_limits(successes: ArrayLike, trials: ArrayLike, *, confidence: float = 0.95) -> Limits:
    """Clopper and Pearson's limits for many shares at once; see `share_interval`.

    Parameters
    ----------
    successes, trials : array_like of int, shapes that broadcast

    Returns
    -------
    low, high : ndarray
    """
    tail = (1 - inner_share(confidence, "confidence")) / 2
    s, n = _of_trials(successes, trials)
    return _share_low(s, n, tail), _share_high(s, n, tail)


def rate_limits(events: ArrayLike, exposure: ArrayLike, *, confidence: float = 0.95) -> Limits:
    """Garwood's limits for many rates at once; see `rate_interval`.

    Parameters
    ----------
    events : array_like of int
    exposure : array_like of float, of a shape that broadcasts with it

    Returns
    -------
    low, high : ndarray, events a unit of exposure
    """
    tail = (1 - inner_share(confidence, "confidence")) / 2
    k, watched = _of_exposure(events, exposure)
    return _rate_low(k, watched, tail), _rate_high(k, watched, tail)


def share_at_least(successes: int, trials: int, *, confidence: float = 0.95) -> float:
    """Share that is reached with the confidence given: the lower limit, one-sided.

    >>> round(1 - share_at_least(59, 59), 6)
    0.049508
    """
    s, n = _of_trials(successes, trials)
    return float(_share_low(s, n, 1 - inner_share(confidence, "confidence")))


def share_at_most(successes: int, trials: int, *, confidence: float = 0.95) -> float:
    """Share that is not passed, with the confidence given: the upper limit, one-sided."""
    s, n = _of_trials(successes, trials)
    return float(_share_high(s, n, 1 - inner_share(confidence, "confidence")))


def rate_at_least(events: int, exposure: float, *, confidence: float = 0.95) -> float:
    """Rate that is reached with the confidence given: the lower limit, one-sided."""
    k, watched = _of_exposure(events, exposure)
    return float(_rate_low(k, watched, 1 - inner_share(confidence, "confidence")))


def rate_at_most(events: int, exposure: float, *, confidence: float = 0.95) -> float:
    """Rate that is not passed, with the confidence given: the upper limit, one-sided.

    No event in 1000 h bounds the mean time between events from below:

    >>> round(1 / rate_at_most(0, 1000.0), 2)
    333.81
    """
    k, watched = _of_exposure(events, exposure)
    return float(_rate_high(k, watched, 1 - inner_share(confidence, "confidence")))


def trials_needed(share: float, confidence: float = 0.95) -> int:
    """How many trials without a failure prove that at least this share succeeds.

    Raises
    ------
    FigureError
        If the share or the confidence is not between 0 and 1.

    Notes
    -----
    The least n with share^n <= 1 - confidence. Wilks, Ann. Math. Stat. 12 (1941) 91.

    >>> [trials_needed(share) for share in (0.90, 0.95, 0.99)]
    [29, 59, 299]
    """
    share, confidence = inner_share(share, "share"), inner_share(confidence, "confidence")
    exact = log1p(-confidence) / log(share)
    # a whole number that rounding has pushed up a hair (0.1, 0.999: three tests) stays whole
    return max(1, ceil(exact * (1 - 1e-12)))


def _of_trials(successes: ArrayLike, trials: ArrayLike) -> Limits:
    s, n = counts(successes, "successes"), counts(trials, "trials")
    s, n = _alike(s, n, "successes", "trials")
    refuse(s > n, s, "successes", "no more than the trials", "Were the two counts changed over?")
    return s, n


def _of_exposure(events: ArrayLike, exposure: ArrayLike) -> Limits:
    k, watched = counts(events, "events"), numbers(exposure, "exposure")
    refuse(watched < 0, watched, "exposure", "numbers, 0 or more")
    k, watched = _alike(k, watched, "events", "exposure")
    hint = "Give the time over which these events were counted."
    refuse((k > 0) & (watched == 0), watched, "exposure", "above 0 where there are events", hint)
    return k, watched


def _alike(one: NDArray[np.float64], other: NDArray[np.float64], its: str, others: str) -> Limits:
    try:
        one, other = np.broadcast_arrays(one, other)
    except ValueError:
        seen = f"shapes {one.shape} and {other.shape}"
        raise FigureError(f"{its} and {others}", seen, "as many of one as of the other") from None
    return one, other


def _share_low(s: NDArray[np.float64], n: NDArray[np.float64], tail: float) -> NDArray[np.float64]:
    from scipy.special import betaincinv

    some = s > 0
    return np.where(some, betaincinv(np.where(some, s, 1), n - s + 1, tail), 0.0)


def _share_high(s: NDArray[np.float64], n: NDArray[np.float64], tail: float) -> NDArray[np.float64]:
    from scipy.special import betainccinv

    some = s < n
    return np.where(some, betainccinv(s + 1, np.where(some, n - s, 1), tail), 1.0)


def _rate_low(
    k: NDArray[np.float64], watched: NDArray[np.float64], tail: float
) -> NDArray[np.float64]:
    from scipy.special import gammaincinv

    some = k > 0
    low = gammaincinv(np.where(some, k, 1), tail)
    return np.where(some, low / np.where(some, watched, 1), 0.0)


def _rate_high(
    k: NDArray[np.float64], watched: NDArray[np.float64], tail: float
) -> NDArray[np.float64]:
    from scipy.special import gammainccinv

    some = watched > 0
    return np.where(some, gammainccinv(k + 1, tail) / np.where(some, watched, 1), np.inf)
