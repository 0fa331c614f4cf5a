"""The roll's rest from the pulses of a pickup: a posterior over catch and rest.

Pulses come at equal angles. Until the catch they come evenly; then the speed falls to nothing,
evenly or nearly so; after the last pulse the roll turns by less than what is left to the next.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.recordings.stop_time.logger_edges import Edges
from tripmargin.recordings.stop_time.result import Floats

BENDS = ((0.75, 0.2), (1.0, 0.6), (1.4, 0.2))
"""Speed goes as a power of the time left: the power, and its chance beforehand."""
UNEVEN = 0.015
"""Of a pulse's angle, standard deviation: teeth are not quite even."""
STEPS = 140


@dataclass(frozen=True)
class Rest:
    """Posterior of catch and rest.

    Attributes
    ----------
    catches, rests, chances
        (n,) s, s, and probabilities that sum to 1.
    last_pulse
        s.
    spacing
        Of the pulses while the roll ran, s.
    slowed
        How many pulses came while it slowed down, about.
    """

    catches: Floats
    rests: Floats
    chances: Floats
    last_pulse: float
    spacing: float
    slowed: int


@dataclass(frozen=True)
class Train:
    """Pulses as angles, in pulses, and times, s; errors, s."""

    angles: Floats
    times: Floats
    errors: Floats
    spacing: float
    limit: float  # angle that was not reached any more


def train_of(edges: Edges, trip: float, square: bool) -> Train:
    """Both edges of every pulse as angles; the falling ones stand at a share of the pitch.

    Parameters
    ----------
    edges
        Of the roll's sensor around the trip.
    trip
        s.
    square
        Whether the pulses are square: then none can be missed while the roll creeps.
    """
    first = bool(edges.rising[0])
    main, other = edges.of(first), edges.of(not first)
    steady = main.times[main.times < trip]
    spacing = float(np.median(np.diff(steady)[-40:]))
    number = np.arange(len(main), dtype=float)
    rows = [(number, main)]
    share = 0.5
    if len(other):
        before = np.searchsorted(main.times, other.times) - 1
        part = (other.times - main.times[np.maximum(before, 0)]) / spacing
        early = (other.times < trip) & (before >= 0)
        if early.sum() >= 3:
            share = float(np.median(part[early][-40:]))
            rows.append((before + share, other))
    angles = np.concatenate([row[0] for row in rows])
    times = np.concatenate([row[1].times for row in rows])
    widths = np.concatenate([row[1].high - row[1].low for row in rows])
    order = np.argsort(times)
    angles, times, widths = angles[order], times[order], widths[order]
    step = (share if angles[-1] % 1 == 0 else 1 - share) if len(rows) == 2 else 1.0
    limit = angles[-1] + step + (0 if square else 1.0)
    return Train(angles, times, widths / np.sqrt(12) + 1e-7, spacing, float(limit))


def rest_of(train: Train, earliest: float) -> Rest:
    """Posterior, first wide and coarse, then close and fine.

    Parameters
    ----------
    earliest
        The catch does not come before it, s: the trip.
    """
    last = float(train.times[-1])
    steady = train.times < earliest
    line = np.polyfit(train.times[steady], train.angles[steady], 1, w=_weights(train, steady))
    from_catch = max(earliest, last - 2.0)
    catches = np.linspace(from_catch, last + train.spacing, STEPS)
    lengths = np.geomspace(2e-4, max(last + 3 * train.spacing - from_catch, 0.01) * 2, STEPS)
    for _ in range(3):
        grid_c, grid_d = np.meshgrid(catches, lengths, indexing="ij")
        likely = _log_likelihood(train, line, grid_c, grid_d)
        some = likely > likely.max() - 14
        rows, columns = np.flatnonzero(some.any(axis=1)), np.flatnonzero(some.any(axis=0))
        catches = _closer(catches, rows, STEPS)
        lengths = np.exp(_closer(np.log(lengths), columns, STEPS))
    chance = np.exp(likely - likely.max())
    chance *= usual_duration(grid_d)
    chance /= chance.sum()
    middle = float((chance * grid_c).sum())
    slowed = int((train.times > middle).sum())
    return Rest(
        grid_c.ravel(), (grid_c + grid_d).ravel(), chance.ravel(), last, train.spacing, slowed
    )


def usual_duration(durations: Floats) -> Floats:
    """Wide prior of the time from catch to rest, on a grid of its logarithm: 3 to 130 ms."""
    return np.asarray(np.exp(-0.5 * ((np.log(durations) - np.log(0.02)) / 1.0) ** 2))


def _closer(values: Floats, some: NDArray[np.intp], count: int) -> Floats:
    low, high = max(int(some[0]) - 1, 0), min(int(some[-1]) + 1, len(values) - 1)
    return np.linspace(values[low], values[high], count)


def _weights(train: Train, steady: NDArray[np.bool_]) -> Floats:
    return np.asarray(1 / np.hypot(train.errors[steady] / train.spacing, UNEVEN))


def _log_likelihood(train: Train, line: Floats, catches: Floats, lengths: Floats) -> Floats:
    """Of each catch and duration, bends averaged over."""
    late = train.times > catches.min()
    angles, times, errors = train.angles[late], train.times[late], train.errors[late]
    at_catch = np.polyval(line, catches)
    speed = line[0]
    whole = []
    for bend, prior in BENDS:
        total = np.full(catches.shape, np.log(prior))
        for angle, time, error in zip(angles, times, errors, strict=True):
            left = np.clip(1 - (time - catches) / lengths, 0, 1)
            turned = speed * lengths / (1 + bend) * (1 - left ** (1 + bend))
            expected = np.where(time < catches, np.polyval(line, time), at_catch + turned)
            rate = np.where(time < catches, speed, speed * left**bend)
            sd2 = UNEVEN**2 + (rate * error) ** 2
            stood = time > catches + lengths
            total += -0.5 * (angle - expected) ** 2 / sd2 - 0.5 * np.log(sd2) - 1e3 * stood
        end = at_catch + speed * lengths / (1 + bend)
        beyond = (end - train.limit) / (2 * UNEVEN)
        total += np.where(beyond > 0, -0.5 * beyond**2, 0.0)
        whole.append(total)
    top = np.max(whole, axis=0)
    return np.asarray(top + np.log(sum(np.exp(each - top) for each in whole)))
