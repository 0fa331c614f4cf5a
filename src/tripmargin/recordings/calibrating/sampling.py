"""Learning from evidence: weighted draws of a posterior, by importance sampling that adapts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.draws import evenly_spread
from tripmargin.ground.languages import say

Floats = NDArray[np.float64]
_MOST_ROUNDS = 12
_ENOUGH = 0.08  # share of a round's draws that must count, for the next round to be fitted to them
_WIDER = 1.3  # a proposal is this much wider than what it is fitted to, in standard deviations


@dataclass(frozen=True, slots=True)
class Posterior:
    """Weighted draws in coordinates that are standard normal and independent before the evidence.

    Attributes
    ----------
    points
        (n, d).
    weights
        (n,) sum 1.
    """

    points: Floats
    weights: Floats

    @property
    def effective(self) -> float:
        """How many draws of equal weight tell as much (Kish): 1 / sum of the squared weights."""
        return float(1 / (self.weights**2).sum())

    def mean(self, values: Floats) -> float:
        """Expectation of (n,) values, one for each draw."""
        return float(self.weights @ values)

    def sd(self, values: Floats) -> float:
        """Standard deviation of (n,) values."""
        return float(np.sqrt(max(float(self.weights @ (values - self.mean(values)) ** 2), 0.0)))

    def quantiles(self, values: Floats, shares: tuple[float, ...]) -> tuple[float, ...]:
        """Values below which those shares of the posterior lie."""
        order = np.argsort(values)
        below: Floats = np.cumsum(self.weights[order]) - self.weights[order] / 2
        return tuple(float(np.interp(share, below, values[order])) for share in shares)

    def some(self, n: int, *, seed: int = 1) -> Floats:
        """(n, d) draws of equal weight (systematic resampling)."""
        start = np.random.default_rng(seed).random()
        steps = (np.arange(n) + start) / n
        chosen = np.searchsorted(np.cumsum(self.weights), steps)
        return self.points[np.minimum(chosen, len(self.points) - 1)]


def learn(
    dimensions: int,
    log_likelihood: Callable[[Floats], Floats],
    *,
    draws: int = 4096,
) -> Posterior:
    """The posterior of parameters that are independent standard normals before the evidence.

    Parameters
    ----------
    dimensions : int
        How many parameters.
    log_likelihood : callable
        (n, d) points to (n,) logarithms of the likelihood, to within one constant.
    draws : int
        For each round.

    Raises
    ------
    ValueError
        Where the evidence is impossible at every draw.

    Notes
    -----
    Adaptive multiple importance sampling with the deterministic mixture's weights (Cornuet, Marin,
    Mira and Robert, Scand. J. Statist. 39 (2012) 798), the evidence let in by powers while it is
    too sharp for the draws at hand (Neal, Stat. Comput. 11 (2001) 125). Evenly spread draws, so
    that the same evidence gives the same answer.
    """
    points = [_normal(draws, dimensions, 0)]
    proposals: list[tuple[Floats, Floats]] = [(np.zeros(dimensions), np.eye(dimensions))]
    logs = [log_likelihood(points[0])]
    full = 0
    for turn in range(1, _MOST_ROUNDS):
        every, log_target = np.concatenate(points), np.concatenate(logs)
        if not np.isfinite(log_target).any():
            raise ValueError(say("No setting of the machine could have given what was measured."))
        base = _log_normal(every, *proposals[0]) - _log_mixture(every, proposals)
        power = _power(log_target, base, _ENOUGH * draws)
        weights = _weights(power * log_target + base)
        if power >= 1.0:
            full += 1
            if full > 2 or 1 / (weights**2).sum() > draws / 2:
                break
        middle = weights @ every
        away = every - middle
        spread = (weights[:, None] * away).T @ away * _WIDER**2
        spread += 1e-6 * np.eye(dimensions)
        proposals.append((middle, spread))
        moved = middle + _normal(draws, dimensions, turn) @ np.linalg.cholesky(spread).T
        points.append(moved)
        logs.append(log_likelihood(moved))
    every, log_target = np.concatenate(points), np.concatenate(logs)
    base = _log_normal(every, *proposals[0]) - _log_mixture(every, proposals)
    return Posterior(every, _weights(log_target + base))


def _normal(n: int, dimensions: int, turn: int) -> Floats:
    from scipy.special import ndtri

    # Each round its own shift, so that no round repeats the points of another.
    cube = evenly_spread(n, dimensions, offset=(0.5 + 0.382 * turn) % 1.0)
    if dimensions == 1:
        cube = (cube + 0.382 * turn / n) % 1.0
    return np.asarray(ndtri(np.clip(cube, 1e-9, 1 - 1e-9)))


def _weights(logs: Floats) -> Floats:
    made = np.exp(logs - logs.max())
    return np.asarray(made / made.sum())


def _power(log_target: Floats, base: Floats, wanted: float) -> float:
    """The greatest power of the likelihood, up to 1, that leaves enough draws that count."""

    def count(power: float) -> float:
        return float(1 / (_weights(power * log_target + base) ** 2).sum())

    if count(1.0) >= wanted:
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if count(middle) >= wanted else (low, middle)
    return low


def _log_normal(points: Floats, middle: Floats, spread: Floats) -> Floats:
    root = np.linalg.cholesky(spread)
    z = np.linalg.solve(root, (points - middle).T)
    d = points.shape[1]
    return np.asarray(
        -0.5 * (z**2).sum(axis=0) - np.log(np.diag(root)).sum() - 0.5 * d * np.log(2 * np.pi)
    )


def _log_mixture(points: Floats, proposals: list[tuple[Floats, Floats]]) -> Floats:
    parts = np.stack([_log_normal(points, *one) for one in proposals])
    top = parts.max(axis=0)
    return np.asarray(top + np.log(np.exp(parts - top).mean(axis=0)))
