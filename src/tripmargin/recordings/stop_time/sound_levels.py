"""How likely each share of the running roll's noise is in each frame, from all clean lines.

Around a stop a line's power, in the background's, is exponential with mean ``b + s g h``: s of the
running roll, h the share of it that is left (1 while it runs, 0 at rest). g and b are what roll
and background do by themselves, beating and throbbing: what repeats of b is foretold; of the rest,
how much, and for how long at a time, is read off the stretches before and after, and averaged over
in every frame. Lines in which the clack's ring drowns the roll are left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tripmargin.recordings.stop_time.sound_frames import (
    WINDOW,
    Floats,
    Frames,
    Integers,
    smoothed,
    steady_mean,
)
from tripmargin.recordings.stop_time.sound_throb import throb_of

SHARES = np.concatenate([[0.0], np.geomspace(0.002, 12, 30)])
"""Shares of the running roll's power that are told apart."""
RANGE = 40.0
"""Running roll over background, at most: below that, echoes are not told from the roll."""
MOST_LINES = 48
RINGING = 4.0
"""A line whose power passes so many times the running level near the catch holds the ring."""
KNOCKED, KNOCK = 0.05, 6
"""Chance that a line's power in a frame is a knock's, and how much larger it then is."""
KNOCKS_RUNNING, KNOCKS_QUIET = 0.03, 0.01
"""Chance, in the time of a window, that something else knocks."""
QUANTILES = np.array([0.02, 0.15, 0.5, 0.85, 0.98])
QUANTILE_WEIGHTS = np.array([0.05, 0.25, 0.4, 0.25, 0.05])
TRUST = 2.3
"""How much the table counts. Set so that intervals hold what they say over synthetic stops in real
machine noise; other draws than those of the tests.
"""
BEFORE, AFTER = 0.16, 0.26
"""s before and after the coarse instant that the table covers."""


@dataclass(frozen=True)
class Table:
    """Log likelihood of each share in each frame, of independent information.

    Attributes
    ----------
    times
        (t,) s.
    log_likelihood
        (t, shares).
    contrast
        Median over the lines used of the running roll's power over the background's.
    lines
        How many lines were used.
    """

    times: Floats
    log_likelihood: Floats
    contrast: float
    lines: int


@dataclass(frozen=True)
class Stretches:
    """Where the roll runs, where all is quiet, and where it stops."""

    running: slice
    quiet: slice
    near: slice

    @classmethod
    def around(cls, frames: Frames, coarse: float) -> Stretches:
        """Stretches around a coarse instant of rest, s; as much as the recording holds."""
        return cls(
            frames.between(coarse - 0.45, coarse - 0.03),
            frames.between(coarse + 0.03, coarse + 0.43),
            frames.between(coarse - 0.05, coarse + 0.02),
        )


def table_of(frames: Frames, coarse: float) -> Table:
    """The table around a coarse instant of rest, s."""
    part = Stretches.around(frames, coarse)
    power, roll = _clean_lines(frames, part)
    step = float(frames.frequencies[1] - frames.frequencies[0])
    worth = step * frames.hop  # independent values in a line's frame
    noise = 1 / (power.shape[1] * worth * WINDOW / frames.hop)
    throb = throb_of(power.mean(axis=1), part.quiet)
    gains, lasting_gain = _sway((power[part.running] / (1 + roll)).mean(axis=1), noise)
    backs, lasting_back = _sway(power[part.quiet].mean(axis=1) / throb[part.quiet], noise)
    lasting = max(WINDOW / frames.hop, 0.5 * (lasting_gain + lasting_back))
    inside = frames.between(coarse - BEFORE, coarse + AFTER)
    each = worth * _each(power[inside] / throb[inside, None], roll, backs)
    averaged = _with_knocks(_averaged(each, gains, lasting, throb[inside]), WINDOW / frames.hop)
    times, likely = _filled(frames, inside, averaged, coarse)
    return Table(times, TRUST * likely, float(np.median(roll)), power.shape[1])


def _filled(frames: Frames, inside: slice, likely: Floats, coarse: float) -> tuple[Floats, Floats]:
    """The table's whole span; where the recording has no sound, every share is as likely."""
    times = frames.times[inside]
    before = max(round((times[0] - (coarse - BEFORE)) / frames.hop), 0)
    after = max(round((coarse + AFTER - times[-1]) / frames.hop), 0)
    first = times[0] - before * frames.hop
    whole = first + frames.hop * np.arange(before + len(times) + after)
    whole[before : before + len(times)] = times
    return whole, np.pad(likely, [(before, after), (0, 0)])


def _clean_lines(frames: Frames, part: Stretches) -> tuple[Floats, Floats]:
    """Power of the lines that are used, in the background's, and what the running roll adds."""
    white = frames.power / steady_mean(frames.power[part.quiet])
    loud = steady_mean(white[part.running])
    four = np.ones(4) / 4
    peak = smoothed(white[part.near], four).max(axis=0) / loud
    heard = loud > 1.2
    if heard.sum() < 4:
        heard = loud >= np.sort(loud)[-min(4, len(loud))]
    clean = np.flatnonzero(heard & (peak <= max(RINGING, float(np.quantile(peak[heard], 0.25)))))
    clean = clean[np.argsort(loud[clean])[::-1][:MOST_LINES]]
    power, loud = white[:, clean], loud[clean]
    floor = np.maximum(loud / RANGE, 1.0)
    return power / floor + (1 - 1 / floor), np.maximum(loud / floor - 1 / floor, 0.02)


def _sway(series: Floats, noise: float) -> tuple[Floats, float]:
    """What a level does by itself: its quantiles, and how many frames it lasts."""
    five = np.ones(5) / 5
    logs = np.log(np.maximum(np.convolve(series, five, "valid"), 1e-3))
    logs = logs - np.median(logs)
    spread = max(float(logs.var()), 1e-6)
    shrink = np.sqrt(max(1 - noise / spread, 0.02))
    beyond = logs - logs.mean()
    spectrum = np.abs(np.fft.rfft(beyond, 2 * len(beyond))) ** 2
    alike = np.fft.irfft(spectrum)[: len(beyond)]
    alike = alike / max(alike[0], 1e-12)
    until = int(np.argmax(alike < 0.2)) or 30
    lasting = min(1 + 2 * float(np.clip(alike[1:until], 0, None).sum()), 40.0)
    return np.exp(shrink * np.quantile(logs, QUANTILES)), lasting


def _each(power: Floats, roll: Floats, backs: Floats) -> Floats:
    """Log likelihood of the lines together, (frames, shares, backgrounds)."""
    made = np.empty((len(power), len(SHARES), len(backs)))
    given = np.minimum(power, 1e12).astype(np.float32)  # more says no more, and would overflow
    usual, seldom, tiny = map(np.float32, (1 - KNOCKED, KNOCKED / KNOCK, 1e-12))
    for j, share in enumerate(SHARES):
        for m, back in enumerate(backs):
            mean = (back + roll * share).astype(np.float32)
            sixth = np.exp(given * (-1 / (KNOCK * mean)))
            cube = sixth * sixth * sixth
            likely = usual * (cube * cube) + seldom * sixth
            made[:, j, m] = np.log(likely + tiny).sum(axis=1) - np.log(mean).sum()
    return made


def _averaged(each: Floats, gains: Floats, lasting: float, throb: Floats) -> Floats:
    """Averaged over gains and backgrounds, which last for so many frames."""
    seen = SHARES[:, None] * gains / throb[:, None, None]  # of the running roll, in the throb's
    shifted = _nearest(np.minimum(seen, SHARES[-1]))
    both = each[np.arange(len(each))[:, None, None], shifted] * lasting
    top = both.max(axis=(2, 3), keepdims=True)
    weights = QUANTILE_WEIGHTS[:, None] * QUANTILE_WEIGHTS
    mean = (np.exp(both - top) * weights).sum(axis=(2, 3))
    return np.asarray((np.log(mean) + top[:, :, 0, 0]) / lasting)


def _with_knocks(likely: Floats, alike: float) -> Floats:
    """While the roll runs, and when it is at rest, now and then a knock sounds on top."""
    loudest = likely.max(axis=1)
    made = likely.copy()
    for share, chance in ((1.0, KNOCKS_RUNNING), (0.0, KNOCKS_QUIET)):
        column = 0 if share == 0 else int(_nearest(np.array([share]))[0])
        knocked = alike * loudest + np.log(chance)
        made[:, column] = np.logaddexp(alike * likely[:, column], knocked) / alike
    return made


def _nearest(shares: Floats) -> Integers:
    """Which of the told shares each one is nearest to."""
    logs = np.log(SHARES[1:])
    at = (np.log(np.maximum(shares, 1e-9)) - logs[0]) / (logs[1] - logs[0])
    found = 1 + np.clip(np.rint(at), 0, len(logs) - 1)
    return np.where(shares < SHARES[1] / 2, 0, found).astype(np.intp)
