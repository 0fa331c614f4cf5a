"""What repeats with each turn: resampled to the roll's angle, averaged over turns."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.results import Spread
from tripmargin.recordings.noise.result import Order

Floats = NDArray[np.float64]
Complex = NDArray[np.complex128]
Bools = NDArray[np.bool_]
FEWEST = 5  # turns from which a scatter is taken
_FINEST = 8192  # points a turn
_MOST_ORDERS = 128
_BY_CHANCE = 0.01  # of any order being sure where there is only noise
_PHASES = 720  # of the trace


@dataclass(frozen=True)
class Synchronous:
    """The mean turn and its scatter.

    Attributes
    ----------
    turns
        Whole turns averaged.
    mean
        (K,) complex amplitude of each order from 1, V: the mean over turns.
    scatter
        (K, 2, 2) of single turns about the mean, real and imaginary part: sums of squares, V2.
    covariance
        (K, 2, 2) of the mean's real and imaginary part, V2.
    sure
        (K,) whether an order stands out of the noise.
    """

    turns: int
    mean: Complex
    scatter: Floats
    covariance: Floats
    sure: Bools

    @classmethod
    def of(cls, turns: int, mean: Complex, scatter: Floats) -> Synchronous:
        """From a number of turns, their mean and their scatter."""
        from scipy.stats import f

        covariance = scatter / (turns - 1) / turns + 1e-30 * np.eye(2)
        vector = np.stack([mean.real, mean.imag], axis=-1)
        solved = np.linalg.solve(covariance, vector[..., None])[..., 0]
        squared = np.einsum("ki,ki->k", vector, solved)
        chance = f.sf(squared * (turns - 2) / (2 * (turns - 1)), 2, turns - 2)
        return cls(turns, mean, scatter, covariance, chance < _BY_CHANCE / len(mean))

    def turned(self, by: float) -> Synchronous:
        """The same with its turns counted from `by` turns further on."""
        wave = np.exp(2j * pi * by * np.arange(1, len(self.mean) + 1))
        round_ = np.stack(
            [np.stack([wave.real, -wave.imag], -1), np.stack([wave.imag, wave.real], -1)], -2
        )
        scatter = round_ @ self.scatter @ np.swapaxes(round_, -1, -2)
        return Synchronous.of(self.turns, self.mean * wave, scatter)

    def with_(self, other: Synchronous) -> Synchronous:
        """Both together, as if their turns had been averaged at once.

        Chan, Golub and LeVeque, Amer. Statistician 37 (1983) 242: sums of squares put together.
        """
        size = min(len(self.mean), len(other.mean))
        one, two = self.mean[:size], other.mean[:size]
        turns = self.turns + other.turns
        off = two - one
        parts = np.stack([off.real, off.imag], axis=-1)
        between = np.einsum("ki,kj->kij", parts, parts) * (self.turns * other.turns / turns)
        scatter = self.scatter[:size] + other.scatter[:size] + between
        return Synchronous.of(turns, one + off * (other.turns / turns), scatter)

    @property
    def power(self) -> float:
        """Mean square of what is sure, V2, without what noise adds to it."""
        noise = np.trace(self.covariance, axis1=1, axis2=2)
        parts = (np.abs(self.mean) ** 2 - noise) / 2
        return float(parts[self.sure].clip(min=0).sum())

    @property
    def most_hidden(self) -> float:
        """Mean square, V2, that orders which are not sure may hold at most (95 %)."""
        noise = np.trace(self.covariance, axis1=1, axis2=2)[~self.sure] / 2
        seen = np.abs(self.mean[~self.sure]) ** 2 / 2
        # The power of a sum of two normal parts is spread as widely as it is large.
        return float(max((seen - noise).sum(), 0.0) + 2 * np.sqrt((noise**2).sum()))

    def draws(self, count: int, random: np.random.Generator) -> Complex:
        """(count, K) amplitudes as they may be, 0 where an order is not sure."""
        root = np.linalg.cholesky(self.covariance + 1e-300 * np.eye(2))
        normal = random.standard_normal((count, *self.mean.shape, 2))
        off = np.einsum("kij,nkj->nki", root, normal)
        made = self.mean + off[..., 0] + 1j * off[..., 1]
        return np.asarray(np.where(self.sure, made, 0.0))

    def orders(self) -> tuple[Order, ...]:
        """Amplitude and phase of each order with their 95 % intervals (Student's t over turns)."""
        from scipy.stats import t

        factor = float(t.ppf(0.975, max(self.turns - 1, 1)))
        made = []
        for k, (mean, covariance, sure) in enumerate(
            zip(self.mean, self.covariance, self.sure, strict=True), start=1
        ):
            size, phase = abs(mean), float(np.angle(mean))
            along = np.array([np.cos(phase), np.sin(phase)])
            across = np.array([-along[1], along[0]])
            radial = float(np.sqrt(along @ covariance @ along))
            turned = float(np.sqrt(across @ covariance @ across)) / size if size else pi
            low = max(size - factor * radial, 0.0) if sure else 0.0
            half = min(factor * turned, pi)
            made.append(
                Order(
                    k,
                    Spread(size, low=low, high=size + factor * radial, sd=radial),
                    Spread(phase, low=phase - half, high=phase + half, sd=turned),
                    bool(sure),
                )
            )
        return tuple(made)


def synchronous_of(
    values: Floats, good: Bools, turns: Floats, per_second: float, rate: float, top: float
) -> Synchronous | None:
    """The mean turn of a record; None where fewer than `FEWEST` turns are whole.

    Parameters
    ----------
    values, good, turns
        (n,) V, whether a sample counts, and the roll's turns at it, nan where not known.
    per_second
        Turns a second, mean.
    rate
        Hz.
    top
        Hz up to which orders are told.

    Notes
    -----
    Each whole turn is read at even angles by a cubic spline and taken apart into its orders; an
    order is the mean over turns, its uncertainty their scatter over the root of their number. A
    turn with samples that do not count is left out. Time synchronous averaging: Braun, Acustica 32
    (1975) 69; orders that stand out: Hotelling's T2 (both from memory).
    """
    matrix = _by_angle(values, good, turns, per_second, rate)
    if len(matrix) < FEWEST:
        return None
    count = int(max(1, min(_MOST_ORDERS, min(top, 0.4 * rate) / per_second)))
    count = min(count, matrix.shape[1] // 2 - 1)
    lines = np.fft.rfft(matrix, axis=1)[:, 1 : count + 1] * (2 / matrix.shape[1])
    return _averaged(lines)


def _by_angle(values: Floats, good: Bools, turns: Floats, per_second: float, rate: float) -> Floats:
    """(turns, points) the record at even angles, whole turns that count."""
    from scipy.ndimage import map_coordinates

    known = np.flatnonzero(~np.isnan(turns))
    if len(known) < 2:
        return np.empty((0, 0))
    begin, end = int(np.ceil(turns[known[0]])), int(np.floor(turns[known[-1]]))
    points = int(min(2 ** np.ceil(np.log2(max(rate / per_second, 16))), _FINEST))
    if end - begin < 1:
        return np.empty((0, points))
    grid = begin + np.arange((end - begin) * points) / points
    at = np.interp(grid, turns[known], known.astype(float))
    lost = np.concatenate([[0], np.cumsum(~good)])
    first, last = at.reshape(-1, points)[:, 0], at.reshape(-1, points)[:, -1]
    low = np.maximum(first.astype(int) - 2, 0)
    high = np.minimum(last.astype(int) + 3, len(values))
    whole = lost[high] == lost[low]
    made = map_coordinates(values, at[None, :], order=3, mode="nearest")
    return np.asarray(made.reshape(-1, points)[whole], np.float64)


def _averaged(lines: Complex) -> Synchronous:
    """Mean, scatter and what is sure, of (turns, K) complex amplitudes."""
    mean = lines.mean(axis=0)
    off = lines - mean
    parts = np.stack([off.real, off.imag], axis=-1)
    return Synchronous.of(len(lines), mean, np.einsum("nki,nkj->kij", parts, parts))


def trace_of(amplitudes: Complex, turns: Floats) -> Floats:
    """What orders come to at some turns: amplitudes (..., K) and turns (n,) to (..., n), V."""
    orders = np.arange(1, amplitudes.shape[-1] + 1)
    made = np.zeros((*amplitudes.shape[:-1], len(turns)))
    for k in orders[np.abs(amplitudes).reshape(-1, len(orders)).any(axis=0)]:
        wave = np.exp(2j * pi * k * turns)
        made += (amplitudes[..., k - 1, None] * wave).real
    return made


def one_turn() -> Floats:
    """(n,) turns, evenly over one."""
    return np.arange(_PHASES) / _PHASES
