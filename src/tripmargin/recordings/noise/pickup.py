"""The roll's angle over time from a channel that follows it: pulses, or an angle or count."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say, say_many
from tripmargin.recordings.noise.counting import Counter, counter_of
from tripmargin.recordings.noise.turns import Turning
from tripmargin.recordings.recording import Channel, Guess, RecordingError

Floats = NDArray[np.float64]
KINDS = ("pulses", "angle")
_FEWEST = 4  # pulses
_BEHIND = 1 << 12  # samples of the part before that are looked at again
_BESIDE = 4  # marks before and behind a part, on which the curve leans
_FINEST = 64  # marks a turn that are kept of an angle


@dataclass(frozen=True)
class Marks:
    """Samples, with parts, at which the roll had turned so far, through the whole stretch."""

    at: Floats
    turns: Floats
    per_turn: float
    rate: float
    guesses: tuple[Guess, ...] = ()

    def between(self, begin: int, end: int) -> Turning | None:
        """The angle of the samples from one number up to another; None where hardly any is known.

        Between marks the angle runs along a smooth curve that never turns back (Fritsch and
        Carlson, SIAM J. Numer. Anal. 17 (1980) 238).
        """
        from scipy.interpolate import PchipInterpolator

        first = max(int(np.searchsorted(self.at, begin)) - _BESIDE, 0)
        last = int(np.searchsorted(self.at, end)) + _BESIDE
        at, turns = self.at[first:last], self.turns[first:last]
        if len(at) < _FEWEST:
            return None
        samples = np.arange(begin, end, dtype=float)
        found = PchipInterpolator(at, turns, extrapolate=False)(samples)
        if not np.isfinite(found).any():
            return None
        mean = (turns[-1] - turns[0]) / ((at[-1] - at[0]) / self.rate)
        whole = max(round(self.per_turn), 1)
        spans = (at[whole:] - at[:-whole]) / self.rate / (turns[whole:] - turns[:-whole])
        spans = spans if len(spans) else np.array([1 / mean])
        rates = (float(mean), float(1 / spans.max()), float(1 / spans.min()))
        return Turning(found, rates, self.guesses)


def marks_of(
    parts: Iterable[tuple[int, Floats]], rate: float, channel: Channel, per_turn: float,
    asked: str | None,
) -> Marks:  # fmt: skip
    """The roll's turns from its channel.

    Parameters
    ----------
    parts
        Number of each part's first sample, and its values (n,).
    rate
        Hz.
    channel
        For its unit and for words.
    per_turn
        Pulses, or counts, for one turn of the roll.
    asked
        "pulses" or "angle"; None: by what the first part looks like.

    Raises
    ------
    RecordingError
        Where `asked` is neither, or the channel shows fewer than four pulses or hardly turns.
    """
    if asked not in (None, *KINDS):
        raise RecordingError(
            say(
                'pickup_is = "{asked}": not known.\n  Allowed: {kinds}.',
                asked=asked,
                kinds=", ".join(KINDS),
            )
        )
    marks: _Edges | _Levels | None = None
    guesses: list[Guess] = []
    for begin, values in parts:
        values = np.where(np.isfinite(values), values, np.nan)
        if marks is None:
            counter = (
                None
                if asked == "pulses"
                else counter_of(values, channel, per_turn, asked == "angle")
            )
            if asked == "angle" and counter is None:
                raise RecordingError(
                    say(
                        "Channel {name!r} neither grows nor begins anew: it is no angle.\n "
                        " Allowed: an angle, or a count of the roll's turning.\n  If it has"
                        ' pulses, say pickup_is="pulses".',
                        name=channel.name,
                    )
                )
            marks = _Edges.of(values, per_turn) if counter is None else _Levels(counter)
            if counter is not None and asked is None:
                guesses.append(Guess("roll pickup's kind", "angle", counter.because, "pickup_is"))
        marks.add(begin, values)
    at, turns = (np.empty(0), np.empty(0)) if marks is None else marks.found()
    if len(at) < _FEWEST:
        raise RecordingError(
            say_many(
                "Channel {name!r}: 1 pulse.\n  Allowed: at least {fewest}, of a pickup at the"
                " roll.\n  Name the pickup's channel by roll_pickup=, or say roll_speed= instead.",
                "Channel {name!r}: {count} pulses.\n  Allowed: at least {fewest}, of a pickup at"
                " the roll.\n  Name the pickup's channel by roll_pickup=, or say roll_speed="
                " instead.",
                len(at),
                name=channel.name,
                fewest=_FEWEST,
            )
        )
    kept_a_turn = per_turn if isinstance(marks, _Edges) else _FINEST
    return Marks(at, turns, kept_a_turn, rate, tuple(guesses))


@dataclass
class _Edges:
    """Rising edges of pulses: each is one `per_turn`-th of a turn."""

    low: float
    high: float
    per_turn: float
    edges: list[Floats]
    behind: Floats

    @classmethod
    def of(cls, values: Floats, per_turn: float) -> _Edges:
        """With the two levels that the first part has."""
        return cls(*_levels(values), per_turn, [], np.empty(0))

    def add(self, begin: int, values: Floats) -> None:
        joined = np.concatenate([self.behind, values])
        edges = _edges(joined, self.low, self.high) + (begin - len(self.behind))
        last = self.edges[-1][-1] if self.edges and len(self.edges[-1]) else -np.inf
        fresh = edges[edges > last + 0.5]
        if len(fresh):
            self.edges.append(fresh)
        self.behind = joined[-_BEHIND:]

    def found(self) -> tuple[Floats, Floats]:
        at = np.concatenate(self.edges) if self.edges else np.empty(0)
        return at, np.arange(len(at)) / self.per_turn


def _levels(pulses: Floats) -> tuple[float, float]:
    """Lower and upper level; alike where there is no pulse."""
    seen = pulses[~np.isnan(pulses)]
    if not len(seen):
        return 0.0, 0.0
    low, high = np.quantile(seen, [0.02, 0.98])
    if high <= low:
        low, high = seen.min(), seen.max()
    return float(low), float(high)


def rising_edges(pulses: Floats) -> Floats:
    """Samples, with parts, at which pulses rise through the middle; small wiggles do not count."""
    return _edges(pulses, *_levels(pulses))


def _edges(pulses: Floats, low: float, high: float) -> Floats:
    if high <= low:
        return np.empty(0)
    middle, room = (low + high) / 2, 0.2 * (high - low)
    state = np.where(pulses > middle + room, 1, np.where(pulses < middle - room, -1, 0))
    sure = np.flatnonzero(state)
    up = (state[sure[1:]] == 1) & (state[sure[:-1]] == -1)
    found = []
    for begin, end in zip(sure[:-1][up], sure[1:][up], strict=True):
        part = pulses[begin : end + 1]
        k = int(np.argmax(part >= middle))
        a, b = part[k - 1], part[k]
        along = (middle - a) / (b - a) if np.isfinite(a) else 1.0
        found.append(begin + k - 1 + along)
    return np.array(found)


class _Levels:
    """An angle or count: the samples at which it passes each 64th of a turn."""

    def __init__(self, counter: Counter) -> None:
        self.counter = counter
        self.at: list[Floats] = []
        self.turns: list[Floats] = []
        self.reached = -np.inf  # the greatest turns so far
        self.next = -np.inf

    def add(self, begin: int, values: Floats) -> None:
        read = np.flatnonzero(~np.isnan(values))
        if not len(read):
            return
        turned = self.counter.unwrapped(values[read])
        before = self.reached if np.isfinite(self.reached) else turned[0]
        highest = np.maximum.accumulate(np.concatenate([[before], turned]))
        at = np.concatenate([[begin + read[0] - 1.0], begin + read])
        if not np.isfinite(self.next):
            self.next = np.ceil(turned[0] * _FINEST)
        last = np.floor(highest[-1] * _FINEST)
        levels = np.arange(self.next, last + 1) / _FINEST
        if len(levels):
            k = np.maximum(np.searchsorted(highest, levels), 1)
            rise = highest[k] - highest[k - 1]
            along = np.where(rise > 0, (levels - highest[k - 1]) / np.where(rise > 0, rise, 1), 1.0)
            places = at[k - 1] + along * (at[k] - at[k - 1])
            fresh = np.diff(places, prepend=self.at[-1][-1] if self.at else -np.inf) > 0
            self.at.append(places[fresh])
            self.turns.append(levels[fresh])
            self.at = [each for each in self.at if len(each)]
            self.turns = [each for each in self.turns if len(each)]
            self.next = last + 1
        self.reached = float(highest[-1])

    def found(self) -> tuple[Floats, Floats]:
        if not self.at:
            return np.empty(0), np.empty(0)
        return np.concatenate(self.at), np.concatenate(self.turns)
