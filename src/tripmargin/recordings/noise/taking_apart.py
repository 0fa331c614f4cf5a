"""A part of a quiet run taken apart: bursts, what turns with the roll, the floor beneath."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tripmargin.machine import Machine
from tripmargin.recordings.noise.bursts import bursts
from tripmargin.recordings.noise.orders import Synchronous, synchronous_of, trace_of
from tripmargin.recordings.noise.result import Event
from tripmargin.recordings.noise.signal import Signal
from tripmargin.recordings.noise.spectrum import Spectrum, spectrum_of
from tripmargin.recordings.noise.turns import Turning, turning_by_itself

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
_ROUNDS = 3
_TOP = 3.0  # times the high corner, up to which orders are told
_TAIL = 0.1  # s about a burst, without a low corner


@dataclass(frozen=True)
class Floor:
    """What does not turn, over the samples that count: how many, sums of squares and fourths."""

    count: int
    squares: float
    fourths: float

    @property
    def power(self) -> float:
        """Mean square, V2."""
        return self.squares / self.count

    @property
    def excess(self) -> float:
        """Excess kurtosis: 0 where it is Gaussian."""
        return self.fourths / self.count / self.power**2 - 3 if self.power > 0 else 0.0

    def with_(self, other: Floor) -> Floor:
        """Both together."""
        return Floor(
            self.count + other.count, self.squares + other.squares, self.fourths + other.fourths
        )


@dataclass(frozen=True)
class Part:
    """One part of a run.

    Attributes
    ----------
    floor, synchronous, turning, spectrum
        `turning` without its angles, which nobody needs behind this.
    events
        Their times from the part's first sample, s.
    crossings
        Times that it passed the threshold.
    """

    floor: Floor
    synchronous: Synchronous | None
    turning: Turning | None
    spectrum: Spectrum
    events: tuple[Event, ...]
    crossings: int


def top_of(machine: Machine, rate: float) -> float:
    """Hz up to which orders are looked at."""
    high = machine.get("detector.high_cut")
    return min(_TOP * high.nominal if high else np.inf, 0.4 * rate)


def turning_of(
    signal: Signal, machine: Machine, between: tuple[float, float], given: float | None
) -> Turning | None:
    """The roll's turning as the part itself shows it, looked for between two rates.

    Where nothing stands out, `given` turns a second from the run's beginning on; None without them.
    """
    lost, _ = bursts(signal.values, signal.good, signal.rate, _TAIL)
    good = signal.good & ~lost
    top = top_of(machine, signal.rate)
    found = turning_by_itself(signal.values, good, signal.rate, between, top)
    if found is not None or given is None:
        return found
    turns = (signal.begin + np.arange(len(signal.values))) / signal.rate * given
    return Turning(turns, (given, given, given))


def taken_apart(
    signal: Signal, machine: Machine, turning: Turning | None, *, whole: int, shortest: int
) -> Part | None:
    """Bursts, what turns, and the floor; each helps to see the others, so in rounds.

    Parameters
    ----------
    whole, shortest
        Samples of the whole run, and of its shortest part.

    Returns
    -------
    Part or None
        None where there are bursts throughout.
    """
    low, threshold = machine.get("detector.low_cut"), machine.get("detector.threshold")
    signal = _where_angle_is_known(signal, turning)
    room = max(_TAIL, 1 / low.nominal) if low else _TAIL
    floor, good = signal.values, signal.good
    events: list[Event] = []
    synchronous: Synchronous | None = None
    for _ in range(_ROUNDS):
        lost, events = bursts(floor, signal.good, signal.rate, room, whole)
        good = signal.good & ~lost
        if not good.any():
            return None
        if turning is not None:
            synchronous = synchronous_of(
                signal.values, good, turning.turns, turning.rate[0], signal.rate,
                top_of(machine, signal.rate),
            )  # fmt: skip
            floor = signal.values - _turned(synchronous, turning)
    floor = floor - floor[good].mean()
    resolution = max((low.nominal if low else 4.0) / 4, 0.25)
    spectrum = spectrum_of(floor, good, signal.rate, resolution, shortest)
    squares = floor[good] ** 2
    return Part(
        Floor(len(squares), float(squares.sum()), float(np.sum(squares**2))),
        synchronous, turning and replace(turning, turns=np.empty(0)), spectrum, tuple(events),
        _crossings(signal.values, threshold and threshold.nominal),
    )  # fmt: skip


def _where_angle_is_known(signal: Signal, turning: Turning | None) -> Signal:
    """Without what lies before the first pulse and behind the last, where that leaves most."""
    if turning is None:
        return signal
    known = signal.good & ~np.isnan(turning.turns)
    enough = np.count_nonzero(known) > 0.5 * np.count_nonzero(signal.good)
    return replace(signal, good=known) if enough else signal


def _turned(synchronous: Synchronous | None, turning: Turning) -> Floats:
    """What turns with the roll at each sample, 0 where the angle is not known."""
    made = np.zeros(len(turning.turns))
    if synchronous is None or not synchronous.sure.any():
        return made
    known = ~np.isnan(turning.turns)
    amplitudes = np.where(synchronous.sure, synchronous.mean, 0.0)
    made[known] = trace_of(amplitudes, turning.turns[known])
    return made


def _crossings(values: Floats, threshold: float | None) -> int:
    """Times a part passed the threshold, either sign."""
    if threshold is None:
        return 0
    over = np.abs(values) >= threshold
    return int(np.count_nonzero(over[1:] & ~over[:-1]) + over[0])
