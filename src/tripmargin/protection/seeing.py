"""The sensor's side: what a sample of places and tolerances sees, and where it trips."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.draws import draw
from tripmargin.ground.languages import later
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.protection.strength import Strength
from tripmargin.sensing.detector import Filter
from tripmargin.sensing.noise import crossing_chance
from tripmargin.sensing.passing import simulate_pass
from tripmargin.sensing.tables import LEVELS, Passes, level_of

Array = NDArray[np.float64]
PLACE, HEIGHT = "place", "height"
_NEAR_NULL = 0.02  # m
_NOTHING = 1e-300
_SPAN, _STEP = 12.0, 1e-3  # of the logarithm of a signal over the threshold
_Z = np.linspace(-6.0, 6.0, 25)  # (peak - threshold) / noise


@dataclass(frozen=True, slots=True)
class Sample:
    """Places, heights and tolerances drawn together, evenly spread.

    `values` holds one array (n,) for each uncertain input by its path, "place" and "height" among
    them; `weights` (n,) sum to 1.
    """

    machine: Machine
    values: dict[str, Array]
    weights: Array

    @classmethod
    def of(
        cls,
        machine: Machine,
        n: int,
        strength: Strength,
        *,
        place: float | None = None,
        height: float | None = None,
    ) -> Sample:
        """Draw n; a place or a height given is held.

        Raises
        ------
        NotKnownError
            If the machine file lacks the roll's width or the crop's depth.
        """
        inputs = list(strength.inputs)
        if place is None:
            (width,) = machine.need(later("protection"), "feed.roll_width")
            half = width.nominal / 2
            inputs.append((PLACE, Quantity(0.0, -half, half, "rectangular", "length")))
        if height is None:
            (depth,) = machine.need(later("protection"), "feed.crop_depth")
            inputs.append((HEIGHT, depth))
        for path in _SENSED:
            if (q := machine.get(path)) is not None:
                inputs.append((path, q))
        values, weights = draw(inputs, n)
        if HEIGHT in values:
            values[HEIGHT] = np.maximum(values[HEIGHT], 0.0)  # metal does not travel in the roll
        held = {PLACE: place, HEIGHT: height}
        for path, value in held.items():
            if value is not None:
                values[path] = np.full(len(weights), value)
        if HEIGHT not in values:
            values[HEIGHT] = np.full(len(weights), machine.get("feed.crop_depth").nominal)
        return cls(machine, values, weights)

    def get(self, path: str) -> Array:
        """An input's values; its middle everywhere where it is exact."""
        if path in self.values:
            return self.values[path]
        return np.full(len(self.weights), self.machine.get(path).nominal)

    def speed_factor(self) -> Array:
        """Speed of the metal over roll speed at the middle cutterhead speed."""
        turning = self.machine.get("feed.cutterhead_speed").nominal
        factor = self.get("feed.cutterhead_speed") / turning * (1 - self.get("feed.slip"))
        return np.asarray(factor)


_SENSED = (
    "sensor.rotation",
    "detector.threshold",
    "detector.noise",
    "feed.cutterhead_speed",
    "feed.slip",
)


@dataclass(frozen=True, slots=True)
class Sight:
    """What a sample sees of one piece, over speeds: peak (k, n) and crossings (k, n, l)."""

    sample: Sample
    log_speeds: Array
    peak: Array
    crossing: Array
    catch_curve: Array  # (k, z): chance of catching over (peak - threshold) / noise

    def at(self, roll_speed: float) -> Glimpse:
        """The same at one cut, each draw at its own speed."""
        speeds = np.log(roll_speed * self.sample.speed_factor())
        below, share = _between(speeds, self.log_speeds)
        draws = np.arange(len(speeds))
        if len(self.log_speeds) == 1:
            return Glimpse(self.sample, self.peak[0], self.crossing[0], self.catch_curve[0], 0.0)
        above = below + 1
        peak = (1 - share) * self.peak[below, draws] + share * self.peak[above, draws]
        crossing = (1 - share[:, None]) * self.crossing[below, draws] + share[:, None] * (
            self.crossing[above, draws]
        )
        middle = int(np.median(below))
        curve = 0.5 * (self.catch_curve[middle] + self.catch_curve[middle + 1])
        rise = np.exp(self.log_speeds[middle + 1]) - np.exp(self.log_speeds[middle])
        later = self.crossing[middle + 1] - self.crossing[middle]
        drift = float(np.median(later[:, 4:16])) / rise
        return Glimpse(self.sample, peak, crossing, curve, drift)


@dataclass(frozen=True, slots=True)
class Glimpse:
    """A sample's sight of one piece at one cut.

    `peak` (n,) V; `crossing` (n, l) m at the levels of `LEVELS`; `drift` s, how much later the
    piece crosses for each m/s of speed.
    """

    sample: Sample
    peak: Array
    crossing: Array
    catch_curve: Array
    drift: float

    def caught(self, scale: Array) -> tuple[Array, Array]:
        """Chance of catching and crossing_y (m) with the signal scaled; shapes (..., n).

        Parameters
        ----------
        scale : ndarray, (..., 1)
            Signal over that of the piece tabulated; a ball's goes with its diameter cubed.
        """
        threshold = self.sample.get("detector.threshold")
        noise = self.sample.get("detector.noise")
        top = scale * self.peak
        with np.errstate(divide="ignore", invalid="ignore"):
            z = np.where(noise > 0, (top - threshold) / noise, np.where(top >= threshold, 99, -99))
            ratio = np.where(top > 0, threshold / top, np.inf)
        chance = np.interp(z, _Z, self.catch_curve)
        level = level_of(np.minimum(ratio, 1.0)) / (LEVELS[1] - LEVELS[0])
        below = np.minimum(level.astype(int), len(LEVELS) - 2)
        share = np.minimum(level - below, 1.0)
        draws = np.arange(len(self.peak))
        low, high = self.crossing[draws, below], self.crossing[draws, below + 1]
        return chance, low + share * (high - low)


def sight(table: Passes, sample: Sample, strength: Strength, catch_curve: Array) -> Sight:
    """Look a sample's places, heights and turns up in a table of passes.

    `catch_curve` is that of `catch_curves` for the same table.
    """
    column, along = _between(sample.get(PLACE), table.places)
    row, up = _between(sample.get(HEIGHT), table.heights)
    crossing = np.zeros((len(table.speeds), len(sample.weights), len(LEVELS)))
    right = np.minimum(column + 1, len(table.places) - 1)
    top = np.minimum(row + 1, len(table.heights) - 1)
    for j, weight in enumerate(_turn_weights(sample, table.angles)):
        for h, share in ((row, 1 - up), (top, up)):
            for p, part in ((column, 1 - along), (right, along)):
                crossing += (weight * share * part)[:, None] * table.crossing[:, j, h, p]
    peak = peaks_of(table, sample, strength)
    return Sight(sample, np.log(table.speeds), peak, crossing, catch_curve)


def peaks_of(table: Passes, sample: Sample, strength: Strength) -> Array:
    """Peaks of a sample's passes at each speed of the table, V (k, n).

    The signal falls like an exponential with height and beyond a magnet's end, across a null like a
    straight line.
    """
    column, along = _between(sample.get(PLACE), table.places)
    row, up = _between(sample.get(HEIGHT), table.heights)
    right = np.minimum(column + 1, len(table.places) - 1)
    top = np.minimum(row + 1, len(table.heights) - 1)
    weights, columns = cubic(sample.get(PLACE), table.places)
    straight = np.zeros(len(along), dtype=bool)
    for null in table.nulls:
        straight |= np.abs(sample.get(PLACE) - null) < _NEAR_NULL
    logarithm = np.log(table.peak + _NOTHING)
    peak = np.zeros((len(table.speeds), len(along)))
    for j, weight in enumerate(_turn_weights(sample, table.angles)):
        ends = []
        for h in (row, top):
            bent = sum(w * logarithm[:, j, h, c] for w, c in zip(weights, columns, strict=True))
            if straight.any():
                line = (1 - along) * table.peak[:, j, h, column]
                line += along * table.peak[:, j, h, right]
                bent = np.where(straight, np.log(line + _NOTHING), bent)
            ends.append(bent)
        peak += weight * np.exp((1 - up) * ends[0] + up * ends[1])
    return np.asarray(np.maximum(peak, 0.0) * strength.factor(sample.values, len(along)))


@dataclass(frozen=True, slots=True)
class Outlook:
    """The peaks alone of a large sample: how much is missed, to a few per cent of itself."""

    sample: Sample
    log_speeds: Array
    log_ratio: Array  # (k, n): logarithm of peak over threshold
    catch_curve: Array  # (k, z)

    @classmethod
    def of(cls, table: Passes, sample: Sample, strength: Strength, catch_curve: Array) -> Outlook:
        """Look a sample's peaks up in a table of passes."""
        ratio = peaks_of(table, sample, strength) / sample.get("detector.threshold")
        return cls(sample, np.log(table.speeds), np.log(ratio + _NOTHING), catch_curve)

    def missed(self, roll_speed: float, scales: Array) -> Array:
        """Chance of missing at one cut, for signals scaled by `scales` (s,).

        The draws are sorted into fine steps of the signal first; noise over threshold is taken at
        its middle.
        """
        below, share = _between(np.log(roll_speed * self.sample.speed_factor()), self.log_speeds)
        draws = np.arange(len(below))
        above = np.minimum(below + 1, len(self.log_speeds) - 1)
        ratio = (1 - share) * self.log_ratio[below, draws] + share * self.log_ratio[above, draws]
        step = np.clip(((ratio + _SPAN) / _STEP).astype(int), 0, int(2 * _SPAN / _STEP))
        heaps = np.bincount(step, self.sample.weights)
        signal = np.exp((np.arange(len(heaps)) + 0.5) * _STEP - _SPAN)
        machine = self.sample.machine
        noise, threshold = machine.get("detector.noise"), machine.get("detector.threshold")
        top = np.asarray(scales)[:, None] * signal
        if noise.nominal <= 0:
            return np.asarray((top < 1) @ heaps)
        z = (top - 1) * threshold.nominal / noise.nominal
        curve = self.catch_curve[int(np.median(below))]
        return np.asarray((1 - np.interp(z, _Z, curve)) @ heaps)


def _between(values: Array, nodes: Array) -> tuple[NDArray[np.intp], Array]:
    """The node below each value, and the share of the way to the next."""
    if len(nodes) == 1:
        return np.zeros(len(values), dtype=np.intp), np.zeros(len(values))
    below = np.clip(np.searchsorted(nodes, values, side="right") - 1, 0, len(nodes) - 2)
    share = (values - nodes[below]) / (nodes[below + 1] - nodes[below])
    return below, np.clip(share, 0.0, 1.0)


def cubic(values: Array, nodes: Array) -> tuple[list[Array], list[NDArray[np.intp]]]:
    """Weights and indices of the cubic through the four nodes about each value (Lagrange)."""
    count = min(4, len(nodes))
    first = np.clip(np.searchsorted(nodes, values, side="right") - 2, 0, len(nodes) - count)
    index = [first + k for k in range(count)]
    weights = []
    for k in range(count):
        weight = np.ones(len(values))
        for m in range(count):
            if m != k:
                weight *= (values - nodes[index[m]]) / (nodes[index[k]] - nodes[index[m]])
        weights.append(weight)
    return weights, index


def _turn_weights(sample: Sample, angles: Array) -> list[Array]:
    """Weights of the computed turns for each draw: the parabola through the three (Lagrange)."""
    if len(angles) == 1:
        return [np.ones(len(sample.weights))]
    u = (sample.get("sensor.rotation") - angles[1]) / (angles[2] - angles[1])
    return [u * (u - 1) / 2, 1 - u**2, u * (u + 1) / 2]


def catch_curves(machine: Machine, table: Passes) -> Array:
    """Chance of catching over (peak - threshold) / noise, from the strongest place's own trace."""
    noise, threshold = machine.need(later("protection"), "detector.noise", "detector.threshold")
    if noise.nominal <= 0:
        return np.tile((_Z >= 0).astype(float), (len(table.speeds), 1))
    filter_ = Filter.of(machine)
    rate = filter_.noise_crossing_rate() if filter_.high_cut is not None else None
    h = len(table.heights) // 2
    x = float(table.places[table.peak[0, 0, h].argmax()])
    curves = []
    for speed in table.speeds[:: max(len(table.speeds) - 1, 1)]:
        one = simulate_pass(
            machine, table.piece, x=x, height=float(table.heights[h]), speed=float(speed)
        )
        tops = np.maximum(threshold.nominal + _Z * noise.nominal, 0.0)
        sparse = one.output[::8] / max(one.peak, 1e-300)
        near = np.abs(sparse) > 0.02
        if not near.any():  # the windings cancel: no signal has a shape, and none is caught
            curves.append((_Z >= 0).astype(float))
            continue
        curves.append(
            crossing_chance(
                tops[:, None] * sparse[near],
                8 * float(one.t[1] - one.t[0]),
                threshold=threshold.nominal,
                noise=noise.nominal,
                rate=rate,
                narrowness=filter_.narrowness,
            )
        )
    share = np.linspace(0, 1, len(table.speeds))[:, None]
    return np.asarray((1 - share) * curves[0] + share * curves[-1])
