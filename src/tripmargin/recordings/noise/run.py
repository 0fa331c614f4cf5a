"""A quiet run part by part: which stretch is sampled evenly, in volts, never the whole at once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say
from tripmargin.recordings.recording import Recording, RecordingError, Trouble

Floats = NDArray[np.float64]
PART = 1 << 22
"""Samples worked on together: minutes at a logger's rate, some hundred megabytes at work."""
_EVEN = 0.05  # of a step
_FEW = 0.01  # of the steps, that may be further off
_GAP = 1.5  # steps
_LEAST = 16  # samples


@dataclass(frozen=True)
class Stretch:
    """Samples of a recording that follow each other evenly.

    Attributes
    ----------
    begin, end
        Number of the first sample, and of the one behind the last.
    rate
        Hz.
    begins
        Time of the first sample in the recording, s.
    """

    begin: int
    end: int
    rate: float
    begins: float = 0.0
    troubles: tuple[Trouble, ...] = ()

    @property
    def ends(self) -> Floats:
        """Where parts begin, and where the last ends; parts are of one length, within a sample."""
        count = self.end - self.begin
        parts = -(-count // PART)
        return np.linspace(0, count, parts + 1).round().astype(np.intp)

    def parts(self, recording: Recording, columns: tuple[int, ...]) -> Iterator[tuple[int, Floats]]:
        """Number of each part's first sample in the stretch, and its values (n, k).

        Parameters
        ----------
        columns
            Numbers of the channels, from 0.
        """
        ends = self.ends
        k, held, waiting = 1, list[Floats](), 0
        at = 0
        for block in recording.blocks(tuple(column + 1 for column in columns)):
            some = slice(max(self.begin - at, 0), max(self.end - at, 0))
            at += len(block.times)
            values = block.values[some]
            while len(values):
                missing = int(ends[k] - ends[k - 1]) - waiting
                held.append(values[:missing])
                waiting += len(values[:missing])
                values = values[missing:]
                if waiting == ends[k] - ends[k - 1]:
                    whole = np.concatenate(held)
                    held, waiting, k = [], 0, k + 1
                    yield int(ends[k - 2]), whole
            if at >= self.end:
                break
        if held:  # fewer samples than were counted: the end could not be decoded twice
            yield int(ends[k - 1]), np.concatenate(held)


@dataclass
class _Walk:
    """Steps of time seen so far, and the stretches between gaps."""

    step: float
    begin: int = 0
    begins: float = 0.0
    seen: int = 0
    last: float = np.nan
    off: int = 0  # steps of this stretch that differ from the usual one
    shortest: float = np.inf
    longest: float = 0.0
    gaps: int = 0
    best: tuple[int, int, float, float, int, float, float] = field(
        default=(0, 0, 0.0, 0.0, 0, np.inf, 0.0)
    )

    def add(self, times: Floats) -> None:
        steps = np.diff(times, prepend=self.last if self.seen else times[:1])
        breaks = np.flatnonzero(steps > _GAP * self.step)
        begin, fresh = 0, not self.seen  # a stretch's first sample has no step behind it
        for place in (*breaks, len(times)):
            inner = steps[begin + fresh : place]
            if len(inner):
                self.off += int(np.count_nonzero(np.abs(inner / self.step - 1) > _EVEN))
                self.shortest = min(self.shortest, float(inner.min()))
                self.longest = max(self.longest, float(inner.max()))
            if place < len(times):
                before = times[place - 1] if place else self.last
                self.close(self.seen + int(place), float(before))
                self.gaps += 1
                self.begin, self.begins = self.seen + int(place), float(times[place])
                self.off, self.shortest, self.longest = 0, np.inf, 0.0
            begin, fresh = int(place), True
        self.seen += len(times)
        self.last = float(times[-1])

    def close(self, end: int, last: float) -> None:
        """The stretch that ends here, if it is the longest."""
        if end - self.begin > self.best[1] - self.best[0]:
            self.best = (
                self.begin, end, self.begins, last, self.off, self.shortest, self.longest,
            )  # fmt: skip


def stretch_of(recording: Recording) -> Stretch:
    """The longest stretch without a gap.

    Raises
    ------
    RecordingError
        Where there are hardly any samples, or the times jitter too much for an order to be
        followed.
    """
    if recording.samples < _LEAST:
        raise RecordingError(
            say(
                "{file}: {samples} samples.\n  Allowed: a run of some seconds.\n  Record 60 s"
                " with the empty rolls turning.",
                file=recording.path.name,
                samples=recording.samples,
            )
        )
    if recording.rate is not None:
        return Stretch(0, recording.samples, recording.rate)
    walk: _Walk | None = None
    for block in recording.blocks((1,)):
        if walk is None:
            steps = np.diff(block.times)
            walk = _Walk(float(np.median(steps)) if len(steps) else np.inf)
            walk.begins = float(block.times[0])
        walk.add(block.times)
    assert walk is not None
    walk.close(walk.seen, walk.last)
    begin, end, begins, last, off, shortest, longest = walk.best
    count = end - begin
    if count < _LEAST or off > _FEW * (count - 1):
        raise RecordingError(
            say(
                "{file}: the samples are not evenly spaced: {shortest:.3g} s to"
                " {longest:.3g} s.\n  Allowed: steps that differ by less than 5 %.\n  If the"
                " logger sampled evenly and only its stamps are off, read it again with"
                " rate=.",
                file=recording.path.name,
                shortest=shortest,
                longest=longest,
            )
        )
    troubles: tuple[Trouble, ...] = ()
    if walk.gaps:
        words = say(
            "There are {gaps} gaps; the longest stretch without one was used, from"
            " {begins:.4g} s to {last:.4g} s.",
            gaps=walk.gaps,
            begins=begins,
            last=last,
        )
        troubles = (Trouble("gap", words, begins),)
    return Stretch(begin, end, (count - 1) / (last - begins), begins, troubles)
