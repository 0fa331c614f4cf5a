"""What is wrong with a signal: tops cut off, nothing on a channel. Watched while it goes by."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import numeral, say
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.units import percent
from tripmargin.recordings.recording import Channel, Trouble

Floats = NDArray[np.float64]
_RUN = 3  # samples alike at the very end of the range: a top cut off
_JUMP = 3.0  # steps of the finest difference by which a cut top is entered or left
_FEW_LEVELS = 16  # a line that switches, not a signal
_HELD = 0.2  # share of samples that repeat the one before: a signal in steps, not cut off
_RESTING = 0.25  # share of samples at the end of the range: it rests there
_SAMPLE = 8192


@dataclass
class _End:
    """One end of a channel's range: `sign` 1 for the upper."""

    sign: float
    value: float = -np.inf  # times sign
    samples: int = 0
    runs: int = 0
    cut: int = 0  # samples in cut tops
    longest: int = 0
    first: int = 0

    def add(self, values: Floats, at: int, grain: float) -> None:
        signed = values * self.sign
        top = float(signed.max())
        if top < self.value:
            return
        if top > self.value:
            self.value, self.samples, self.runs, self.cut, self.longest = top, 0, 0, 0, 0
        places = np.flatnonzero(signed == top)
        self.samples += len(places)
        if len(places) < _RUN:
            return
        breaks = np.flatnonzero(np.diff(places) > 1)
        begins = places[np.concatenate([[0], breaks + 1])]
        ends = places[np.concatenate([breaks, [len(places) - 1]])]
        long = (ends - begins + 1) >= _RUN
        for begin, end in zip(begins[long], ends[long], strict=True):
            before = top - signed[begin - 1] if begin else 0.0
            behind = top - signed[end + 1] if end + 1 < len(signed) else 0.0
            if max(before, behind) < _JUMP * grain:
                continue
            if not self.runs:
                self.first = at + int(begin)
            self.runs += 1
            self.cut += int(end - begin + 1)
            self.longest = max(self.longest, int(end - begin + 1))


@dataclass
class FlatWatch:
    """Watches channels for cut tops and for nothing at all.

    `name` says how the channels' end of the range is told: full scale of sound, or a value.
    """

    channels: Sequence[Channel]
    sound: bool = False
    _ends: list[tuple[_End, _End]] = field(default_factory=list)
    _levels: list[Floats] = field(default_factory=list)
    _held: list[int] = field(default_factory=list)  # samples like the one before, ends apart
    _inner: list[int] = field(default_factory=list)
    _seen: int = 0

    def __post_init__(self) -> None:
        self._ends = [(_End(1.0), _End(-1.0)) for _ in self.channels]
        self._levels = [np.empty(0) for _ in self.channels]
        self._held, self._inner = [0] * len(self._ends), [0] * len(self._ends)

    def add(self, values: Floats) -> None:
        """The next (n, k) samples."""
        for k, ends in enumerate(self._ends):
            column = values[:, k]
            if not np.isfinite(column).all():
                column = column[np.isfinite(column)]
            if not len(column):
                continue
            if len(self._levels[k]) <= _SAMPLE:
                some = column[:_SAMPLE]
                self._levels[k] = np.unique(np.concatenate([self._levels[k], some]))
                inner = (some[1:] > some.min()) & (some[1:] < some.max())
                self._held[k] += int(np.count_nonzero((np.diff(some) == 0) & inner))
                self._inner[k] += int(np.count_nonzero(inner))
            grain = self._grain(k)
            for end in ends:
                end.add(column, self._seen, grain)
        self._seen += len(values)

    def _grain(self, k: int) -> float:
        levels = self._levels[k]
        return float(np.diff(levels).min()) if len(levels) > 1 else 0.0

    def troubles(self, time_of: Callable[[int], float]) -> tuple[Trouble, ...]:
        """What was noticed; `time_of` gives the time of a sample, s."""
        found: list[Trouble] = []
        for k, channel in enumerate(self.channels):
            upper, lower = self._ends[k]
            if upper.value == -np.inf:
                words = say("Channel {name!r} has no value anywhere.", name=channel.name)
                found.append(Trouble("silent", words, channel=k))
            elif upper.value == -lower.value and self._seen > 1:
                words = say(
                    "Channel {name!r} is {value:g} throughout: it carries nothing.",
                    name=channel.name,
                    value=upper.value,
                )
                found.append(Trouble("silent", words, channel=k))
            elif len(self._levels[k]) > _FEW_LEVELS and self._held[k] < _HELD * self._inner[k]:
                found += self._cut(channel, (upper, lower), time_of)
        return tuple(found)

    def _cut(
        self, channel: Channel, ends: tuple[_End, _End], time_of: Callable[[int], float]
    ) -> list[Trouble]:
        """One trouble for both ends of a channel's range."""
        cut = [end for end in ends if end.runs >= 2 and end.samples < _RESTING * self._seen]
        if not cut:
            return []
        share = sum(end.cut for end in cut) / self._seen
        first = time_of(min(end.first for end in cut))
        levels = [numeral(end.value * end.sign, ".4g") for end in cut]
        levels = [f"{level} {channel.unit}" if channel.unit else level for level in levels]
        if len(levels) == 2:  # at both ends: the unit once
            levels[0] = levels[0].removesuffix(f" {channel.unit}")
        where = listed(levels)
        if self.sound and not channel.unit:
            where = say("{levels} of full scale", levels=where)
        words = say(
            "Channel {name!r} is clipped at {where}: {tops} tops cut off, {share} of the samples,"
            " the longest {longest} samples; the first at {first:.4g} s. Record again with less"
            " gain.",
            name=channel.name,
            where=where,
            tops=sum(end.runs for end in cut),
            share=percent(share),
            longest=max(end.longest for end in cut),
            first=first,
        )
        return [Trouble("clipped", words, first)]
