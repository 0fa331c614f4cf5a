"""The roll's angle over time, from what repeats in the record itself."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.machine import Machine
from tripmargin.recordings.recording import Guess
from tripmargin.stopping import feed_speed

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
_SLOWEST, _FASTEST = 0.5, 20.0  # turns a second, where the machine's file says nothing
_AROUND = 0.10  # of a roll speed given, within which the record's own is looked for
_SEARCHED, _FOLLOWED = 20, 12  # turns in a window: of a middling rate, and of the one found
_WIDER = 1.6  # than the rates that may be, to tell what stands out from what does not
_SURE = 6.0  # standard deviations by which turning must stand out of the noise
_AS_GOOD = 0.85  # of the best, from which a rate is one of several equals
_ORDERS = 16  # looked at together
_ROUNDS = 4


@dataclass(frozen=True)
class Turning:
    """The angle of each sample.

    Attributes
    ----------
    turns
        (n,) turns since some beginning, rising; not a number where it is not known.
    rate
        Turns a second: mean, least and greatest.
    guesses
        How it was found.
    """

    turns: Floats
    rate: tuple[float, float, float]
    guesses: tuple[Guess, ...] = ()


def turn_rates(machine: Machine, roll_speed: float | None) -> tuple[float, float]:
    """Turns a second between which the roll's rate lies, by the machine or by a speed given.

    Parameters
    ----------
    roll_speed
        m/s at the roll's surface.

    Raises
    ------
    NotKnownError
        If a speed is given, and the roll's diameter is not.
    """
    if roll_speed is not None:
        (diameter,) = machine.need(say("turns of the roll"), "feed.roll_diameter")
        middle = roll_speed / (pi * diameter.nominal)
        return middle * (1 - _AROUND), middle * (1 + _AROUND)
    diameter, cuts = machine.get("feed.roll_diameter"), machine.get("feed.cut_lengths")
    if diameter is None or not cuts or machine.get("feed.cutterhead_speed") is None:
        return _SLOWEST, _FASTEST
    around = [feed_speed(machine, cut) / (pi * diameter.nominal) for cut in (min(cuts), max(cuts))]
    return 0.7 * around[0], 1.3 * around[1]


def turning_by_itself(
    values: Floats, good: Bools, rate: float, between: tuple[float, float], top: float
) -> Turning | None:
    """The angle from what repeats in the record; None where nothing stands out.

    Parameters
    ----------
    between
        Turns a second that are looked at.
    top
        Hz up to which orders are looked at.

    Notes
    -----
    The sum of the whitened power at a rate and its multiples, over windows of some turns, finds the
    rate; the strongest repeat is then followed window by window, so that a rate that wanders does
    not smear it.
    """
    first = _strongest(values, good, rate, between, top)
    because = say("what repeats in the record stands out at that rate")
    if first is None:
        return None
    turns = _followed(values, good, rate, first, top)
    slope = np.gradient(turns) * rate
    mean = float((turns[-1] - turns[0]) / ((len(turns) - 1) / rate))
    low, high = np.quantile(slope, [0.005, 0.995])
    guess = Guess(
        "turns of the roll", say("{rate:.4g} a second", rate=mean), because, "roll_pickup"
    )
    return Turning(turns, (mean, float(low), float(high)), (guess,))


def _strongest(
    values: Floats, good: Bools, rate: float, between: tuple[float, float], top: float
) -> float | None:
    """The rate whose multiples stand out most, turns a second."""
    low, high = between
    wanted = 2 ** np.ceil(np.log2(_SEARCHED / np.sqrt(low * high) * rate))
    size = int(min(wanted, max(len(values) // 4, 64)))
    windows = _windows(values, good, size)
    if len(windows) < 2:
        return None
    padded = 4 * size
    power = np.mean(
        [np.abs(np.fft.rfft(part * np.hanning(size), padded)) ** 2 for part in windows], axis=0
    )
    step = rate / padded
    power = power[: int(top / step) + 1]
    # Logarithms: an order that stands out ten times as high does not count ten times as much.
    seen = np.log1p(power / _continuum(power, max(int(3 * low / step), 8)))
    rates = np.arange(low / _WIDER, high * _WIDER, step / 4)
    sums = np.zeros(len(rates))
    for k, turn_rate in enumerate(rates):
        count = int(max(1, min(_ORDERS, top / turn_rate)))
        lines = np.round(np.arange(1, count + 1) * turn_rate / step).astype(int)
        sums[k] = seen[lines[lines < len(seen)]].sum() / np.sqrt(count)
    middle = np.median(sums)
    sd = 1.4826 * np.median(np.abs(sums - middle))
    inside = (rates >= low) & (rates <= high)
    if not inside.any():
        return None
    best = sums[inside].max()
    if not best > middle + _SURE * sd:
        return None
    # Half the rate has the same lines and more between them: the fastest of equals is the roll.
    good = inside & (sums - middle >= _AS_GOOD * (best - middle))
    return _peak(rates, sums, good)


def _peak(rates: Floats, sums: Floats, good: Bools) -> float:
    """The best of the highest group of rates that are good."""
    places = np.flatnonzero(good)
    gaps = np.flatnonzero(np.diff(places) > 4)
    last = places[gaps[-1] + 1 :] if len(gaps) else places
    return float(rates[last[np.argmax(sums[last])]])


def _windows(values: Floats, good: Bools, size: int) -> list[Floats]:
    lost = np.concatenate([[0], np.cumsum(~good)])
    return [
        values[begin : begin + size]
        for begin in range(0, len(values) - size + 1, max(size // 2, 1))
        if lost[begin + size] - lost[begin] < 0.02 * size
    ]


def _continuum(power: Floats, width: int) -> Floats:
    """The power between the lines: medians of stretches, joined up."""
    count = max(len(power) // width, 1)
    parts = np.array_split(power, count)
    # The median of an exponential distribution is ln 2 of its mean; of averages it is nearer.
    heights = np.array([np.median(part) for part in parts])
    ends = np.cumsum([len(part) for part in parts])
    middles = ends - np.array([len(part) for part in parts]) / 2
    return np.asarray(np.maximum(np.interp(np.arange(len(power)), middles, heights), 1e-300))


def _followed(values: Floats, good: Bools, rate: float, first: float, top: float) -> Floats:
    """Turns of each sample: the repeat's place in each window against the mean of all."""
    from scipy.interpolate import PchipInterpolator

    at = np.arange(len(values))
    turns = at / rate * first
    count = int(max(1, min(_ORDERS, top / first)))
    size = int(_FOLLOWED / first * rate)
    begins = np.arange(0, max(len(values) - size, 1), size // 2)
    middles = begins + size / 2
    for _ in range(_ROUNDS):
        lines = np.array([_lines(values, good, turns, int(b), size, count) for b in begins])
        shifts = _shifts(lines)
        if len(begins) > 3:
            bend = PchipInterpolator(middles, shifts, extrapolate=True)
            inner = np.clip(at, middles[0], middles[-1])
            slopes = (
                (shifts[1] - shifts[0]) / (middles[1] - middles[0]),
                (shifts[-1] - shifts[-2]) / (middles[-1] - middles[-2]),
            )
            outside = np.where(at < middles[0], slopes[0], slopes[1]) * (at - inner)
            turns = turns + bend(inner) + outside
        else:
            turns = turns + np.interp(at, middles, shifts)
        if np.ptp(shifts) < 0.002:
            break
    return turns


def _lines(
    values: Floats, good: Bools, turns: Floats, begin: int, size: int, count: int
) -> NDArray[np.complex128]:
    """Complex amplitudes of the orders in one window."""
    some = slice(begin, begin + size)
    part = np.where(good[some], values[some], 0.0) * np.hanning(len(values[some]))
    wave = np.exp(-2j * pi * turns[some])
    made, turned = np.empty(count, complex), np.ones(len(part), complex)
    for k in range(count):
        turned = turned * wave
        made[k] = (part * turned).sum()
    return made


def _shifts(lines: NDArray[np.complex128]) -> Floats:
    """Turns by which each window's repeat lies ahead, unwrapped from window to window.

    Each window is laid against the one before, then against the mean of all, by the shift at which
    the orders agree best.
    """
    orders = np.arange(1, lines.shape[1] + 1)
    shifts = np.zeros(len(lines))

    def laid(k: int, shift: float) -> NDArray[np.complex128]:
        return np.asarray(lines[k] * np.exp(-2j * pi * shift * orders))

    mean = lines[0].copy()
    for k in range(1, len(lines)):
        shifts[k] = shifts[k - 1] + ahead(laid(k, shifts[k - 1]), mean)
        mean = 0.8 * mean + laid(k, shifts[k])
    mean = np.mean([laid(k, shift) for k, shift in enumerate(shifts)], axis=0)
    return np.array([shift + ahead(laid(k, shift), mean) for k, shift in enumerate(shifts)])


def ahead(amplitudes: NDArray[np.complex128], mean: NDArray[np.complex128]) -> float:
    """Turns, -1/2 to 1/2, by which a repeat lies ahead of another: where their orders agree best.

    Both (K,) complex amplitudes of the orders from 1.
    """
    tried = np.linspace(-0.5, 0.5, 513)[:-1]
    waves = np.exp(-2j * pi * np.outer(tried, np.arange(1, len(mean) + 1)))
    return _top(tried, (waves * (amplitudes * mean.conj())).sum(axis=1).real)


def _top(places: Floats, heights: Floats) -> float:
    """Where heights are greatest, between the places by a parabola."""
    k = int(np.argmax(heights))
    a, b, c = heights[k - 1], heights[k], heights[(k + 1) % len(heights)]
    bend = a - 2 * b + c
    part = 0.5 * (a - c) / bend if bend else 0.0
    return float(places[k] + part * (places[1] - places[0]))
