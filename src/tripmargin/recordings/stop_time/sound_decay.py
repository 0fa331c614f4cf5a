"""When the rolls' noise has died away: a posterior over the catch and the time from it to rest.

From the catch on the roll's speed falls evenly to nothing; its noise's power goes with a power of
the speed near two (amplitude with the speed), and what a clack leaves ringing stands on top. The
exponent, the ring's loudness and its decay are averaged over.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tripmargin.recordings.stop_time.sound_frames import HOP, WINDOW, Floats, Integers, smoothed
from tripmargin.recordings.stop_time.sound_levels import Table, _nearest

EXPONENTS = np.array([1.5, 2.0, 2.7])
"""Power of the roll's noise goes as its speed to one of these."""
EXPONENT_PRIOR = np.array([0.25, 0.5, 0.25])
RINGS = (
    (0.0, 0.004), (0.05, 0.012), (0.15, 0.006), (0.6, 0.003), (0.6, 0.007),
    (2.5, 0.003), (2.5, 0.006), (8.0, 0.003), (8.0, 0.006),
)  # fmt: skip
"""Power of what rings, in the running roll's, and its decay, s."""
RING_PRIOR = np.array([0.3, 0.14, 0.14, 0.1, 0.1, 0.07, 0.06, 0.05, 0.04])
SHORTEST, LONGEST = 0.002, 0.12
"""s from catch to rest."""
USUAL, SPREAD = 0.015, 0.7
"""Wide prior for it: log-normal, s and in logarithms."""
LEAD, LENGTH = 50, 190
"""Frames before the catch that a template begins with, and its length."""
FINE = 4


@dataclass(frozen=True)
class Decay:
    """Probabilities over catch (rows) and duration to rest (columns); they sum to 1."""

    catches: Floats  # s
    durations: Floats  # s
    chance: Floats

    @property
    def rests(self) -> Floats:
        """Instants of rest, s, as `chance` has them."""
        return np.asarray(self.catches[:, None] + self.durations)


def decay_of(table: Table, coarse: float, catch_prior: Callable[[Floats], Floats]) -> Decay:
    """Posterior, first wide and coarse, then close and fine.

    Parameters
    ----------
    table
        From `table_of`.
    coarse
        About when the noise has gone, s.
    catch_prior
        Density of the catch, given times, s.
    """
    wide = np.arange(coarse - 0.08, coarse + 0.05, 4 * HOP)
    durations = np.geomspace(SHORTEST, LONGEST, 18)
    first = _posterior(table, wide, durations, catch_prior)
    some = first.chance > 1e-4 * first.chance.max()
    catches = first.catches[some.any(axis=1)]
    lengths = durations[some.any(axis=0)]
    early, late = catches[0] - 4 * HOP, catches[-1] + 4.5 * HOP
    close = np.arange(early, late, max(HOP, (late - early) / 30))
    fine = np.geomspace(max(lengths[0] / 1.25, 1.5e-3), lengths[-1] * 1.25, 30)
    return _posterior(table, close, fine, catch_prior)


def _posterior(
    table: Table, catches: Floats, durations: Floats, catch_prior: Callable[[Floats], Floats]
) -> Decay:
    at = np.unique(np.searchsorted(table.times, catches))
    at = at[(at >= LEAD) & (at - LEAD + LENGTH <= len(table.times))]
    total = _log_likelihood(table.log_likelihood, at, _templates(durations))
    length_prior = -0.5 * ((np.log(durations) - np.log(USUAL)) / SPREAD) ** 2
    total += np.log(EXPONENT_PRIOR)[:, None] + np.log(RING_PRIOR) + length_prior[:, None, None]
    total -= total.max()
    chance = np.exp(total).sum(axis=(2, 3)) * catch_prior(table.times[at])[:, None]
    return Decay(table.times[at], durations, chance / chance.sum())


def _templates(durations: Floats) -> Integers:
    """Share of the running roll in each frame, as its place in the table: (frames, d, q, r)."""
    offset = (np.arange(-(LEAD + 10) * FINE, (LENGTH - LEAD + 10) * FINE) + 0.5) * HOP / FINE
    since = np.maximum(offset, 0)[:, None]
    falls = np.clip(1 - since / durations, 0, 1)[:, :, None] ** EXPONENTS
    rings = np.stack([a * np.exp(-since[:, 0] / tau) * (offset > 0) for a, tau in RINGS], axis=1)
    shape = np.hanning(int(WINDOW / HOP * FINE) + 2)[1:-1] ** 2
    shape /= shape.sum()
    places = 10 * FINE + FINE * np.arange(LENGTH)
    seen = smoothed(falls, shape)[places], smoothed(rings, shape)[places]
    whole = np.maximum(seen[0][..., None] + seen[1][:, None, None, :], 0)
    return _nearest(whole)


def _log_likelihood(table: Floats, at: Integers, templates: Integers) -> Floats:
    """Of each catch and template, (catches, d, q, r); outside a template: running, then quiet."""
    running = int(_nearest(np.array([1.0]))[0])
    before = np.concatenate([[0], np.cumsum(table[:, running])])
    after = np.concatenate([[0], np.cumsum(table[:, 0])])
    width = table.shape[1]
    places = templates + (np.arange(LENGTH) * width)[:, None, None, None]
    flat = np.ascontiguousarray(table).ravel()
    made = np.empty((len(at), *templates.shape[1:]))
    for row, first in enumerate(at - LEAD):
        inside = flat[first * width :].take(places).sum(axis=0)
        made[row] = inside + before[first] + after[-1] - after[first + LENGTH]
    return made
