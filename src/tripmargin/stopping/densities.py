"""How likely each stop time is: stages' densities on an even grid, added by convolution.

Small probabilities are sums of products of small masses here, not counts of rare draws, so they are
right far out in the tail.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.draws import draw, draw_late, worse_nodes
from tripmargin.stopping.stages import StageModel

Array = NDArray[np.float64]
DRAWS = 1 << 17  # of a stage with two or more uncertain inputs
LINE_DRAWS = 1 << 12  # of a stage with one
FIT_DRAWS = (
    1 << 10
)  # of a stage followed from its parts, to fit the quadratic that stands in for it
LAST_DRAWS = 1 << 12  # the latest of the many by that quadratic are followed after all
STICKING_DRAWS = 1 << 14  # of such a stage where some stick: no quadratic tells which


@dataclass(frozen=True, slots=True)
class Density:
    """Probability masses at start, start + step, start + 2 step, ...; they sum to 1 - never.

    `never` is the chance that it does not come about at all: a plunger that sticks.
    """

    start: float
    step: float
    mass: Array
    never: float = 0.0

    @property
    def values(self) -> Array:
        """Where the masses stand."""
        return np.asarray(self.start + self.step * np.arange(len(self.mass)))

    @property
    def mean(self) -> float:
        """Expectation; infinite where it may never come about."""
        if self.never > 0:
            return float("inf")
        return float(self.values @ self.mass)

    @property
    def sd(self) -> float:
        """Standard deviation; infinite where it may never come about."""
        if self.never > 0:
            return float("inf")
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
        never = 1.0 - (1.0 - self.never) * (1.0 - other.never)
        return Density(self.start + other.start, self.step, mass, never)

    def later_than(self, chances: Array) -> Array:
        """The values that are exceeded with given chances, if it comes about at all.

        Each mass counts as spread over its step; between steps the chance's log odds are taken as
        straight, which they nearly are far out in either tail.
        """
        edges = self.start + self.step * (np.arange(len(self.mass) + 1) - 0.5)
        above = np.append(np.cumsum(self.mass[::-1])[::-1], 0.0) / max(self.mass.sum(), 1e-300)
        return np.asarray(np.interp(-log_odds(chances), -log_odds(above), edges))


def log_odds(chance: Array) -> Array:
    """ln(p / (1 - p)), finite at 0 and 1."""
    return np.asarray(np.log(np.maximum(chance, 1e-300)) - np.log(np.maximum(1 - chance, 1e-300)))


def gathered(values: Array, weights: Array, step: float) -> Density:
    """Draws with weights as a density: each draw's weight shared between its two neighbours.

    Infinite draws are those that never come about.
    """
    finite = np.isfinite(values)
    if not finite.all():
        never = float(weights[~finite].sum() / weights.sum())
        if not finite.any():
            return Density(0.0, step, np.zeros(1), 1.0)
        some = gathered(values[finite], weights[finite], step)
        return Density(some.start, step, some.mass * (1.0 - never), never)
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

    A stage computed from parts is followed for a thousand draws; a full quadratic in its inputs,
    fitted to the logarithms of these, stands in for it in the many draws that the tail needs, save
    in the latest of them.
    """
    count = len(model.uncertain)
    if model.by_parts and count > 1:
        return _through_quadratic(model)
    values, weights = draws_of(model, DRAWS if count > 1 else LINE_DRAWS)
    times = sum(np.broadcast_to(t, weights.shape) for t in model.at(values))
    return np.asarray(times, dtype=float), weights


def draws_of(model: StageModel, n: int) -> tuple[dict[str, Array], Array]:
    """Draws of a stage's inputs and their weights, many of them where it takes long."""
    if len(model.uncertain) > 1:
        return draw_late(model.inputs, n, leaning(model))
    if model.uncertain and model.uncertain[0][1].shape == "normal":
        ((path, q),) = model.uncertain
        value, weights = worse_nodes(q, n // 3, worse="high")  # even steps, far into both tails
        return {path: value}, weights
    return draw(model.inputs, n)


def leaning(model: StageModel) -> dict[str, float]:
    """Whether the time rises (above 0) or falls with each doubtful input, by its two ends."""
    inputs = model.uncertain
    rows = 2 * len(inputs)
    values = {path: np.full(rows, q.nominal) for path, q in inputs}
    for i, (path, q) in enumerate(inputs):
        values[path][2 * i : 2 * i + 2] = q.low, q.high
    times = np.broadcast_to(np.asarray(sum(model.at(values)), dtype=float), (rows,))
    ends = np.minimum(times, 1e9).reshape(-1, 2)  # what sticks is later than any time
    rises = ends[:, 1] - ends[:, 0]
    return {path: float(rise) for (path, _), rise in zip(inputs, rises, strict=True)}


def _through_quadratic(model: StageModel) -> tuple[Array, Array]:
    paths = [path for path, _ in model.uncertain]
    middle = np.array([q.nominal for _, q in model.uncertain])
    scale = np.array([q.sd for _, q in model.uncertain])
    row, column = np.triu_indices(len(paths))

    def standard(values: dict[str, Array]) -> Array:
        return np.asarray((np.stack([values[p] for p in paths], axis=1) - middle) / scale)

    def followed(values: dict[str, Array]) -> Array:
        return np.asarray(sum(model.at(values)), dtype=float)

    values, _ = draws_of(model, FIT_DRAWS)
    times = followed(values)
    if not np.isfinite(times).all():
        values, weights = draws_of(model, STICKING_DRAWS)
        return followed(values), weights
    u = standard(values)
    terms = np.hstack([np.ones((FIT_DRAWS, 1)), u, u[:, row] * u[:, column]])
    # Normal equations: the terms are of one size, and the fit is far from perfect anyway.
    fitted = np.linalg.solve(terms.T @ terms, terms.T @ np.log(np.maximum(times, 1e-9)))
    bend = np.zeros((len(paths), len(paths)))
    bend[row, column] = fitted[1 + len(paths) :]
    values, weights = draws_of(model, DRAWS)
    u = standard(values)
    times = np.exp(fitted[0] + u @ fitted[1 : 1 + len(paths)] + ((u @ bend) * u).sum(axis=1))
    latest = np.argpartition(times, -LAST_DRAWS)[-LAST_DRAWS:]
    times[latest] = followed({path: values[path][latest] for path in paths})
    return times, weights


@dataclass(frozen=True, slots=True)
class Followed:
    """A stage that was followed: limits of each of its times, draws of their sum, weights, s."""

    limits: tuple[tuple[float, float], ...]
    times: Array
    weights: Array

    @classmethod
    def whole(cls, model: StageModel) -> Followed:
        """With as many draws as the tail needs."""
        return cls(model.limits(), *total_time(model))

    def density(self, step: float) -> Density:
        """The density of its time, its names added up, on a grid of one step, s."""
        return gathered(self.times, self.weights, step)


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
    never = 1.0 - np.prod([1.0 - swing.never for swing in swings])
    return Density(start + step / 2, step, np.diff(caught), float(never))


def _caught_by(times: Array, swing: Density, wait: float) -> Array:
    """Chance that a pawl has caught by each time: the mean of its swing's over the wait."""
    values = np.append(swing.values, swing.values[-1] + swing.step)
    reached = np.append(np.cumsum(swing.mass), 1.0 - swing.never)
    # The masses are points, so the integral of the swing's distribution is a broken line.
    integral = np.append(0.0, np.cumsum(reached[:-1] * np.diff(values)))

    def until(t: Array) -> Array:
        inside = np.interp(t, values, integral)
        beyond = integral[-1] + (t - values[-1]) * (1.0 - swing.never)
        return np.asarray(np.where(t > values[-1], beyond, inside))

    if wait < 1e-9:
        return np.asarray(np.interp(times, values, reached))
    return np.asarray(np.clip((until(times) - until(times - wait)) / wait, 0.0, 1.0))
