"""A measured stop time: value, interval, the instants it stands on, and what was assumed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from math import hypot, isfinite
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.ground.languages import say, say_as
from tripmargin.ground.results import plain
from tripmargin.recordings.recording import RecordingError, Trouble

Floats = NDArray[np.float64]
NO_STOP = "no stop"
"""What a trouble is called that says: this may be no stop at all."""
BY_HAND = 1e-3
"""s either side that an instant placed by hand on the picture is taken to be within."""


def instant_said(name: str) -> str:
    """An instant's name, as people read it.

    >>> instant_said("last pulse")
    'last pulse'
    """
    named = {
        "catch": say_as("instant", "catch"),
        "click": say_as("instant", "click"),
        "last pulse": say_as("instant", "last pulse"),
        "rest": say_as("instant", "rest"),
        "trip": say_as("instant", "trip"),
    }
    return named.get(name, name)


@dataclass(frozen=True, slots=True)
class Instant:
    """Something that happened: when, s from the recording's beginning, within what, how found.

    `low` and `high` hold 95 %. `how` is a sentence.
    """

    name: str
    time: float
    low: float
    high: float
    how: str
    by_hand: bool = False

    @property
    def said(self) -> str:
        """Its name, for people."""
        return instant_said(self.name)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "name": self.name,
            "time_s": self.time,
            "low_s": self.low,
            "high_s": self.high,
            "how": self.how,
            "by_hand": self.by_hand,
        }


@dataclass(frozen=True, slots=True)
class Event:
    """One stop of several in a recording: its number from 1, when, s, its time and interval, s."""

    number: int
    at: float
    value: float
    low: float
    high: float

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "number": self.number,
            "at_s": self.at,
            "value_s": self.value,
            "low_s": self.low,
            "high_s": self.high,
        }


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """A line of a picture: `times`, s, (t,), and `values`, (t,); `what` is on the axis."""

    what: str
    times: Floats
    values: Floats

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready; times in s."""
        made: dict[str, Any] = plain(
            {"what": self.what, "times_s": self.times, "values": self.values}
        )
        return made


@dataclass(frozen=True, slots=True)
class StopTime:
    """A stop time with the interval that holds 95 %, s.

    Attributes
    ----------
    value, low, high
        s.
    instants
        In the order of time. The stop runs from the one named `start` to the one named `end`.
    offset
        What is taken off end minus start, s: how much earlier the first was than the crossing of
        the threshold, and the sound's way.
    budget
        Half the 95 % interval of what is not in the instants' own intervals, s.
    troubles
        What was noticed.
    assumed
        Whole sentences.
    source
        "sound", "logger" or "video frames".
    file, sha256
        The recording's name and its hash.
    events
        Every stop found, where there are several.
    traces
        For the picture.
    notes_by_hand
        How many of `assumed`, its last ones, say what was moved by hand.
    """

    value: float
    low: float
    high: float
    instants: tuple[Instant, ...]
    start: str
    end: str
    source: str
    offset: float = 0.0
    budget: float = 0.0
    troubles: tuple[Trouble, ...] = ()
    assumed: tuple[str, ...] = ()
    file: str = ""
    sha256: str = ""
    events: tuple[Event, ...] = ()
    traces: tuple[Trace, ...] = field(default=(), repr=False, compare=False)
    notes_by_hand: int = field(default=0, repr=False, compare=False)

    def instant(self, name: str) -> Instant:
        """The instant of a name.

        Raises
        ------
        RecordingError
            Where there is none of it.
        """
        for each in self.instants:
            if each.name == name:
                return each
        known = ", ".join(each.name for each in self.instants)
        raise RecordingError(
            say("There is no instant {name!r}. There are: {known}.", name=name, known=known)
        )

    @property
    def source_said(self) -> str:
        """What it was measured with, for people."""
        words = {
            "sound": say_as("measured with", "sound"),
            "logger": say_as("measured with", "logger"),
            "video frames": say_as("measured with", "video frames"),
        }
        return words.get(self.source, self.source)

    @property
    def clear(self) -> bool:
        """Whether there is a stop at all: what was heard says so, or a person placed both ends."""
        placed = {each.name for each in self.instants if each.by_hand}
        return {self.start, self.end} <= placed or all(
            each.what != NO_STOP for each in self.troubles
        )

    def moved(self, within: float = BY_HAND, **times: float) -> StopTime:
        """The stop time with instants moved by hand, which it says; this one stays as it is.

        Parameters
        ----------
        within
            The instant is within so many s of where it was put, in 95 % of cases.
        **times
            An instant's name (spaces as underscores) and its new time, s from the recording's
            beginning.

        Raises
        ------
        RecordingError
            If there is no such instant, a time is not a number, or the stop would end before it
            begins.
        """
        instants = {each.name: each for each in self.instants}
        for key, time in times.items():
            old = self.instant(key if key in instants else key.replace("_", " "))
            if not isfinite(time):
                raise RecordingError(
                    say("{name}: {time} is not a time in seconds.", name=old.said, time=time)
                )
            how = say("Moved by hand from {time:.4f} s.", time=old.time)
            if time == old.time:
                how = say("Put by hand where it was found.")
            instants[old.name] = Instant(
                old.name, float(time), time - within, time + within, how, by_hand=True
            )
        return _between(self, tuple(instants.values()), tuple(times))

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, SI."""
        return {
            "value_s": self.value,
            "low_s": self.low,
            "high_s": self.high,
            "confidence": 0.95,
            "clear": self.clear,
            "source": self.source,
            "start": self.start,
            "end": self.end,
            "offset_s": self.offset,
            "budget_s": self.budget,
            "instants": [each.to_dict() for each in self.instants],
            "by_hand": [each.name for each in self.instants if each.by_hand],
            "troubles": [
                {"what": each.what, "words": each.words, "at_s": each.at} for each in self.troubles
            ],
            "assumed": list(self.assumed),
            "file": self.file,
            "sha256": self.sha256,
            "events": [each.to_dict() for each in self.events],
        }


def _between(old: StopTime, instants: Sequence[Instant], moved: Sequence[str]) -> StopTime:
    """A stop time from instants alone: their intervals taken as independent."""
    ordered = tuple(sorted(instants, key=lambda each: each.time))
    fresh = replace(old, instants=ordered)
    first, last = fresh.instant(old.start), fresh.instant(old.end)
    value = last.time - first.time - old.offset
    if value <= 0:
        values = {
            "later": last.said,
            "stands": last.time,
            "earlier": first.said,
            "begins": first.time,
            "less": old.offset,
        }
        if old.offset:
            raise RecordingError(
                say(
                    "{later} at {stands:.4f} s does not come after {earlier} at {begins:.4f} s,"
                    " less {less:.4f} s: there is no stop between them.",
                    **values,
                )
            )
        raise RecordingError(
            say(
                "{later} at {stands:.4f} s does not come after {earlier} at {begins:.4f} s: there"
                " is no stop between them.",
                **values,
            )
        )
    down = hypot(last.time - last.low, first.high - first.time, old.budget)
    up = hypot(last.high - last.time, first.time - first.low, old.budget)
    names = ", ".join(instant_said(name.replace("_", " ")) for name in moved)
    words = say(
        "Moved by hand: {names}. The interval is from the instants' own, taken as independent.",
        names=names,
    )
    return replace(
        fresh,
        value=value,
        low=max(value - down, 0.0),
        high=value + up,
        assumed=(*old.assumed[: len(old.assumed) - old.notes_by_hand], words),
        notes_by_hand=1,
    )
