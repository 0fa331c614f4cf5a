"""Levels and edges of a logger's channel, found by blocks with hysteresis."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from tripmargin.recordings.recording import Recording
from tripmargin.recordings.stop_time.result import Floats

HYSTERESIS = 0.2
"""Of the swing, both sides of the middle together; more where the noise is larger."""
MOST = 1e100
"""Greater numbers are a logger's mark for no value."""
QUIET_SWING = 8.0
"""Swing over noise from which a channel is told to have two levels."""


@dataclass(frozen=True)
class Levels:
    """What values a channel takes.

    Attributes
    ----------
    low, high
        Its levels, in the channel's unit.
    noise
        Standard deviation from one sample to the next, where nothing changes.
    """

    low: float
    high: float
    noise: float

    @property
    def swing(self) -> float:
        """High less low."""
        return self.high - self.low

    @property
    def middle(self) -> float:
        """Halfway."""
        return (self.low + self.high) / 2

    @property
    def half(self) -> float:
        """Half the hysteresis."""
        return min(max(HYSTERESIS / 2 * self.swing, 3 * self.noise), 0.45 * self.swing)

    @property
    def moves(self) -> bool:
        """Whether the channel does anything but make noise."""
        return self.swing > max(QUIET_SWING * self.noise, 1e-12)


@dataclass(frozen=True)
class Edges:
    """Crossings of the middle, (n,) each.

    Attributes
    ----------
    times
        Interpolated, s.
    low, high
        The crossing is between these, s: the samples on either side, and the rise from the level
        left to the middle.
    rising
    near
        Share of all samples that lie within 15 % of the swing of either level.
    """

    times: Floats
    low: Floats
    high: Floats
    rising: np.ndarray
    near: float = 1.0

    def __len__(self) -> int:
        return len(self.times)

    def of(self, rising: bool) -> Edges:
        """Only those that rise, or that fall."""
        return self.where(self.rising == rising)

    def where(self, mask: np.ndarray) -> Edges:
        """Only some."""
        return Edges(
            self.times[mask], self.low[mask], self.high[mask], self.rising[mask], self.near
        )


def levels_of(recording: Recording, channels: tuple[str | int, ...]) -> list[Levels]:
    """Levels of channels, one pass through the recording."""
    parts: list[list[Levels | None]] = [[None for _ in channels]]
    for block in recording.blocks(channels):
        parts.append([_levels(values[usable(values)]) for values in block.values.T])
    return [_joined([row for row in rows if row is not None]) for rows in zip(*parts, strict=True)]


def usable(values: Floats) -> np.ndarray:
    """Where there is a number, and one whose square is a number too."""
    return np.abs(values) < MOST  # false where it is not a number


def _levels(values: Floats) -> Levels | None:
    """Of a block's numbers; None where they are too few."""
    if len(values) < 3:
        return None
    low, high = np.quantile(values, [0.005, 0.995])
    noise = 1.4826 * float(np.median(np.abs(np.diff(values)))) / np.sqrt(2)
    return Levels(float(low), float(high), float(noise))


def _joined(parts: list[Levels]) -> Levels:
    """Of a whole channel; all nought where no block has enough numbers."""
    if not parts:
        return Levels(0.0, 0.0, 0.0)
    noise = float(np.median([each.noise for each in parts]))
    return Levels(min(each.low for each in parts), max(each.high for each in parts), noise)


@dataclass
class EdgeFinder:
    """Takes a channel's blocks in their order."""

    levels: Levels
    _state: int = 0
    _tail: tuple[Floats, Floats] | None = None
    _found: list[tuple[float, float, float, bool]] = field(default_factory=list)
    _near: int = 0
    _count: int = 0

    def take(self, times: Floats, values: Floats) -> None:
        """The next samples; what is not a number is left out."""
        good = usable(values)
        times, values = times[good], values[good]
        levels = self.levels
        away = np.minimum(np.abs(values - levels.low), np.abs(values - levels.high))
        self._near += int((away <= 0.15 * levels.swing).sum())
        self._count += len(values)
        if self._tail is not None:
            times = np.concatenate([self._tail[0], times])
            values = np.concatenate([self._tail[1], values])
        if len(values) < 2:
            self._tail = (times, values)
            return
        fresh = 0 if self._tail is None else len(self._tail[0])
        states = _states(values, self.levels, self._state)
        if fresh:
            states[:fresh] = self._state or states[:fresh]
        change = np.flatnonzero((states[1:] != states[:-1]) & (states[:-1] != 0)) + 1
        for k in change[change >= fresh]:
            self._found.append(_edge(times, values, int(k), self.levels, bool(states[k] > 0)))
        self._state = int(states[-1])
        self._tail = (times[-64:].copy(), values[-64:].copy())

    def done(self) -> Edges:
        """The edges."""
        rows = np.array([row[:3] for row in self._found]).reshape(-1, 3)
        rising = np.array([row[3] for row in self._found], dtype=bool)
        near = self._near / max(self._count, 1)
        return Edges(rows[:, 0], rows[:, 1], rows[:, 2], rising, near)


def edges_of(
    recording: Recording, channels: tuple[str | int, ...], levels: list[Levels]
) -> list[Edges]:
    """Every edge of channels, one pass through the recording."""
    finders = [EdgeFinder(each) for each in levels]
    for block in recording.blocks(channels):
        for finder, values in zip(finders, block.values.T, strict=True):
            finder.take(block.times, values)
    return [finder.done() for finder in finders]


def _states(values: Floats, levels: Levels, before: int) -> np.ndarray:
    """1 above, -1 below, held between the two thresholds; 0 as long as neither was reached."""
    marks = np.zeros(len(values), dtype=np.int8)
    marks[values > levels.middle + levels.half] = 1
    marks[values < levels.middle - levels.half] = -1
    last = np.where(marks != 0, np.arange(len(marks)), -1)
    last = np.maximum.accumulate(last)
    return np.where(last >= 0, marks[np.maximum(last, 0)], before).astype(np.int8)


def _edge(
    times: Floats, values: Floats, k: int, levels: Levels, rising: bool
) -> tuple[float, float, float, bool]:
    """Crossing before the sample that has passed the far threshold."""
    sign = 1.0 if rising else -1.0
    above = sign * (values - levels.middle)
    cross = k
    while cross > 1 and above[cross - 1] > 0:
        cross -= 1
    left, right = above[cross - 1], above[cross]
    span = times[cross] - times[cross - 1]
    share = -left / (right - left) if right > left else 0.5
    at = times[cross - 1] + share * span
    first = cross - 1
    while first > 0 and above[first] > -levels.swing / 2 * 0.8 and cross - first < 60:
        first -= 1
    return float(at), float(times[first]), float(times[cross]), rising
