"""What a quiet run says: frozen, with its units in the names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.results import Spread, plain
from tripmargin.recordings.recording import Guess, Trouble

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Order:
    """One harmonic of the roll's turning.

    Attributes
    ----------
    number
        Times a turn.
    amplitude
        V at the detector's output, with its 95 % interval.
    phase
        rad, of the cosine at the turn's beginning, with its 95 % interval.
    sure
        Whether it stands out of the noise: chance of so much by noise alone under 1 % over all
        orders together.
    """

    number: int
    amplitude: Spread
    phase: Spread
    sure: bool

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "number": self.number,
            "amplitude_V": plain(self.amplitude),
            "phase_rad": plain(self.phase),
            "sure": self.sure,
        }


@dataclass(frozen=True, slots=True)
class Event:
    """A burst that no quiet run has: metal, or a disturbance.

    `at` s from the recording's beginning, `lasts` s, `peak` V.
    """

    at: float
    lasts: float
    peak: float

    def to_dict(self) -> dict[str, float]:
        """JSON-ready, SI."""
        return {"at_s": self.at, "lasts_s": self.lasts, "peak_V": self.peak}


@dataclass(frozen=True)
class Noise:
    """What a quiet run says of the detector's noise.

    All voltages are at the amplifier's output; each `Spread` has its 95 % interval.

    Attributes
    ----------
    machine, channel : str
    at : "output" or "coil"
        Where it was recorded; what comes from the coil went through the machine's filter here.
    duration : float, s
        Used, without the bursts.
    total, floor, synchronous : Spread, V
        rms of everything, of what does not turn with the roll, and of what does.
    share : Spread or None
        Of the power, what turns with the roll: a magnetised or bent roll. None without turns.
    turn_rate : Spread or None, 1/s
        Least and greatest are those during the run.
    turns : int
        Whole turns averaged.
    orders : tuple of Order
    angles, trace : ndarray, (n,), turns and V
        One turn of what turns with the roll, from the orders that are sure.
    crossing_rate : float or None, 1/s
        Up-crossings of zero a second of the floor (Rice's nu0).
    threshold : float or None, V
    false_trips_per_hour, cured_per_hour : Spread or None, 1/h
        Now, and with a roll that is neither magnetised nor bent. None where they are not known;
        a trouble says why.
    crossings_seen : int
        Times the record itself passed the threshold, bursts included.
    events : tuple of Event
    guesses, troubles
        As of a recording.
    """

    machine: str
    channel: str
    at: str
    duration: float
    total: Spread
    floor: Spread
    synchronous: Spread
    share: Spread | None
    turn_rate: Spread | None
    turns: int
    orders: tuple[Order, ...]
    angles: Floats
    trace: Floats
    crossing_rate: float | None
    threshold: float | None
    false_trips_per_hour: Spread | None
    cured_per_hour: Spread | None
    crossings_seen: int
    events: tuple[Event, ...] = ()
    guesses: tuple[Guess, ...] = ()
    troubles: tuple[Trouble, ...] = ()

    @property
    def fields(self) -> dict[str, str]:
        """What a machine file can take over, in its own words: noise and ripple."""
        made = {"detector.noise": _volts(self.floor)}
        if self.share is not None:
            peak = float(np.abs(self.trace).max(initial=0.0))
            made["detector.ripple"] = f"{peak:.3g} V"
        return made

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI, units in the keys."""
        return {
            "machine": self.machine,
            "channel": self.channel,
            "at": self.at,
            "duration_s": self.duration,
            "total_V": plain(self.total),
            "floor_V": plain(self.floor),
            "synchronous_V": plain(self.synchronous),
            "share": plain(self.share),
            "turn_rate_per_s": plain(self.turn_rate),
            "turns": self.turns,
            "orders": plain(self.orders),
            "angles_turns": plain(self.angles),
            "trace_V": plain(self.trace),
            "crossing_rate_per_s": plain(self.crossing_rate),
            "threshold_V": self.threshold,
            "false_trips_per_h": plain(self.false_trips_per_hour),
            "cured_per_h": plain(self.cured_per_hour),
            "crossings_seen": self.crossings_seen,
            "events": plain(self.events),
            "fields": self.fields,
            "guesses": [_guess(each) for each in self.guesses],
            "troubles": [_trouble(each) for each in self.troubles],
        }


def _volts(value: Spread) -> str:
    half = (value.high - value.low) / 2
    return f"{float(value):.3g} V +- {half:.2g} V"


def _guess(guess: Guess) -> dict[str, str]:
    return {
        "what": guess.what,
        "value": guess.value,
        "because": guess.because,
        "override": guess.override,
    }


def _trouble(trouble: Trouble) -> dict[str, Any]:
    return {"what": trouble.what, "words": trouble.words, "at_s": trouble.at}
