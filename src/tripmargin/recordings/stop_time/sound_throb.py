"""The machine's throb: how the background's level swings in time with the machine.

Engines, belts and blades make a noise that swells and fades with their turns. What it did one turn
later, when the rolls stood and nothing else was heard, tells what it did while they came to rest.
The turn is where the level is most like itself: the autocorrelation's highest peak, as pitch is
found (Rabiner, IEEE Trans. ASSP 25 (1977) 24); the likeness there is the share of a swing that
repeats, by linear regression of a level on the one a turn away.
"""

from __future__ import annotations

import numpy as np

from tripmargin.recordings.stop_time.sound_frames import Floats, smoothed

SHORTEST, LONGEST = 10, 160
"""Frames that a turn may last."""
CHANCE = 0.25
"""Likeness that the best of so many turns reaches by chance."""
SWING = 2.5
"""Logarithm by which the throb moves a level, at most."""
FAINTEST, NOTHING = 1e-3, 1e-9
"""Level, in the mean's, below which all is silence; variance that is none."""


def throb_of(level: Floats, quiet: slice) -> Floats:
    """Expected level of the background in each frame, in its mean's; 1 where nothing repeats.

    Parameters
    ----------
    level
        (t,) power of the lines used.
    quiet
        Frames in which the background sounds alone.
    """
    if len(level[quiet]) < 2 * LONGEST:
        return np.ones(len(level))
    logs = np.log(np.maximum(smoothed(level[quiet], np.ones(5) / 5), FAINTEST))
    logs = logs - logs.mean()
    turn, alike = _turn(logs)
    share = max(alike - CHANCE, 0.0) / (1 - CHANCE)
    at = np.arange(len(level)) - quiet.start
    turns = np.maximum(-(at // turn), 1)  # so many later, it lies in the quiet
    turns[at >= len(logs) - turn] = -1  # at its end, what was one turn before
    source = at + turns * turn
    known = source < len(logs)  # what comes after the quiet is not asked for
    made = np.zeros(len(level))
    made[known] = share ** np.abs(turns[known]) * logs[source[known]]
    return np.asarray(np.exp(np.clip(made, -SWING, SWING)))


def _turn(logs: Floats) -> tuple[int, float]:
    """Frames that a turn lasts, and how like itself the level is one turn later."""
    turns = np.arange(SHORTEST, LONGEST)
    alike = np.array([_likeness(logs[:-turn], logs[turn:]) for turn in turns])
    inner = alike[1:-1]
    peaks = 1 + np.flatnonzero((inner >= alike[:-2]) & (inner >= alike[2:]))
    if not len(peaks):
        return SHORTEST, 0.0
    best = int(peaks[np.argmax(alike[peaks])])
    return int(turns[best]), float(alike[best])


def _likeness(one: Floats, other: Floats) -> float:
    """Correlation; 0 where there is nothing to compare, as in silence."""
    one, other = one - one.mean(), other - other.mean()
    size = float(np.sqrt((one @ one) * (other @ other)))
    return float(one @ other) / size if size > NOTHING else 0.0
