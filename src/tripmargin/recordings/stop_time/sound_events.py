"""Where in a long recording the rolls' noise breaks off: by blocks, in bounded memory."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.recordings.recording import Block
from tripmargin.recordings.stop_time.sound_frames import Floats, Frames

FRAME = 0.01
"""s that a frame of the search looks at."""
SIDE, GAP = 13, 3
"""Frames compared before and after, and frames left out between them."""
LEAST_FALL, MOST_FALL = 0.35, 3.0
"""Fall of a band's mean log power from which on it counts, and up to which: a microphone that is
switched off falls farther than rolls.
"""
LEAST = 0.8
"""Sum of squared falls that makes an event."""
BANDS = 12
FULL = 0.998
"""Share of full scale from which neighbouring samples count as clipped."""
LOUDEST = 1e6
"""Times full scale that a sample may be: more is a damaged file, and its square overflows."""


@dataclass(frozen=True)
class Overview:
    """Log power in bands of a whole recording, (t, b), and what the samples were like."""

    times: Floats
    levels: NDArray[np.float32]
    clipped: tuple[tuple[float, float], ...]  # s, stretches
    clipped_samples: int
    samples: int
    loudest: float
    wild: tuple[float, float] | None = None  # s and value of a sample that no sound can have


class Overseer:
    """Takes blocks of sound in their order and keeps an overview, some 5 kB a second."""

    def __init__(self, rate: float) -> None:
        self.rate, self.size = rate, max(16, round(FRAME * rate))
        self._rest = np.empty((0, 0))
        self._start = 0.0
        self._levels: list[NDArray[np.float32]] = []
        self._times: list[Floats] = []
        self._clipped: list[tuple[float, float]] = []
        self._count = self._clipped_count = 0
        self._loudest = 0.0
        self._wild: tuple[float, float] | None = None

    def take(self, block: Block) -> None:
        """The next block."""
        values = finite(block.values)
        if not values.size or self._wild is not None:
            return
        self._look(block.times, values)
        if self._wild is not None:
            return
        if self._rest.size:
            values = np.concatenate([self._rest, values])
            start = self._start
        else:
            start = float(block.times[0])
        count = len(values) // self.size
        whole = values[: count * self.size]
        self._rest, self._start = values[count * self.size :], start + count * self.size / self.rate
        if count:
            self._frames(whole.reshape(count, self.size, -1), start)

    def _look(self, times: Floats, values: Floats) -> None:
        loudest = float(max(values.max(), -values.min()))
        self._count += len(values)
        self._loudest = max(self._loudest, loudest)
        if loudest > LOUDEST:
            row, column = np.argwhere(np.abs(values) > LOUDEST)[0]
            self._wild = float(times[row]), float(values[row, column])
            return
        if loudest < FULL:
            return
        full = np.flatnonzero((np.abs(values) >= FULL).any(axis=1))
        runs = np.split(full, np.flatnonzero(np.diff(full) > 1) + 1)
        for run in runs:
            if len(run) >= 2:
                self._clipped_count += len(run)
                self._clipped.append((float(times[run[0]]), float(times[run[-1]])))

    def _frames(self, pieces: Floats, start: float) -> None:
        weight = np.hanning(self.size + 2)[1:-1].astype(np.float32)
        total: Floats | float = 0.0
        for k in range(pieces.shape[2]):
            spectrum = np.fft.rfft(pieces[:, :, k].astype(np.float32) * weight, axis=1)
            total = total + spectrum.real**2 + spectrum.imag**2
        frequencies = np.fft.rfftfreq(self.size, 1 / self.rate)
        edges = np.geomspace(150, min(12_000, 0.45 * self.rate), BANDS + 1)
        at = np.unique(np.searchsorted(frequencies, edges))
        bands = np.add.reduceat(np.asarray(total)[:, : at[-1]], at[:-1], axis=1)
        self._levels.append(np.log(bands + 1e-12).astype(np.float32))
        middles = start + (np.arange(len(pieces)) + 0.5) * self.size / self.rate
        self._times.append(np.asarray(middles, dtype=np.float64))

    def done(self) -> Overview:
        """What was seen."""
        none = np.empty((0, BANDS), dtype=np.float32)
        return Overview(
            np.concatenate(self._times) if self._times else np.empty(0),
            np.concatenate(self._levels) if self._levels else none,
            tuple(self._clipped),
            self._clipped_count,
            self._count,
            self._loudest,
            self._wild,
        )


def finite(values: Floats) -> Floats:
    """What is not a number as silence."""
    with np.errstate(over="ignore", invalid="ignore"):  # the sum is quicker than asking each
        good = np.isfinite(values.sum())
    return values if good else np.nan_to_num(values)


def overview_of(blocks: Iterable[Block], rate: float) -> Overview:
    """Overview of blocks."""
    overseer = Overseer(rate)
    for block in blocks:
        overseer.take(block)
    return overseer.done()


def falls(levels: NDArray[np.floating[Any]], side: int, gap: int) -> Floats:
    """How much the bands fall at each frame: squared falls of the mean log power, added up."""
    count = len(levels)
    at = np.arange(count)
    first, last = np.maximum(at - gap - side, 0), np.maximum(at - gap, 0)
    start, stop = np.minimum(at + 1 + gap, count), np.minimum(at + 1 + gap + side, count)
    enough = np.minimum(last - first, stop - start) >= side // 2
    made = np.zeros(count)
    for band in levels.T:  # one by one: an hour's bands at once would not be small
        total = np.concatenate([[0.0], np.cumsum(band, dtype=np.float64)])
        before = (total[last] - total[first]) / np.maximum(last - first, 1)
        after = (total[stop] - total[start]) / np.maximum(stop - start, 1)
        fall = np.where(enough, before - after, 0) - LEAST_FALL
        made += np.clip(fall, 0, MOST_FALL) ** 2
    return made


def events_of(overview: Overview, apart: float = 0.6, most: int = 40) -> list[tuple[float, float]]:
    """Instants where the noise breaks off, s, with how clearly; the clearest first."""
    if len(overview.levels) < 2 * SIDE:
        return []
    clear = falls(overview.levels, SIDE, GAP)
    reach = round(apart / FRAME)
    order = np.argsort(clear)[::-1]
    found: list[tuple[float, float]] = []
    taken = np.zeros(len(clear), dtype=bool)
    for k in order[: 200 * most]:
        if clear[k] < LEAST or len(found) == most:
            break
        if not taken[k]:
            found.append((float(overview.times[k]), float(clear[k])))
            taken[max(0, k - reach) : k + reach] = True
    return found


def coarse_rest(frames: Frames, near: float) -> float:
    """About when the noise has gone, s, from short frames around an event."""
    count = len(frames.frequencies) // 3 * 3
    grouped = frames.power[:, :count].reshape(len(frames.power), -1, 3).mean(axis=2)
    clear = falls(np.log(grouped), 60, 6)
    inside = frames.between(near - 0.12, near + 0.12)
    return float(frames.times[inside][np.argmax(clear[inside])])
