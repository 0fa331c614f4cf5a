"""A recording: channels over time, read in blocks: an hour of sound fits in a small memory."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say
from tripmargin.recordings.settled_words import taken_said, thing_said

Floats = NDArray[np.float64]
BLOCK = 1 << 18  # samples handed out at a time: 5.5 s of sound at 48 kHz


class RecordingError(TripmarginError):
    """A recording that cannot be read or used: what, where, the value seen, what is allowed."""


@dataclass(frozen=True)
class Channel:
    """One column of numbers.

    Attributes
    ----------
    name
        As the file says it, or "channel 1" and so on where it says nothing.
    unit
        As the file writes it; empty where it says none. Sound has "" and runs from -1 to 1.
    """

    name: str
    unit: str = ""


@dataclass(frozen=True)
class Guess:
    """Something that the file does not say and that reading had to settle.

    Attributes
    ----------
    what
        The thing settled, a key: "decimal sign".
    value
        What it was taken for, a key where it is a word: "comma".
    because
        Why, in a sentence.
    override
        The keyword of `read` (and option of the command) that says otherwise: "decimal".
    """

    what: str
    value: str
    because: str
    override: str

    @property
    def what_said(self) -> str:
        """The thing settled, for people."""
        return thing_said(self.what)

    @property
    def value_said(self) -> str:
        """What it was taken for, for people."""
        return taken_said(self.what, self.value)


@dataclass(frozen=True)
class Trouble:
    """Something in the recording that a user must know of, and that did not stop the reading.

    Attributes
    ----------
    what
        One of "gap", "repeated time", "backward time", "uneven" (times); "clipped", "silent",
        "narrow", "no stop" (signals); "missing", "unreadable", "truncated", "padded", "rate" (the
        file).
    words
        A whole sentence: what, where, how much.
    at
        Seconds from the beginning, where it has a place.
    channel
        The channel's place from 0, where it is one channel's.
    """

    what: str
    words: str
    at: float | None = None
    channel: int | None = None


@dataclass(frozen=True)
class Block:
    """A stretch of a recording.

    Attributes
    ----------
    times
        (n,) seconds from the recording's beginning, rising.
    values
        (n, k) one column for each channel asked for; not a number where the file has no value.
    """

    times: Floats
    values: Floats


class Source(Protocol):
    """What a format's reader gives: blocks in their order, never the whole."""

    def blocks(self, columns: tuple[int, ...], start: float, stop: float) -> Iterator[Block]:
        """Blocks of the named columns between two times, s; what lies outside is left out."""
        ...


@dataclass(frozen=True)
class Recording:
    """What a file holds, without holding it.

    Attributes
    ----------
    path
        The file, which is never written to.
    sha256
        Its hash, hexadecimal: what was measured can be told from what was changed later.
    size
        Bytes.
    kind
        "CSV", "WAV", "FLAC", "Parquet", "MDF4" or the like.
    channels
        In the file's order.
    rate
        Samples a second, Hz; None where the times are uneven.
    samples
        How many times there are.
    duration
        From the first sample to the last, s.
    guesses
        What the file did not say, and how each may be said otherwise.
    troubles
        What the reading noticed.
    began
        Date and time of the first sample as the file has it, ISO 8601; empty where it has none.
    """

    path: Path
    sha256: str
    size: int
    kind: str
    channels: tuple[Channel, ...]
    rate: float | None
    samples: int
    duration: float
    source: Source = field(repr=False)
    guesses: tuple[Guess, ...] = ()
    troubles: tuple[Trouble, ...] = ()
    began: str = ""

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI; what the file is, not what it holds."""
        return {
            "file": self.path.name,
            "sha256": self.sha256,
            "size_bytes": self.size,
            "kind": self.kind,
            "channels": [{"name": one.name, "unit": one.unit} for one in self.channels],
            "rate_Hz": self.rate,
            "samples": self.samples,
            "duration_s": self.duration,
            "guesses": [
                {
                    "what": one.what,
                    "value": one.value,
                    "because": one.because,
                    "override": one.override,
                }
                for one in self.guesses
            ],
            "troubles": [
                {"what": one.what, "words": one.words, "at_s": one.at} for one in self.troubles
            ],
        }

    def column(self, channel: str | int) -> int:
        """Index of a channel, given by its name or by its number from 1.

        Raises
        ------
        RecordingError
            Where there is no such channel; it lists those there are.
        """
        names = [each.name for each in self.channels]
        if isinstance(channel, int) and 1 <= channel <= len(names):
            return channel - 1
        if isinstance(channel, str) and names.count(channel) == 1:
            return names.index(channel)
        if isinstance(channel, str) and channel.isdecimal():
            return self.column(int(channel))
        listed = ", ".join(f"{number} {name!r}" for number, name in enumerate(names, start=1))
        raise RecordingError(
            say(
                "{file} has no single channel {channel!r}; it has {listed}. Name one of them, or"
                " give its number.",
                file=self.path.name,
                channel=channel,
                listed=listed,
            )
        )

    def blocks(
        self,
        channels: tuple[str | int, ...] | None = None,
        *,
        start: float = 0.0,
        stop: float = np.inf,
    ) -> Iterator[Block]:
        """The recording in blocks of at most `BLOCK` samples, in the order of time.

        Parameters
        ----------
        channels
            Names or numbers from 1; None for all.
        start, stop
            s from the beginning; both ends are in.
        """
        asked = range(len(self.channels)) if channels is None else map(self.column, channels)
        return self.source.blocks(tuple(asked), start, stop)

    def read(
        self,
        channels: tuple[str | int, ...] | None = None,
        *,
        start: float = 0.0,
        stop: float = np.inf,
    ) -> Block:
        """The stretch between two times as one block; ask for stretches that fit in memory."""
        parts = list(self.blocks(channels, start=start, stop=stop))
        width = len(self.channels) if channels is None else len(channels)
        if not parts:
            return Block(np.empty(0), np.empty((0, width)))
        return Block(
            np.concatenate([part.times for part in parts]),
            np.concatenate([part.values for part in parts]),
        )
