"""What a machine's file alone says of what a calibration learns."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from tripmargin.ground.errors import NotKnownError
from tripmargin.ground.results import Spread
from tripmargin.machine import Machine
from tripmargin.recordings.calibrating.seeing import UNKNOWN_HEIGHT
from tripmargin.recordings.calibrating.seen import Seen, learned_from, spread_of
from tripmargin.recordings.calibrating.stops import StopDoubt


@dataclass(frozen=True, slots=True)
class Before:
    """What was believed before anything was measured, each with 95 %; None where it is not known.

    Attributes
    ----------
    signal : Spread or None
        Signal over threshold, over what the file says.
    smallest_seen : Spread or None, m
    stop_time : Spread or None, s
        At the cut asked for, each tooth waited for half its pitch.
    """

    signal: Spread | None
    smallest_seen: Spread | None
    stop_time: Spread | None


def before(
    machine: Machine, cut_length: float | None, *, height_doubt: float = UNKNOWN_HEIGHT
) -> Before:
    """What the file says, in the terms of a `Calibration`: to be set beside one.

    Parameters
    ----------
    machine : Machine
        As it is filed.
    cut_length : float or None, m
        Of the stop time; None: none is asked for.
    height_doubt : float, m
        As for `calibrate`.
    """
    signal = smallest = stop = None
    with suppress(NotKnownError):  # the file may not say enough of the sensor
        seen = Seen.of(machine, (), height_doubt)
        signal, smallest = seen.signal_spread(), seen.smallest()
    if cut_length is not None:
        with suppress(NotKnownError):  # nor of the stop
            stop = _stop(machine, cut_length)
    return Before(signal, smallest, stop)


def _stop(machine: Machine, cut_length: float) -> Spread | None:
    doubt = StopDoubt.of(machine)
    if not doubt.dimensions:
        return None
    drawn = learned_from(doubt.dimensions, lambda z: np.zeros(len(z)))
    return spread_of(drawn, doubt.terms(doubt.values(drawn.points), cut_length).middle())
