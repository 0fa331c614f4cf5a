"""How likely each stop time is: stages' densities on an even grid, added by convolution.

Small probabilities are sums of products of small masses here, not counts of rare draws, so they are
right far out in the tail.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.draws import draw, evenly_spread
from tripmargin.stopping.stages import StageModel

Array = NDArray[np.float64]
DRAWS = 1 << 16  # of a stage with two or more uncertain inputs
LINE_DRAWS = 1 << 12  # of a stage with one
DEAR_DRAWS = 400  # of a stage whose parts are integrated in time
WIDENED = 1.5  # tails of normal inputs are reached with draws this much wider


@dataclass(frozen=True, slots=True)
class Density:
    """Probability masses at start, start + step, start + 2 step, ...; they sum to 1."""

    start: float
    step: float
    mass: Array

    @property
    def values(self) -> Array:
        """Where the masses stand."""
        return np.asarray(self.start + self.step * np.arange(len(self.mass)))

    @property
    def mean(self) -> float:
        """Expectation."""
        return float(self.values @ self.mass)

    @property
    def sd(self) -> float:
        """Standard deviation."""
        return float(np.sqrt(np.maximum((self.values - self.mean) ** 2 @ self.mass, 0.0)))

    def __add__(self, other: Density) -> Density:
        """Density of the sum of two independent quantities on grids of one step."""
        size = len(self.mass) + len(other.mass) - 1
        if min(len(self.mass), len(other.mass)) < 16:
            mass = np.convolve(self.mass, other.mass)
        else:
            length = 1 << (size - 1).bit_length()
            product = np.fft.rfft(self.mass, length) * np.fft.rfft(other.mass, length)
            mass = np.maximum(np.fft.irfft(product, length)[:size], 0.0)
        return Density(self.start + other.start, self.step, mass)

    def exceeds(self, value: NDArray[np.float64] | float) -> Array:
        """Probability of more than `value`; each mass counts as spread over its step."""
        edges = self.start + self.step * (np.arange(len(self.mass) + 1) - 0.5)
        above = np.append(np.cumsum(self.mass[::-1])[::-1], 0.0)
        # Between grid points the logarithm is nearly straight far out in the tail, the value near
        # the middle; a straight line in the value is safe in both, the step being small.
        return np.asarray(np.interp(value, edges, above))


def gathered(values: Array, weights: Array, step: float) -> Density:
    """Draws with weights as a density: each draw's weight shared between its two neighbours."""
    start = float(np.floor(values.min() / step)) * step
    place = (values - start) / step
    below = np.floor(place).astype(np.intp)
    share = place - below
    size = int(below.max()) + 2
    mass = np.bincount(below, weights * (1 - share), size) + np.bincount(
        below + 1, weights * share, size
    )
    return Density(start, step, mass / mass.sum())


def total_time(model: StageModel) -> tuple[Array, Array]:
    """Draws of a stage's time, its names added up, and their weights.

    A stage computed from parts is integrated for a few hundred draws; a full quadratic in its
    inputs, fitted to these, stands in for it in the many draws that the tail needs.
    """
    count = len(model.uncertain)
    if model.by_parts and count > 1 and _dear(model):
        return _through_quadratic(model)
    values, weights = draw(model.inputs, LINE_DRAWS if count == 1 else DRAWS, widened=WIDENED)
    times = sum(np.broadcast_to(t, weights.shape) for t in model.at(values))
    return np.asarray(times, dtype=float), weights


def _dear(model: StageModel) -> bool:
    return "plunger" in model.names


def _through_quadratic(model: StageModel) -> tuple[Array, Array]:
    paths = [path for path, _ in model.uncertain]
    middle = np.array([q.nominal for _, q in model.uncertain])
    scale = np.array([q.sd for _, q in model.uncertain])

    def terms(values: dict[str, Array]) -> Array:
        u = (np.stack([values[p] for p in paths], axis=1) - middle) / scale
        row, column = np.triu_indices(len(paths))
        return np.hstack([np.ones((len(u), 1)), u, u[:, row] * u[:, column]])

    few = max(DEAR_DRAWS, 3 * (len(paths) + 1) * (len(paths) + 2) // 2)
    values, _ = draw(model.inputs, few, points=evenly_spread(few, len(paths)), widened=WIDENED)
    times = np.asarray(sum(model.at(values)), dtype=float)
    moves = np.isfinite(times)
    fitted, *_ = np.linalg.lstsq(terms(values)[moves], times[moves], rcond=None)
    many, weights = draw(model.inputs, DRAWS, widened=WIDENED)
    return terms(many) @ fitted, weights


def density(model: StageModel, step: float) -> Density:
    """The density of a stage's time, its names added up, on a grid of one step, s."""
    times, weights = total_time(model)
    return gathered(times, weights, step)


def latest_catch(swings: tuple[Density, ...], waits: tuple[float, ...]) -> Density:
    """When the last pawl has caught, from the moment the pawls are let go.

    Each pawl swings and then waits for a tooth, evenly between none and a whole pitch; the pawls
    are independent, so the chance that all have caught is the product of each one's.

    Parameters
    ----------
    swings : tuple of Density, s
    waits : tuple of float, s
        Time of a whole pitch, one a pawl.
    """
    step = swings[0].step
    start = min(s.start for s in swings) - step
    end = max(s.start + s.step * len(s.mass) + w for s, w in zip(swings, waits, strict=True)) + step
    edges = np.asarray(start + step * np.arange(int(np.ceil((end - start) / step)) + 1))
    caught = np.ones(len(edges))
    for swing, wait in zip(swings, waits, strict=True):
        caught *= _caught_by(edges, swing, wait)
    return Density(start + step / 2, step, np.diff(caught))


def _caught_by(times: Array, swing: Density, wait: float) -> Array:
    """Chance that a pawl has caught by each time: the mean of its swing's over the wait."""
    values = np.append(swing.values, swing.values[-1] + swing.step)
    reached = np.append(np.cumsum(swing.mass), 1.0)
    # The masses are points, so the integral of the swing's distribution is a broken line.
    integral = np.append(0.0, np.cumsum(reached[:-1] * np.diff(values)))

    def until(t: Array) -> Array:
        inside = np.interp(t, values, integral)
        beyond = integral[-1] + (t - values[-1])
        return np.asarray(np.where(t > values[-1], beyond, inside))

    if wait < 1e-9:
        return np.asarray(np.interp(times, values, reached))
    return np.asarray(np.clip((until(times) - until(times - wait)) / wait, 0.0, 1.0))
