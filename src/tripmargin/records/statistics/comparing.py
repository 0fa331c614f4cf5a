"""Then and lately: whether a share has fallen or a rate has risen by more than chance."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, inf
from typing import Any

import numpy as np

from tripmargin.ground.results import plain
from tripmargin.records.statistics.figures import FigureError, counts, inner_share, positive
from tripmargin.records.statistics.intervals import Interval, share_interval


@dataclass(frozen=True, slots=True)
class RateChange:
    """A rate lately against the same rate before.

    Attributes
    ----------
    ratio : Interval
        Lately over before; its exact limits. Value None: nothing was seen before.
    chance : float
        That so many or more come lately if the rate has not changed.
    """

    ratio: Interval
    chance: float

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        made: dict[str, Any] = plain({"ratio": self.ratio, "chance": self.chance})
        return made


def rate_change(
    before: tuple[int, float], lately: tuple[int, float], *, confidence: float = 0.95
) -> RateChange:
    """Compare two rates by the exact conditional test.

    Parameters
    ----------
    before, lately : (events, exposure)
        Exposures above 0, in one unit.
    confidence : float
        Of the ratio's interval.

    Raises
    ------
    FigureError
        If a count is not whole or negative, or an exposure is not above 0.

    Notes
    -----
    Of all k0 + k1 events, those lately are binomial with the share rho T1 / (T0 + rho T1), rho the
    ratio. The chance is that of k1 or more at rho = 1; Clopper and Pearson's limits of the share
    give those of rho. Przyborowski and Wilenski, Biometrika 31 (1940) 313.

    Examples
    --------
    >>> round(rate_change((2, 100.0), (9, 100.0)).chance, 6)
    0.032715
    """
    from scipy.special import betainc

    k0, t0 = _counted(before, "before")
    k1, t1 = _counted(lately, "lately")
    chance = float(betainc(k1, k0 + 1, t1 / (t0 + t1))) if k1 else 1.0
    if not k0 + k1:
        return RateChange(Interval(None, 0.0, inf, inner_share(confidence, "confidence")), chance)
    share = share_interval(k1, k0 + k1, confidence=confidence)
    low, high = (s / (1 - s) * t0 / t1 if s < 1 else inf for s in (share.low, share.high))
    value = (k1 / t1) / (k0 / t0) if k0 else None
    return RateChange(Interval(value, low, high, share.confidence), chance)


def share_fell(before: tuple[int, int], lately: tuple[int, int]) -> float:
    """Chance of a share so low lately if it is what it was: Fisher's exact test, one-sided.

    Parameters
    ----------
    before, lately : (successes, trials)

    Returns
    -------
    float
        Of as few successes lately or fewer, all successes together being as many as they are. 1
        where one side has no trials.

    Raises
    ------
    FigureError
        If a count is not whole, is negative, or more succeed than were tried.

    Notes
    -----
    Hypergeometric sum. Fisher, J. R. Stat. Soc. 98 (1935) 39.

    Examples
    --------
    >>> round(share_fell((57, 60), (18, 30)), 7)
    6.95e-05
    """
    from scipy.special import gammaln, logsumexp

    s0, n0 = _tried(before, "before")
    s1, n1 = _tried(lately, "lately")

    def log_choose(n: float, k: Any) -> Any:
        return gammaln(n + 1) - gammaln(k + 1) - gammaln(n - k + 1)

    together = s0 + s1
    least = max(0, together - n0)
    if s1 >= min(n1, together):
        return 1.0
    few = np.arange(least, s1 + 1, dtype=float)
    logs = log_choose(n1, few) + log_choose(n0, together - few) - log_choose(n0 + n1, together)
    return min(1.0, exp(float(logsumexp(logs))))


def _counted(pair: tuple[int, float], name: str) -> tuple[int, float]:
    events, exposure = _pair(pair, name, "(events, exposure)")
    return int(counts(events, f"{name}, events")), positive(exposure, f"{name}, exposure")


def _tried(pair: tuple[int, int], name: str) -> tuple[int, int]:
    successes, trials = _pair(pair, name, "(successes, trials)")
    s, n = int(counts(successes, f"{name}, successes")), int(counts(trials, f"{name}, trials"))
    if s > n:
        hint = "Were the two counts changed over?"
        raise FigureError(f"{name}, successes", s, f"no more than the {n} trials", hint)
    return s, n


def _pair(pair: tuple[Any, Any], name: str, allowed: str) -> tuple[Any, Any]:
    try:
        one, other = pair
    except (TypeError, ValueError):
        raise FigureError(name, pair, allowed) from None
    return one, other
