"""The detector's output as a quiet run has it: which channel, in volts, where recorded."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.ground.units import DIMENSIONS
from tripmargin.machine import Machine
from tripmargin.recordings.recording import Guess, Recording, RecordingError, Trouble
from tripmargin.sensing import Filter

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
PLACES = ("output", "coil")
_COIL = re.compile(r"coil|spule|winding|sensor", re.IGNORECASE)
_OUTPUT = re.compile(r"out|amp|ausgang|verst|detector|signal|trace", re.IGNORECASE)
_PICKUP = re.compile(
    r"roll|walze|puls|tach|rpm|drehz|speed|pickup|encoder|angle|winkel|turns", re.IGNORECASE
)
_SMALL = 0.02  # V rms: less than that is a coil's voltage, not an amplifier's


@dataclass(frozen=True)
class Signal:
    """A part of the evenly sampled output, V.

    Attributes
    ----------
    rate
        Hz.
    values, good
        (n,) V, and whether a sample counts: not missing, not while the filter settles.
    begin
        Number of its first sample in the stretch that is used.
    """

    rate: float
    values: Floats
    good: Bools
    begin: int = 0


@dataclass(frozen=True)
class Output:
    """Which channel is the detector's output, in volts, and where it was recorded."""

    place: int
    name: str
    factor: float
    at: str
    guesses: tuple[Guess, ...] = ()
    troubles: tuple[Trouble, ...] = ()

    def signal(self, begin: int, values: Floats, rate: float, machine: Machine) -> Signal | None:
        """A part as it stands at the output; None where no sample of it has a value."""
        good = np.isfinite(values)
        if not good.any():
            return None
        values = values * self.factor
        if not good.all():
            values = np.interp(np.arange(len(values)), np.flatnonzero(good), values[good])
        if self.at == "coil":
            values, settled = _through_filter(values, rate, machine)
            good &= settled
        return Signal(rate, values - values[good].mean(), good, begin)


def pickup_of(recording: Recording, asked: str | int | None) -> tuple[int | None, list[Guess]]:
    """Channel of the roll's pulses, or None; and how it was found."""
    if asked is not None:
        return recording.column(asked), []
    for k, channel in enumerate(recording.channels):
        if _PICKUP.search(channel.name) and len(recording.channels) > 1:
            because = say("its name says that it follows the roll")
            return k, [Guess("roll pickup", channel.name, because, "roll_pickup")]
    return None, []


def output_of(
    recording: Recording, channel: str | int | None, pickup: int | None, at: str | None,
    scale: float | None,
) -> Output:  # fmt: skip
    """The channel of the output.

    Raises
    ------
    RecordingError
        Where the channel cannot be told, or has no voltage.
    """
    if at not in (None, *PLACES):
        raise RecordingError(
            say('at = "{at}": not known.\n  Allowed: {places}.', at=at, places=", ".join(PLACES))
        )
    if scale is not None and not (np.isfinite(scale) and scale != 0):
        raise RecordingError(
            say("scale = {scale:g}: no volts for a unit.\n  Allowed: not 0, V.", scale=scale)
        )
    place, guesses = _channel(recording, channel, pickup)
    name = recording.channels[place].name
    factor, more = _factor(recording, place, scale)
    troubles = tuple(
        t for t in recording.troubles if t.what in ("clipped", "silent") and name in t.words
    )
    return Output(place, name, factor, at or "", (*guesses, *more), troubles)


def where_recorded(output: Output, values: Floats) -> Output:
    """With where it was recorded, by its first part, V, where it was not said."""
    if output.at:
        return output
    at, guess = _where(output.name, values[np.isfinite(values)] * output.factor)
    return replace(output, at=at, guesses=(*output.guesses, guess))


def _channel(
    recording: Recording, asked: str | int | None, pickup: int | None
) -> tuple[int, list[Guess]]:
    if asked is not None:
        return recording.column(asked), []
    free = [k for k in range(len(recording.channels)) if k != pickup]
    if not free:
        raise RecordingError(
            say(
                "{file}: the only channel is the roll's; one with the detector's output or"
                " the coil is needed.",
                file=recording.path.name,
            )
        )
    names = [recording.channels[k].name for k in free]
    for pattern, meant in (
        (_OUTPUT, say("its name means the detector's output")),
        (_COIL, say("its name means the coil")),
    ):
        for k, name in zip(free, names, strict=True):
            if pattern.search(name):
                return k, [Guess("channel", name, meant, "channel")]
    because = (
        say("it is the only one")
        if len(free) == 1
        else say("it is the first that is not the roll's")
    )
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
        values = {"file": recording.path.name, "channel": channel.name, "unit": channel.unit}
        if unit:
            seen = say('{file}: channel {channel!r} is in "{unit}".', **values)
        else:
            seen = say("{file}: channel {channel!r} is without a unit, as sound is.", **values)
        mend = say(
            "  Allowed: V, mV, uV, or a scale.\n  Say scale=, the volts that one unit (full scale"
            " of sound) stands for: record a known voltage once and divide."
        )
        raise RecordingError(f"{seen}\n{mend}")
    return 1.0, [Guess("unit", "V", say("the file does not say it, and loggers write V"), "scale")]


def _where(name: str, values: Floats) -> tuple[str, Guess]:
    """Whether a channel is the amplifier's output or the coil."""
    if _COIL.search(name) and not _OUTPUT.search(name):
        return "coil", Guess("recorded at", "coil", say("the channel's name says so"), "at")
    size = float(np.std(values)) if len(values) else 0.0
    if size < _SMALL and not _OUTPUT.search(name):
        because = say("{size:.2g} mV rms is a coil's voltage", size=size * 1e3)
        return "coil", Guess("recorded at", "coil", because, "at")
    because = (
        say("{size:.2g} V rms is an amplifier's", size=size)
        if size >= _SMALL
        else say("the name says so")
    )
    return "output", Guess("recorded at", "output", because, "at")


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
