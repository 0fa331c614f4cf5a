"""Knocks in the sound: where one begins, how sure it is, and when exactly."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tripmargin.recordings.stop_time.sound_frames import (
    Floats,
    Frames,
    Integers,
    frames_of,
    smoothed,
    steady_mean,
)

SHORT, STEP = 2.5e-3, 0.5e-3
"""s that a frame looks at, and from one to the next: short, for a click is."""
APART = 3e-3
"""s between two knocks that are told apart."""
BACK = 0.7
"""s before the end of the search that a knock may lie."""
FAINT = 0.02
"""Odds below which a knock is not worth a look."""
WIDTHS = (2, 4, 8, 16, 40)
"""Lines that a knock may fill."""
LOUD, STEEPEST = 100.0, 4.0
"""Score that a knock may reach in any case; power with which chance tops fall off, at most."""
ALIKE = 1.5
"""Lines that say the same: Hann's window joins neighbours."""
AROUND, SETTLE = 3.5e-3, 3e-3
"""s on either side of a knock's loudest frame in which it may begin, and that its filter needs."""
LATE = 1.2e-4
"""s by which the change of squares is found too early on average: its filter rings both ways."""


@dataclass(frozen=True)
class Knock:
    """Something struck: when, s, with its standard deviation, and how sure it is.

    `odds` is how much likelier its loudness is for a knock than for what the machine does all the
    time.
    """

    time: float
    sd: float
    odds: float
    score: float


def short_frames(samples: Floats, rate: float, start: float) -> Frames:
    """Frames short enough for a click."""
    return frames_of(samples, rate, start, window=SHORT, hop=STEP)


def knocks_of(
    samples: Floats, rate: float, start: float, running: tuple[float, float], stop: float
) -> tuple[Knock, ...]:
    """Knocks before an instant.

    Parameters
    ----------
    samples
        (n, channels), from `start`, s.
    running
        Stretch in which the rolls run and nothing is pressed, s: what the machine does by itself.
    stop
        Where to look to, s.
    """
    frames = short_frames(samples, rate, start)
    level = steady_mean(frames.power[frames.between(*running)])
    score = _score(frames.power / level)
    tops = _tops(score)
    if not len(tops):  # nothing changes at all: a steady tone, or one value throughout
        return ()
    usual = frames.between(*running)
    among = tops[(tops >= usual.start) & (tops < usual.stop)]
    odds = _odds(score, among if len(among) >= 8 else tops)
    made = []
    wanted = (frames.times[tops] < stop) & (frames.times[tops] > stop - BACK)
    for top in tops[wanted & (odds[tops] > FAINT)]:
        time, sd = _begin(samples, rate, start, frames, int(top), level)
        made.append(Knock(time, sd, float(odds[top]), float(score[top])))
    return tuple(made)


def _score(power: Floats) -> Floats:
    """How much the lines stand out, from the usual level and from what went just before."""
    behind = round(8e-3 / STEP)
    before = smoothed(power, np.ones(behind) / behind)
    late = behind // 2 + round(SHORT / STEP) - 1
    before = np.concatenate([np.repeat(before[:1], late, axis=0), before[:-late]])
    return _scan(power / np.maximum(before, 1.0))


def _scan(ratio: Floats) -> Floats:
    """Log likelihood ratio of the band that stands out most, of every place and several widths."""
    lines = ratio.shape[1]
    total = np.concatenate([np.zeros((len(ratio), 1)), np.cumsum(ratio, axis=1)], axis=1)
    best = np.zeros(len(ratio))
    for width in (w for w in WIDTHS if w <= lines):
        mean = ((total[:, width:] - total[:, :-width]) / width).max(axis=1)
        mean = np.maximum(mean, 1.0)
        likely = width / ALIKE * (mean - 1 - np.log(mean)) - np.log(lines / width)
        best = np.maximum(best, likely)
    return best


def _tops(score: Floats) -> Integers:
    """Places of local maxima, no two nearer than `APART`."""
    reach = round(APART / STEP)
    padded = np.pad(score, reach, constant_values=-np.inf)
    highest = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1).max(axis=1)
    return np.flatnonzero((score >= highest) & (score > 0))


def _odds(score: Floats, usual: Integers) -> Floats:
    """Knock against chance.

    What the machine does by itself falls off as a power of the score, as steep as its tops tell;
    of a knock that can be heard the logarithm of the score is the likelier the louder it is.
    """
    middle, top = np.quantile(score[usual], [0.5, 0.96])
    middle = max(float(middle), 2.0)
    power = float(np.clip(np.log(0.5 / 0.04) / np.log(max(top / middle, 1.01)), 1.2, STEEPEST))
    above = np.log(np.maximum(score / middle, 1.0))
    chance = power * np.exp(-power * above)
    loudest = max(float(above.max()), np.log(LOUD / middle), 1.0)
    knock = 2 * np.maximum(above, 0.02) / loudest**2
    return np.asarray(knock / chance)


def _begin(
    samples: Floats, rate: float, start: float, frames: Frames, top: int, level: Floats
) -> tuple[float, float]:
    """When a knock begins: where its waveform, filtered to where it stands out, changes."""
    ratio = frames.power[top] / level
    stands_out = np.maximum(1 - 2 / np.maximum(ratio, 1e-9), 0) / np.sqrt(level)
    middle = int((frames.times[top] - start) * rate)
    around, settle = (round(part * rate) for part in (AROUND, SETTLE))
    first = max(middle - around - settle, 0)
    part = samples[first : middle + around + settle]
    size = 1 << (len(part) - 1).bit_length()
    weights = np.interp(np.fft.rfftfreq(size, 1 / rate), frames.frequencies, stands_out, 0, 0)
    filtered = np.fft.irfft(np.fft.rfft(part, size, axis=0) * weights[:, None], size, axis=0)
    cut = min(settle, middle - first)
    energy = (filtered[cut : max(len(part) - settle, cut + 16)] ** 2).sum(axis=1)
    place, sd = _change(energy)
    return start + (first + cut + place) / rate + LATE, float(np.hypot(sd / rate, 2.5e-4))


def _change(energy: Floats) -> tuple[float, float]:
    """Where the mean of squares changes for the louder: Akaike's criterion, as seismology uses it.

    Maeda, Zisin 38 (1985) 365: n1 ln(v1) + n2 ln(v2) is least at the onset.
    """
    total = np.cumsum(energy) + 1e-30
    n = np.arange(1, len(energy))
    left, right = total[:-1] / n, (total[-1] - total[:-1]) / (len(energy) - n) + 1e-30
    least = n * np.log(left) + (len(energy) - n) * np.log(right)
    edge = max(4, len(energy) // 14)
    least = least[edge:-edge]
    chance = np.exp(-0.5 * (least - least.min()) / 4)
    chance /= chance.sum()
    place = np.arange(edge + 1, edge + 1 + len(least))
    mean = float(chance @ place)
    return mean, float(np.sqrt(chance @ (place - mean) ** 2))
