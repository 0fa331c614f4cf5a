"""From a quiet run to the noise: floor, orders, share, false trips now and cured."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.results import Spread
from tripmargin.machine import Machine
from tripmargin.recordings.noise import telling
from tripmargin.recordings.noise.bursts import bursts
from tripmargin.recordings.noise.false_trips import rates
from tripmargin.recordings.noise.orders import Synchronous, one_turn, synchronous_of, trace_of
from tripmargin.recordings.noise.result import Event, Noise
from tripmargin.recordings.noise.signal import Signal, pickup_of, signal_of
from tripmargin.recordings.noise.spectrum import Spectrum, spectrum_of
from tripmargin.recordings.noise.turns import (
    Turning,
    turn_rates,
    turning_by_itself,
    turning_by_pulses,
)
from tripmargin.recordings.recording import Recording, RecordingError

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
_ROUNDS = 3
_FEWEST = 100.0  # independent samples
_TOP = 3.0  # times the high corner, up to which orders are told
_TAIL = 0.1  # s about a burst, without a low corner


def noise_of(
    recording: Recording,
    machine: Machine,
    *,
    channel: str | int | None = None,
    at: str | None = None,
    scale: float | None = None,
    roll_pickup: str | int | None = None,
    pulses_per_turn: float = 1.0,
    roll_speed: float | None = None,
) -> Noise:
    """The detector's noise from a run with the rolls turning and no metal.

    Parameters
    ----------
    recording : Recording
        Of the amplifier's output, or of the coil.
    machine : Machine
        Threshold, filter and roll.
    channel : str or int, optional
        Name, or number from 1, of the channel; guessed where there are several.
    at : "output" or "coil", optional
        Where it was recorded; guessed. What comes from the coil goes through the machine's filter.
    scale : float, V, optional
        Volts for one unit of the channel; needed where its unit is no voltage.
    roll_pickup : str or int, optional
        Channel with pulses of the roll; guessed by its name.
    pulses_per_turn : float
        Of the pickup for one turn of the roll.
    roll_speed : float, m/s, optional
        At the roll's surface; without a pickup the turning is looked for within 10 % of it, or
        within what the machine's cut lengths make possible.

    Returns
    -------
    Noise

    Raises
    ------
    RecordingError
        Where there is no voltage, no even sampling, or far too little of it.
    NotKnownError
        If the coil was recorded and the gain is not given, or a roll speed and no roll diameter.
    """
    if not pulses_per_turn > 0:
        raise RecordingError(
            f"pulses_per_turn = {pulses_per_turn:g}: no number of pulses.\n  Allowed: above 0."
        )
    if roll_speed is not None and not 0 < roll_speed < 100:
        raise RecordingError(
            f"roll_speed = {roll_speed:g}: no speed of a roll's surface.\n  Allowed: above 0 m/s."
        )
    pickup, pickup_guess = pickup_of(recording, roll_pickup)
    signal, pulses = signal_of(recording, machine, channel, pickup, at, scale)
    turning = _turning(recording, machine, signal, pulses, pickup, pulses_per_turn, roll_speed)
    signal = _where_angle_is_known(signal, turning)
    parts = _taken_apart(signal, machine, turning)
    threshold = machine.get("detector.threshold")
    made = _result(recording, machine, signal, parts, threshold and threshold.nominal)
    return replace(made, guesses=(*signal.guesses, *pickup_guess, *made.guesses))


@dataclass(frozen=True)
class _Parts:
    """A record taken apart."""

    good: Bools
    floor: Floats
    synchronous: Synchronous | None
    turning: Turning | None
    spectrum: Spectrum
    events: tuple[Event, ...]


def _turning(
    recording: Recording, machine: Machine, signal: Signal, pulses: Floats | None,
    pickup: int | None, per_turn: float, roll_speed: float | None,
) -> Turning | None:  # fmt: skip
    if pulses is not None and pickup is not None:
        name = recording.channels[pickup].name
        return turning_by_pulses(pulses, signal.rate, per_turn, name)
    between = turn_rates(machine, roll_speed)
    given = None if roll_speed is None else (between[0] + between[1]) / 2
    lost, _ = bursts(signal.values, signal.good, signal.rate, _TAIL)
    good = signal.good & ~lost
    top = _top(machine, signal)
    return turning_by_itself(signal.values, good, signal.rate, between, top, given)


def _where_angle_is_known(signal: Signal, turning: Turning | None) -> Signal:
    """Without what lies before the first pulse and behind the last, where that leaves most."""
    if turning is None:
        return signal
    known = signal.good & ~np.isnan(turning.turns)
    enough = np.count_nonzero(known) > 0.5 * np.count_nonzero(signal.good)
    return replace(signal, good=known) if enough else signal


def _top(machine: Machine, signal: Signal) -> float:
    """Hz up to which orders are looked at."""
    high = machine.get("detector.high_cut")
    return min(_TOP * high.nominal if high else np.inf, 0.4 * signal.rate)


def _taken_apart(signal: Signal, machine: Machine, turning: Turning | None) -> _Parts:
    """Bursts, what turns, and the floor; each helps to see the others, so in rounds."""
    low = machine.get("detector.low_cut")
    room = max(_TAIL, 1 / low.nominal) if low else _TAIL
    floor, good = signal.values, signal.good
    events: list[Event] = []
    synchronous: Synchronous | None = None
    for _ in range(_ROUNDS):
        lost, events = bursts(floor, signal.good, signal.rate, room)
        good = signal.good & ~lost
        if not good.any():
            raise RecordingError(
                f"Channel {signal.channel!r}: bursts throughout, no quiet stretch.\n"
                "  Allowed: a run without metal.\n  Record 60 s with the empty rolls turning."
            )
        if turning is not None:
            synchronous = synchronous_of(
                signal.values, good, turning.turns, turning.rate[0], signal.rate,
                _top(machine, signal),
            )  # fmt: skip
            floor = signal.values - _turned(synchronous, turning)
    floor = floor - floor[good].mean()
    resolution = (low.nominal if low else 4.0) / 4
    spectrum = spectrum_of(floor, good, signal.rate, max(resolution, 0.25))
    return _Parts(good, floor, synchronous, turning, spectrum, tuple(events))


def _turned(synchronous: Synchronous | None, turning: Turning) -> Floats:
    """What turns with the roll at each sample, 0 where the angle is not known."""
    made = np.zeros(len(turning.turns))
    if synchronous is None or not synchronous.sure.any():
        return made
    known = ~np.isnan(turning.turns)
    amplitudes = np.where(synchronous.sure, synchronous.mean, 0.0)
    made[known] = trace_of(amplitudes, turning.turns[known])
    return made


def _result(
    recording: Recording, machine: Machine, signal: Signal, parts: _Parts, threshold: float | None
) -> Noise:
    count = parts.spectrum.independent
    if count < _FEWEST:
        raise RecordingError(
            f"{recording.path.name}: {recording.duration:.3g} s have only {count:.0f} independent"
            " samples of noise.\n  Allowed: some seconds at least.\n  Record 60 s."
        )
    floor = _rms(float(np.sqrt(np.mean(parts.floor[parts.good] ** 2))), count)
    synchronous, turning = parts.synchronous, parts.turning
    turn = one_turn()
    trace = np.zeros(len(turn))
    if synchronous is not None:
        trace = trace_of(np.where(synchronous.sure, synchronous.mean, 0.0), turn)
    repeated, share, total = _shares(floor, count, synchronous)
    crossing_rate, pace_troubles = telling.crossing_rate_of(machine, parts.spectrum, signal.rate)
    now = cured = None
    if threshold is not None and crossing_rate is not None:
        per_second = turning.rate[0] if turning else 0.0
        now, cured = rates(
            threshold, float(floor), parts.spectrum, crossing_rate, synchronous, per_second
        )
    turn_rate = (
        Spread(turning.rate[0], low=turning.rate[1], high=turning.rate[2]) if turning else None
    )
    events = tuple(replace(each, at=each.at + signal.begins) for each in parts.events)
    troubles = [
        *signal.troubles,
        *telling.burst_troubles(events, threshold),
        *telling.short_troubles(floor, count, parts.spectrum.seconds, synchronous, turning),
        *telling.tail_troubles(parts.floor[parts.good], count),
        *pace_troubles,
        *telling.threshold_troubles(threshold),
    ]
    return Noise(
        machine.name, signal.channel, signal.at, parts.spectrum.seconds, total, floor, repeated,
        share, turn_rate, synchronous.turns if synchronous else 0,
        synchronous.orders() if synchronous else (), turn, trace, crossing_rate, threshold, now,
        cured, _crossings(signal, threshold), events,
        guesses=turning.guesses if turning else (), troubles=tuple(troubles),
    )  # fmt: skip


def _rms(value: float, count: float) -> Spread:
    """A root mean square with its 95 % interval: chi-square of the independent samples."""
    from scipy.stats import chi2

    low, high = (value * sqrt(count / chi2.ppf(p, count)) for p in (0.975, 0.025))
    return Spread(value, low=low, high=high, sd=value / sqrt(2 * count))


def _shares(
    floor: Spread, count: float, synchronous: Synchronous | None
) -> tuple[Spread, Spread | None, Spread]:
    """What turns, rms; its share of the power; and all, rms."""
    if synchronous is None:
        return Spread(0.0, low=0.0, high=0.0), None, floor
    random = np.random.default_rng(2)
    variances = float(floor) ** 2 * count / random.chisquare(count, 2000)
    noise = np.trace(synchronous.covariance, axis1=1, axis2=2)[synchronous.sure].sum() / 2
    power = synchronous.power
    drawn = (np.abs(synchronous.draws(2000, random)) ** 2).sum(axis=1) / 2
    drawn = np.maximum(drawn - 2 * noise, 0.0)  # the mean's own noise, and that of the draws
    hidden = synchronous.most_hidden
    low, high = np.quantile(drawn, [0.025, 0.975])
    repeated = Spread(sqrt(power), low=sqrt(low), high=sqrt(high + hidden))
    whole = drawn + variances
    shares = np.quantile(drawn / whole, [0.025, 0.975])
    value = power / (power + float(floor) ** 2)
    most = (high + hidden) / (high + hidden + float(floor) ** 2)
    share = Spread(value, low=float(shares[0]), high=float(max(shares[1], most)))
    ends = np.sqrt(np.quantile(whole, [0.025, 0.975]))
    total = Spread(sqrt(power + float(floor) ** 2), low=float(ends[0]), high=float(ends[1]))
    return repeated, share, total


def _crossings(signal: Signal, threshold: float | None) -> int:
    """Times the record passed the threshold, either sign."""
    if threshold is None:
        return 0
    over = np.abs(signal.values) >= threshold
    return int(np.count_nonzero(over[1:] & ~over[:-1]) + over[0])
