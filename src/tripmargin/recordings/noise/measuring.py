"""From a quiet run to the noise: floor, orders, share, false trips now and cured."""

from __future__ import annotations

from dataclasses import replace
from math import isfinite, sqrt

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.ground.results import Spread
from tripmargin.machine import Machine
from tripmargin.recordings.noise import telling
from tripmargin.recordings.noise.false_trips import rates
from tripmargin.recordings.noise.orders import Synchronous, one_turn, trace_of
from tripmargin.recordings.noise.pickup import Marks, marks_of
from tripmargin.recordings.noise.result import Noise
from tripmargin.recordings.noise.run import Stretch, stretch_of
from tripmargin.recordings.noise.signal import Output, output_of, pickup_of, where_recorded
from tripmargin.recordings.noise.taking_apart import Part, taken_apart, turning_of
from tripmargin.recordings.noise.together import Whole, put_together
from tripmargin.recordings.noise.turns import turn_rates
from tripmargin.recordings.recording import Recording, RecordingError

Floats = NDArray[np.float64]
_FEWEST = 100.0  # independent samples


def noise_of(
    recording: Recording,
    machine: Machine,
    *,
    channel: str | int | None = None,
    at: str | None = None,
    scale: float | None = None,
    roll_pickup: str | int | None = None,
    pickup_is: str | None = None,
    pulses_per_turn: float = 1.0,
    roll_speed: float | None = None,
) -> Noise:
    """The detector's noise from a run with the rolls turning and no metal.

    All of the run counts, however long it is: it is gone through in parts of some minutes.

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
        Channel that follows the roll; guessed by its name.
    pickup_is : "pulses" or "angle", optional
        Pulses, or an angle or count that begins anew or only grows; guessed by its look.
    pulses_per_turn : float
        Of the pickup for one turn of the roll; of a count without a unit of angle the same.
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
    if not pulses_per_turn > 0 or not isfinite(pulses_per_turn):
        raise RecordingError(
            say(
                "pulses_per_turn = {pulses_per_turn:g}: no number of pulses.\n  Allowed: above 0.",
                pulses_per_turn=pulses_per_turn,
            )
        )
    if roll_speed is not None and not 0 < roll_speed < 100:
        raise RecordingError(
            say(
                "roll_speed = {roll_speed:g}: no speed of a roll's surface.\n  Allowed: above"
                " 0 m/s.",
                roll_speed=roll_speed,
            )
        )
    pickup, pickup_guess = pickup_of(recording, roll_pickup)
    output = output_of(recording, channel, pickup, at, scale)
    stretch = stretch_of(recording)
    marks = None
    if pickup is not None:
        turned = ((begin, values[:, 0]) for begin, values in stretch.parts(recording, (pickup,)))
        marks = marks_of(
            turned, stretch.rate, recording.channels[pickup], pulses_per_turn, pickup_is
        )
        pickup_guess = [*pickup_guess, *marks.guesses]
    search = None if marks else turn_rates(machine, roll_speed)
    given = None if roll_speed is None or search is None else (search[0] + search[1]) / 2
    output, parts = _parts(recording, machine, stretch, output, marks, search, given)
    whole = put_together(parts, counted=marks is not None)
    made = _result(recording, machine, stretch, output, whole)
    return replace(made, guesses=(*output.guesses, *pickup_guess, *made.guesses))


def _parts(
    recording: Recording, machine: Machine, stretch: Stretch, output: Output, marks: Marks | None,
    search: tuple[float, float] | None, given: float | None,
) -> tuple[Output, list[Part]]:  # fmt: skip
    """Every part taken apart, one after the other; and where it was all recorded."""
    made: list[Part] = []
    shortest = int(np.diff(stretch.ends).min())
    for begin, values in stretch.parts(recording, (output.place,)):
        output = where_recorded(output, values[:, 0])
        signal = output.signal(begin, values[:, 0], stretch.rate, machine)
        if signal is None or not signal.good.any():
            continue
        if marks is not None:
            turning = marks.between(begin, begin + len(values))
        else:
            assert search is not None
            turning = turning_of(signal, machine, search, given)
        part = taken_apart(
            signal, machine, turning, whole=stretch.end - stretch.begin, shortest=shortest
        )
        if part is not None:
            at = stretch.begins + begin / stretch.rate
            events = tuple(replace(each, at=each.at + at) for each in part.events)
            made.append(replace(part, events=events))
    if made:
        return output, made
    if output.at:
        raise RecordingError(
            say(
                "Channel {name!r}: bursts throughout, no quiet stretch.\n  Allowed: a run"
                " without metal.\n  Record 60 s with the empty rolls turning.",
                name=output.name,
            )
        )
    raise RecordingError(
        say(
            "{file}: channel {channel!r} has no value at all.",
            file=recording.path.name,
            channel=output.name,
        )
    )


def _result(
    recording: Recording, machine: Machine, stretch: Stretch, output: Output, whole: Whole
) -> Noise:
    given = machine.get("detector.threshold")
    threshold = given and given.nominal
    spectrum, synchronous, rate = whole.spectrum, whole.synchronous, whole.rate
    count = spectrum.independent
    if count < _FEWEST:
        raise RecordingError(
            say(
                "{file}: {duration:.3g} s have only {count:.0f} independent samples of"
                " noise.\n  Allowed: some seconds at least.\n  Record 60 s.",
                file=recording.path.name,
                duration=recording.duration,
                count=count,
            )
        )
    floor = _rms(whole.floor, count)
    turn = one_turn()
    trace = np.zeros(len(turn))
    if synchronous is not None:
        trace = trace_of(np.where(synchronous.sure, synchronous.mean, 0.0), turn)
    repeated, share, total = _shares(floor, count, synchronous)
    crossing_rate, pace_troubles = telling.crossing_rate_of(machine, spectrum, stretch.rate)
    now = cured = None
    if threshold is not None and crossing_rate is not None:
        now, cured = rates(
            threshold, float(floor), spectrum, crossing_rate, synchronous, rate[0] if rate else 0.0
        )
    seconds = (stretch.end - stretch.begin) / stretch.rate
    parts = len(stretch.ends) - 1
    troubles = [
        *stretch.troubles,
        *output.troubles,
        *telling.used_troubles(seconds, parts, whole.used, rate is not None, whole.laid),
        *telling.burst_troubles(whole.events, threshold),
        *telling.short_troubles(floor, count, spectrum.seconds, synchronous, rate),
        *telling.tail_troubles(whole.excess, count),
        *pace_troubles,
        *telling.threshold_troubles(threshold),
    ]
    return Noise(
        machine.name, output.name, output.at, spectrum.seconds, total, floor, repeated, share,
        Spread(rate[0], low=rate[1], high=rate[2]) if rate else None,
        synchronous.turns if synchronous else 0, synchronous.orders() if synchronous else (),
        turn, trace, crossing_rate, threshold, now, cured, whole.crossings, whole.events,
        guesses=whole.guesses, troubles=tuple(troubles),
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
