"""Many passes at once, tabulated: any place, height, turn and speed between is a look-up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import later
from tripmargin.machine import Machine
from tripmargin.sensing.detector import Filter, output_only, settling_time
from tripmargin.sensing.lines import REACH, Grid, averaged_fields, grid, linkage
from tripmargin.sensing.passing import by_eddy_currents, flux_linkages, peaks
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.sensor import sensor_of, sources

Array = NDArray[np.float64]
Progress = Callable[[float], None]
STEP = 4e-3  # m between samples of a trace; fields change over the distance to the magnets
LEVELS = np.linspace(0.0, 3.0, 25)  # q of `level_of`
_CLUSTER = np.array([-16.0, -8.0, -4.0, -2.0, 0.0, 2.0, 4.0, 8.0, 16.0]) * 1e-3


def level_of(ratio: Array) -> Array:
    """A threshold over a peak, as sqrt(-ln ratio): the crossing's place is nearly straight in it.

    Near the peak the place goes with the root of what is missing, far below with the logarithm.
    """
    return np.sqrt(-np.log(np.clip(ratio, 1e-300, 1.0)))


@dataclass(frozen=True, slots=True)
class Passes:
    """Peak and crossing of one piece, over speed, turn of the sensor, height and place.

    Attributes
    ----------
    speeds : ndarray, (k,), m/s;  angles : ndarray, (j,), rad
    heights : ndarray, (h,), m;  places : ndarray, (p,), m
    peak : ndarray, (k, j, h, p), V
        Greatest |output|, gain included.
    crossing : ndarray, (k, j, h, p, l), m
        Where |output| first reaches exp(-q^2) of its peak, for q in `LEVELS`.
    nulls : tuple of float, m
        Places where the signal changes sign: blind to every piece.
    """

    piece: Piece
    speeds: Array
    angles: Array
    heights: Array
    places: Array
    peak: Array
    crossing: Array
    nulls: tuple[float, ...]

    def near(self, low: float, high: float) -> Passes:
        """The same with only the speeds that lie between two, and the next beyond them, m/s."""
        first = max(int(np.searchsorted(self.speeds, low, side="right")) - 1, 0)
        last = min(int(np.searchsorted(self.speeds, high)) + 1, len(self.speeds))
        some = slice(max(min(first, last - 2), 0), max(last, first + 2))
        return replace(
            self, speeds=self.speeds[some], peak=self.peak[some], crossing=self.crossing[some]
        )


def passes(
    machine: Machine,
    piece: Piece,
    *,
    speeds: Array,
    places: Array,
    heights: Array,
    progress: Progress | None = None,
) -> Passes:
    """Tabulate passes of one piece.

    Parameters
    ----------
    machine : Machine
    piece : Piece
    speeds, places, heights : ndarray, m/s, m, m
        Ascending. Places are added around every null found.
    progress : callable, optional
        Told the share done, 0 to 1.

    Raises
    ------
    NotKnownError
        If the machine file lacks the sensor, the gain or the roll's diameter.
    """
    (diameter,) = machine.need(later("what the sensor sees"), "feed.roll_diameter")
    sensor = sensor_of(machine)
    filter_ = Filter.of(machine)
    source = sources(sensor)
    angles = angles_of(machine)
    behind = REACH + settling_time(filter_) * float(speeds[-1])
    on = grid(step=STEP, behind=behind)
    middle = 0.5 * (heights[0] + heights[-1])

    def fields(angle: float, at: Array, above: Array) -> tuple[Array, Array]:
        return averaged_fields(source, angle, piece, at, above + diameter.nominal / 2, on)

    def linkages(angle: float, at: Array, above: Array) -> Array:
        return linkage(piece, *fields(angle, at, above), on)

    nominal = angles[len(angles) // 2]
    nulls = _nulls(lambda at: linkages(nominal, at, np.full(len(at), middle)), places)
    everywhere = _with_clusters(places, nulls)
    height, place = (a.ravel() for a in np.meshgrid(heights, everywhere, indexing="ij"))
    shape = (len(speeds), len(angles), len(heights), len(everywhere))
    peak, crossing = np.empty(shape), np.empty((*shape, len(LEVELS)))
    for j, angle in enumerate(angles):
        pair = fields(angle, place, height)
        flux = linkage(piece, *pair, on)
        for k, speed in enumerate(speeds):
            if by_eddy_currents(piece):  # the currents know how fast the field changes
                flux = flux_linkages(piece, *pair, on, float(speed))
            top, where = _peak_and_crossings(flux, on, float(speed), filter_)
            peak[k, j] = top.reshape(shape[2:])
            crossing[k, j] = where.reshape(*shape[2:], -1)
            if progress is not None:
                progress((j * len(speeds) + k + 1) / (len(angles) * len(speeds)))
    return Passes(piece, speeds, angles, heights, everywhere, peak, crossing, nulls)


def angles_of(machine: Machine) -> Array:
    """The turns of the sensor to compute: least, middle and greatest, or one."""
    rotation = sensor_of(machine).rotation
    if rotation is None:
        return np.zeros(1)
    if not rotation.uncertain:
        return np.array([rotation.nominal])
    return np.array([rotation.low, rotation.nominal, rotation.high])


def _peak_and_crossings(
    flux: Array, on: Grid, speed: float, filter_: Filter
) -> tuple[Array, Array]:
    """Peak (p,) and first places (p, l) of traces (p, n) at each share of the peak."""
    shown = slice(int(np.searchsorted(on.y, -REACH)), int(np.searchsorted(on.y, 2 * REACH)))
    output = output_only(flux, on.step / speed, filter_)[:, shown]
    y, size = on.y[shown], np.abs(output)
    top = peaks(output)
    highest = np.maximum.accumulate(size, axis=1)
    at_peak = size.argmax(axis=1)
    # The samples' own peak stands in for the parabola's, so that the level is always reached.
    level = np.minimum(np.multiply.outer(top, np.exp(-(LEVELS**2))), highest[:, -1:])
    # The highest so far rises: the first that reaches a level is found by halving.
    first = np.stack([np.searchsorted(*pair) for pair in zip(highest, level, strict=True)])
    before = np.maximum(first - 1, 0)
    rows = np.arange(len(flux))[:, None]
    low, high = size[rows, before], size[rows, first]
    step = np.where(high > low, (level - low) / np.where(high > low, high - low, 1.0), 1.0)
    where = y[before] + np.clip(step, 0.0, 1.0) * (y[first] - y[before])
    where[:, 0] = y[at_peak]
    return top, where


def _nulls(linkages: Callable[[Array], Array], places: Array) -> tuple[float, ...]:
    """Places where the signal changes its sign with x, found between places by halving."""
    flux = linkages(places)
    if not np.any(flux):
        return ()
    strongest = int(np.abs(flux).max(axis=0).argmax())

    def signed(at: Array) -> Array:
        """The linkage on the line's strongest y: odd about a null, steady elsewhere."""
        return linkages(at)[:, strongest]

    value = flux[:, strongest]
    least = 1e-9 * np.abs(value).max()
    found = []
    for i in range(len(places) - 1):
        a, b = places[i], places[i + 1]
        if abs(value[i]) <= least and i > 0:
            if value[i - 1] * value[i + 1] < 0:
                found.append(float(a))
        elif value[i] * value[i + 1] < 0 and abs(value[i + 1]) > least:
            left = np.sign(value[i])
            for _ in range(20):
                middle = 0.5 * (a + b)
                same = np.sign(signed(np.array([middle]))[0]) == left
                a, b = (middle, b) if same else (a, middle)
            found.append(float(0.5 * (a + b)))
    return tuple(x for x in found if _silent(linkages, x, flux))


def _silent(linkages: Callable[[Array], Array], x: float, flux: Array) -> bool:
    """Whether the whole pass is silent at x, not only its middle."""
    return bool(np.abs(linkages(np.array([x]))).max() < 1e-3 * np.median(np.abs(flux).max(axis=1)))


def _with_clusters(places: Array, nulls: tuple[float, ...]) -> Array:
    """The places with more of them around each null, where the signal rises from nothing."""
    extra = [x + _CLUSTER for x in nulls]
    made = np.unique(np.round(np.concatenate([places, *extra]), 7))
    return np.asarray(made[(made >= places[0] - 1e-9) & (made <= places[-1] + 1e-9)])


def weights_of(nodes: Array) -> Array:
    """Shares of an even spread that nodes stand for: half the way to each neighbour."""
    if len(nodes) == 1:
        return np.ones(1)
    gaps = np.diff(nodes)
    shares = np.concatenate([[gaps[0]], gaps[:-1] + gaps[1:], [gaps[-1]]]) / 2
    return np.asarray(shares / shares.sum())
