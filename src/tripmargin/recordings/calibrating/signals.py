"""What one pass gives for every height and turn that the sensor may have."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from tripmargin.machine import Machine
from tripmargin.sensing.detector import Filter, output_only, settling_time, through_filter
from tripmargin.sensing.lines import REACH, averaged_fields, grid
from tripmargin.sensing.noise import crossing_chance
from tripmargin.sensing.passing import flux_linkages, near_pass, peaks
from tripmargin.sensing.pieces import Piece
from tripmargin.sensing.sensor import sensor_of, sources
from tripmargin.sensing.tables import STEP, angles_of

Floats = NDArray[np.float64]
SHIFTS = np.linspace(-0.02, 0.02, 9)  # m, of the whole sensor upwards
_Z = np.linspace(-7.0, 7.0, 29)  # (peak - threshold) / noise
_NOISES = np.geomspace(0.002, 0.4, 12)  # of the threshold
_ASIDE = 0.004  # m; how far to either side the change across the roll is taken


@dataclass(frozen=True, slots=True)
class Signal:
    """One piece on one line at one speed, with the file's own gain and magnets.

    Attributes
    ----------
    peak : ndarray, (shifts, angles), V
        Logarithm of the greatest output.
    coil_peak : ndarray, (shifts, angles)
        The same at the windings.
    angles : ndarray, (angles,), rad
    across : float, 1/m
        Change of the logarithm of the peak across the roll, magnitude.
    y, shape : ndarray, (n,)
        The output's trace over the peak, with the sensor where the file has it.
    chance : ndarray, (z, noises)
        Of catching, over (peak - threshold) / noise and noise / threshold.
    """

    peak: Floats
    coil_peak: Floats
    angles: Floats
    across: float
    y: Floats
    shape: Floats
    chance: Floats

    def log_peak(self, shift: Floats, angle: Floats, *, coil: bool = False) -> Floats:
        """Logarithm of the peak, V, for (n,) shifts (m) and turns (rad) of the sensor."""
        return _between(self.coil_peak if coil else self.peak, SHIFTS, self.angles, shift, angle)

    def slope(self, shift: Floats, angle: Floats) -> Floats:
        """Change of the logarithm of the peak with height, 1/m, for (n,) shifts and turns."""
        h = 0.002
        rise = self.log_peak(shift + h, angle) - self.log_peak(shift - h, angle)
        return np.asarray(rise / (2 * h))

    def caught(self, log_ratio: Floats, noise: Floats) -> Floats:
        """Chance of catching, for (n,) ln(peak / threshold) and noise / threshold."""
        z = (np.exp(np.minimum(log_ratio, 20.0)) - 1) / noise
        return _between(self.chance, _Z, np.log(_NOISES), z, np.log(noise))

    def crossing(self, log_ratio: Floats) -> Floats:
        """Where the output first reaches the threshold, m, for (n,) ln(peak / threshold)."""
        highest = np.maximum.accumulate(np.abs(self.shape))
        rising = np.concatenate([[True], np.diff(highest) > 0])
        level = np.minimum(np.exp(-log_ratio), highest[-1])
        return np.asarray(np.interp(level, highest[rising], self.y[rising]))


REFERENCE = Piece.ball(0.01)


def signal(machine: Machine, piece: Piece, x: float, height: float, speed: float) -> Signal:
    """One piece's pass, tabulated; a steel ball's signal goes with its volume (models page).

    Raises
    ------
    NotKnownError
        If the machine file lacks what a pass needs.
    """
    more = louder(piece)
    if more is None:
        return _tabulated(machine, piece, x, height, speed)
    one = _tabulated(machine, REFERENCE, x, height, speed)
    return replace(one, peak=one.peak + more, coil_peak=one.coil_peak + more)


def louder(piece: Piece) -> float | None:
    """ln(signal over the reference ball's); None where it is no ball of the same steel."""
    same = piece.kind == "ball" and piece.material == REFERENCE.material
    if not same or piece.remanent_moment.any():
        return None
    return float(np.log(piece.volume / REFERENCE.volume))


@lru_cache(maxsize=256)
def _tabulated(machine: Machine, piece: Piece, x: float, height: float, speed: float) -> Signal:
    (diameter,) = machine.need("a pass", "feed.roll_diameter")
    filter_ = Filter.of(machine)
    sensor = sensor_of(machine, "a pass")
    on = grid(step=STEP, behind=REACH + settling_time(filter_) * speed)
    # A sensor that stands higher is a piece that passes lower.
    heights = diameter.nominal / 2 + height - np.concatenate([SHIFTS, [0.0, 0.0]])
    places = np.full(len(heights), x)
    places[-2:] += -_ASIDE, _ASIDE
    shown = slice(int(np.searchsorted(on.y, -REACH)), int(np.searchsorted(on.y, 2 * REACH)))
    angles, tops, coils = angles_of(machine), [], []
    middle = len(angles) // 2
    trace = np.empty(0)
    for number, angle in enumerate(angles):
        fields = averaged_fields(sources(sensor), float(angle), piece, places, heights, on)
        flux = flux_linkages(piece, *fields, on, speed)
        dt = on.step / speed
        emf, _ = through_filter(flux[: len(SHIFTS)], dt, filter_)
        output = output_only(flux, dt, filter_)[:, shown]
        tops.append(np.log(np.maximum(peaks(output), 1e-12)))
        coils.append(np.log(np.maximum(peaks(emf), 1e-15)))
        if number == middle:
            trace = output[len(SHIFTS) // 2]
    one = np.abs(trace).max()
    shape = trace / (one if one > 0 else 1.0)
    aside = tops[middle][-2:]
    return Signal(
        peak=np.stack([each[:-2] for each in tops], axis=1),
        coil_peak=np.stack(coils, axis=1),
        angles=angles,
        across=float(abs(aside[1] - aside[0]) / (2 * _ASIDE)),
        y=on.y[shown],
        shape=shape,
        chance=_chances(shape, on.step / speed, filter_),
    )


def _chances(shape: Floats, dt: float, filter_: Filter) -> Floats:
    """(z, noises): the trace grown to each peak, in noise of rms 1."""
    rate = filter_.noise_crossing_rate() if filter_.high_cut is not None else None
    near = shape[near_pass(shape)]
    threshold = np.broadcast_to(1 / _NOISES, (len(_Z), len(_NOISES)))
    tops = np.maximum(threshold + _Z[:, None], 0.0)
    chances = crossing_chance(
        tops[..., None] * near,
        dt,
        threshold=threshold,
        noise=1.0,
        rate=rate,
        narrowness=filter_.narrowness,
    )
    return np.asarray(chances)


def _between(table: Floats, rows: Floats, columns: Floats, row: Floats, column: Floats) -> Floats:
    """A table looked up between its lines, straight; its edge where it ends."""
    i, u = _place(rows, row)
    if len(columns) == 1:
        return np.asarray((1 - u) * table[i, 0] + u * table[i + 1, 0])
    j, v = _place(columns, column)
    low = (1 - v) * table[i, j] + v * table[i, j + 1]
    high = (1 - v) * table[i + 1, j] + v * table[i + 1, j + 1]
    return np.asarray((1 - u) * low + u * high)


def _place(lines: Floats, at: Floats) -> tuple[NDArray[np.intp], Floats]:
    inside = np.clip(at, lines[0], lines[-1])
    i = np.clip(np.searchsorted(lines, inside, side="right") - 1, 0, len(lines) - 2)
    return i, (inside - lines[i]) / (lines[i + 1] - lines[i])
