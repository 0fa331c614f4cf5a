"""The detector's output as a quiet run has it: which channel, in volts, evenly sampled."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.units import DIMENSIONS
from tripmargin.machine import Machine
from tripmargin.recordings.recording import Guess, Recording, RecordingError, Trouble
from tripmargin.sensing import Filter

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
MOST = 1 << 22  # samples used: minutes at a logger's rate
_COIL = re.compile(r"coil|spule|winding|sensor", re.IGNORECASE)
_OUTPUT = re.compile(r"out|amp|ausgang|verst|detector|signal|trace", re.IGNORECASE)
_PICKUP = re.compile(r"roll|walze|puls|tach|rpm|drehz|speed|pickup|encoder", re.IGNORECASE)
_EVEN = 0.05  # of a step
_SMALL = 0.02  # V rms: less than that is a coil's voltage, not an amplifier's


@dataclass(frozen=True)
class Signal:
    """Evenly sampled output, V.

    Attributes
    ----------
    rate
        Hz.
    values, good
        (n,) V, and whether a sample counts: not missing, not while the filter settles.
    begins
        Time of the first sample in the recording, s.
    """

    channel: str
    at: str
    rate: float
    values: Floats
    good: Bools
    begins: float
    guesses: tuple[Guess, ...] = ()
    troubles: tuple[Trouble, ...] = ()


def pickup_of(recording: Recording, asked: str | int | None) -> tuple[int | None, list[Guess]]:
    """Channel of the roll's pulses, or None; and how it was found."""
    if asked is not None:
        return recording.column(asked), []
    for k, channel in enumerate(recording.channels):
        if _PICKUP.search(channel.name) and len(recording.channels) > 1:
            because = "its name says that it follows the roll"
            return k, [Guess("roll pickup", channel.name, because, "roll_pickup")]
    return None, []


def signal_of(
    recording: Recording, machine: Machine, channel: str | int | None, pickup: int | None,
    at: str | None, scale: float | None,
) -> tuple[Signal, Floats | None]:  # fmt: skip
    """The output, V, and the pickup's samples beside it.

    Raises
    ------
    RecordingError
        Where the channel cannot be told, has no voltage, or is sampled unevenly.
    """
    place, guesses = _channel(recording, channel, pickup)
    name = recording.channels[place].name
    factor, more = _factor(recording, place, scale)
    wanted = (place + 1,) if pickup is None else (place + 1, pickup + 1)
    stop = _enough(recording)
    block = recording.read(wanted, stop=stop)
    begin, end, rate, troubles = _even(recording, block.times)
    values = block.values[begin:end, 0] * factor
    pulses = block.values[begin:end, 1] if pickup is not None else None
    begins = float(block.times[begin])
    if np.isfinite(stop):
        words = f"The first {stop:.4g} s were used; the recording is {recording.duration:.4g} s."
        troubles.append(Trouble("long", words))
    good = ~np.isnan(values)
    if not good.any():
        raise RecordingError(f"{recording.path.name}: channel {name!r} has no value at all.")
    if not good.all():
        values = np.interp(np.arange(len(values)), np.flatnonzero(good), values[good])
    troubles += [
        t for t in recording.troubles if t.what in ("clipped", "silent") and name in t.words
    ]
    where, where_guess = _where(name, values, at)
    if where == "coil":
        values, settled = _through_filter(values, rate, machine)
        good &= settled
    values = values - values[good].mean()
    made = Signal(
        name, where, rate, values, good, begins,
        (*guesses, *more, *where_guess), tuple(troubles),
    )  # fmt: skip
    return made, pulses


def _channel(
    recording: Recording, asked: str | int | None, pickup: int | None
) -> tuple[int, list[Guess]]:
    if asked is not None:
        return recording.column(asked), []
    free = [k for k in range(len(recording.channels)) if k != pickup]
    if not free:
        raise RecordingError(
            f"{recording.path.name}: the only channel is the roll's; one with the detector's output"
            " or the coil is needed."
        )
    names = [recording.channels[k].name for k in free]
    for pattern, meant in ((_OUTPUT, "the detector's output"), (_COIL, "the coil")):
        for k, name in zip(free, names, strict=True):
            if pattern.search(name):
                return k, [Guess("channel", name, f"its name means {meant}", "channel")]
    because = "it is the only one" if len(free) == 1 else "it is the first that is not the roll's"
    return free[0], [Guess("channel", names[0], because, "channel")]


def _factor(recording: Recording, place: int, scale: float | None) -> tuple[float, list[Guess]]:
    """Volts for one of the channel's units.

    Raises
    ------
    RecordingError
        Where the unit is no voltage and no scale was given.
    """
    if scale is not None:
        return scale, []
    channel = recording.channels[place]
    unit = channel.unit.replace("µ", "u").replace("μ", "u")
    units = DIMENSIONS["voltage"].units
    if unit in units:
        return units[unit].factor, []
    if unit or recording.kind not in ("CSV", "Parquet", "arrays", "MDF4", "MDF3"):
        seen = f'in "{channel.unit}"' if unit else "without a unit, as sound is"
        raise RecordingError(
            f"{recording.path.name}: channel {channel.name!r} is {seen}.\n  Allowed: V, mV, uV, or"
            " a scale.\n  Say scale=, the volts that one unit (full scale of sound) stands for:"
            " record a known voltage once and divide."
        )
    return 1.0, [Guess("unit", "V", "the file does not say it, and loggers write V", "scale")]


def _enough(recording: Recording) -> float:
    """Until when it is read, s: all, or as many samples as are used."""
    if recording.samples <= MOST:
        return np.inf
    return recording.duration * MOST / recording.samples


def _even(recording: Recording, times: Floats) -> tuple[int, int, float, list[Trouble]]:
    """The longest stretch without a gap: its ends, its rate, and what is left out.

    Raises
    ------
    RecordingError
        Where the times jitter too much for an order to be followed.
    """
    if len(times) < 16:
        raise RecordingError(
            f"{recording.path.name}: {len(times)} samples.\n  Allowed: a run of some seconds.\n"
            "  Record 60 s with the empty rolls turning."
        )
    if recording.rate is not None:
        return 0, len(times), recording.rate, []
    steps = np.diff(times)
    step = float(np.median(steps))
    breaks = np.flatnonzero(steps > 1.5 * step)
    begins = np.concatenate([[0], breaks + 1])
    ends = np.concatenate([breaks + 1, [len(times)]])
    k = int(np.argmax(ends - begins))
    begin, end = int(begins[k]), int(ends[k])
    inner = np.diff(times[begin:end])
    if len(inner) < 15 or float(np.quantile(np.abs(inner / inner.mean() - 1), 0.99)) > _EVEN:
        raise RecordingError(
            f"{recording.path.name}: the samples are not evenly spaced: {inner.min():.3g} s to"
            f" {inner.max():.3g} s.\n  Allowed: steps that differ by less than 5 %.\n"
            "  If the logger sampled evenly and only its stamps are off, read it again with rate=."
        )
    troubles = []
    if len(breaks):
        words = (
            f"There are {len(breaks)} gaps; the longest stretch without one was used, from"
            f" {times[begin]:.4g} s to {times[end - 1]:.4g} s."
        )
        troubles.append(Trouble("gap", words, float(times[begin])))
    return begin, end, float(1 / inner.mean()), troubles


def _where(name: str, values: Floats, asked: str | None) -> tuple[str, list[Guess]]:
    """Whether a channel is the amplifier's output or the coil."""
    if asked is not None:
        if asked not in ("output", "coil"):
            raise RecordingError(f'at = "{asked}": not known.\n  Allowed: output, coil.')
        return asked, []
    if _COIL.search(name) and not _OUTPUT.search(name):
        return "coil", [Guess("recorded at", "coil", "the channel's name says so", "at")]
    size = float(np.std(values))
    if size < _SMALL and not _OUTPUT.search(name):
        because = f"{size * 1e3:.2g} mV rms is a coil's voltage"
        return "coil", [Guess("recorded at", "coil", because, "at")]
    because = f"{size:.2g} V rms is an amplifier's" if size >= _SMALL else "the name says so"
    return "output", [Guess("recorded at", "output", because, "at")]


def _through_filter(values: Floats, rate: float, machine: Machine) -> tuple[Floats, Bools]:
    """What the detector's filter and gain make of the coil's voltage, and where it has settled."""
    filter_ = Filter.of(machine)
    low = filter_.low_cut or 1.0
    settle = min(int(np.ceil(3 * rate / (2 * np.pi * low) * np.log(10))), len(values) // 4)
    size = len(values) + settle
    spectrum = np.fft.rfft(values - values.mean(), size)
    made = np.fft.irfft(spectrum * filter_.response(np.fft.rfftfreq(size, 1 / rate)), size)
    settled = np.ones(len(values), np.bool_)
    settled[:settle] = False
    return made[: len(values)], settled
