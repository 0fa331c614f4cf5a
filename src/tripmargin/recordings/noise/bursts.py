"""Bursts in a run that should be quiet: metal that passed, or a disturbance."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tripmargin.recordings.noise.result import Event

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
_BY_CHANCE = 0.01  # of one sample so high in the whole run by Gaussian noise alone
_SD_PER_DEVIATION = 1.4826  # of a normal distribution, over its median absolute deviation


def sturdy_sd(values: Floats) -> float:
    """Standard deviation by the middle of the deviations: a few bursts do not move it."""
    return float(_SD_PER_DEVIATION * np.median(np.abs(values - np.median(values))))


def bursts(
    values: Floats, good: Bools, rate: float, room: float, whole: int = 0
) -> tuple[Bools, list[Event]]:
    """Samples that belong to bursts, and the bursts.

    Parameters
    ----------
    values : ndarray, (n,), V
        Without what turns with the roll.
    good : ndarray, (n,)
    rate : float, Hz
    room : float, s
        Before and behind a burst, in which its tails lie.
    whole : int
        Samples of the whole run, of which these are a part.
    """
    counted = values[good]
    sd = sturdy_sd(counted)
    if sd <= 0:
        return np.zeros(len(values), np.bool_), []
    # Twice over for the two signs; neighbours are alike, so that this bound leans to the safe side.
    level = sd * np.sqrt(2 * np.log(2 * max(len(counted), whole, 10) / _BY_CHANCE))
    high = np.flatnonzero((np.abs(values) > level) & good)
    lost = np.zeros(len(values), np.bool_)
    if not len(high):
        return lost, []
    wide = max(int(room * rate), 1)
    breaks = np.flatnonzero(np.diff(high) > 2 * wide)
    begins = high[np.concatenate([[0], breaks + 1])]
    ends = high[np.concatenate([breaks, [len(high) - 1]])]
    found = []
    for begin, end in zip(begins, ends, strict=True):
        some = slice(max(begin - wide, 0), end + wide + 1)
        lost[some] = True
        part = values[begin : end + 1]
        peak = float(part[np.argmax(np.abs(part))])
        found.append(Event(begin / rate, (end - begin) / rate, peak))
    return lost, found
