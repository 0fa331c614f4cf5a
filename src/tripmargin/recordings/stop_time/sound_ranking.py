"""Which falls of the noise may be stops: those that fall far, with a sure knock before them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tripmargin.recordings.stop_time.sound_events import Overview, events_of
from tripmargin.recordings.stop_time.sound_frames import Floats
from tripmargin.recordings.stop_time.sound_onsets import knocks_of

AMONG = 0.35
"""A fall counts beside the likeliest from this share of its likeness on."""
WORTH = 0.15
"""Clearness, in the clearest's, from which a fall is looked at more closely."""
APART, TWO = 0.12, 0.7
"""s between two falls that are looked at, and between two stops."""
MOST_KNOCK = 10.0
"""Log odds of a knock, at most: beyond, it is sure in any case."""


@dataclass(frozen=True)
class Fall:
    """The noise breaks off: about when, s, and how much this is like a stop.

    `likeness` is the sum of the bands' squared falls, in squared nepers of power, up to six times
    as much where a sure knock goes before.
    """

    at: float
    likeness: float


def ranked(
    overview: Overview, rate: float, around: Callable[[float], tuple[Floats, float]]
) -> list[Fall]:
    """What may be stops, the likeliest first.

    Parameters
    ----------
    overview
        Of the whole recording.
    rate
        Hz.
    around
        Samples (n, channels) around an instant, s, and the time of the first.
    """
    found = events_of(overview, apart=APART)
    scored = []
    for at, clear in [each for each in found if each[1] >= WORTH * found[0][1]]:
        knock = _surest_knock(*around(at), rate, at)
        scored.append(Fall(at, clear * (1 + 0.5 * min(knock, MOST_KNOCK))))
    scored.sort(key=lambda each: (each.likeness, each.at), reverse=True)
    kept: list[Fall] = []
    for fall in scored:
        far = all(abs(fall.at - other.at) > TWO for other in kept)
        if far and fall.likeness >= AMONG * scored[0].likeness:
            kept.append(fall)
    return kept


def _surest_knock(samples: Floats, start: float, rate: float, at: float) -> float:
    """Log of 1 and the odds of the surest knock before a fall."""
    usual = (max(at - 0.8, start + 0.02), max(at - 0.3, start + 0.25))
    knocks = knocks_of(samples, rate, start, usual, at + 0.05)
    return float(np.log1p(max((k.odds for k in knocks if k.time > at - 0.25), default=0.0)))
