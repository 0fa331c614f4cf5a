"""Which of a logger's channels is the trip line, and which the roll's sensor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tripmargin.recordings.recording import Guess, Recording, RecordingError
from tripmargin.recordings.stop_time.logger_edges import Edges, Levels, edges_of, levels_of
from tripmargin.recordings.stop_time.options import LoggerOptions

TRIP_NAMES = ("trip", "detector", "metal", "relay", "hold", "magnet", "clutch", "solenoid")
ROLL_NAMES = ("roll", "speed", "pickup", "pulse", "encoder", "rpm", "tacho", "feed")
MANY = 8
"""Edges from which a channel is a train of pulses."""


@dataclass(frozen=True)
class Line:
    """A channel: its number from 1, name, levels and edges, and the levels' unit."""

    number: int
    name: str
    levels: Levels
    edges: Edges
    unit: str = ""


@dataclass(frozen=True)
class Lines:
    """The two channels, how they were told apart, and what the roll's is."""

    trip: Line
    roll: Line
    roll_is: str
    guesses: tuple[Guess, ...]


def lines_of(recording: Recording, options: LoggerOptions) -> Lines:
    """The two channels.

    Raises
    ------
    RecordingError
        If there are not two, or they cannot be told apart.
    """
    count = len(recording.channels)
    if count < 2:
        raise RecordingError(
            f"{recording.path.name} has {count} channel; a logged stop needs two: the trip line and"
            " the roll's sensor. If it is a sound recording, say so."
        )
    numbers = tuple(range(1, count + 1))
    levels = dict(zip(numbers, levels_of(recording, numbers), strict=True))
    moving = tuple(n for n in numbers if levels[n].moves)
    found = edges_of(recording, moving, [levels[n] for n in moving]) if moving else []
    lines = [
        Line(n, recording.channels[n - 1].name, levels[n], edges, recording.channels[n - 1].unit)
        for n, edges in zip(moving, found, strict=True)
    ]
    trip = _given(recording, options.trip, lines, "trip")
    roll = _given(recording, options.roll, lines, "roll")
    guesses = []
    if trip is None:
        trip = _trip(recording, [line for line in lines if line is not roll])
        why = "it changes once between two levels, and first"
        guesses.append(Guess("trip line", trip.name, why, "trip"))
    if roll is None:
        roll = _roll(recording, [line for line in lines if line is not trip], trip)
        guesses.append(Guess("roll sensor", roll.name, "of the others it moves most", "roll"))
    kind = options.roll_is or ("pulses" if _before(roll, trip) >= MANY else "speed")
    if options.roll_is is None:
        why = f"it has {_before(roll, trip)} edges before the trip"
        guesses.append(Guess("roll sensor's kind", kind, why, "roll_is"))
    return Lines(trip, roll, kind, tuple(guesses))


def _before(roll: Line, trip: Line) -> int:
    """Edges of the roll's sensor before the first trip."""
    first = trip.edges.times[0] if len(trip.edges) else np.inf
    return int((roll.edges.times < first).sum())


def _given(
    recording: Recording, channel: str | int | None, lines: list[Line], what: str
) -> Line | None:
    if channel is None:
        return None
    number = recording.column(channel) + 1
    for line in lines:
        if line.number == number:
            return line
    name = recording.channels[number - 1].name
    raise RecordingError(
        f"{recording.path.name}: channel {number} {name!r}, given as the {what}"
        f"{' line' if what == 'trip' else ' sensor'}, never moves: it holds nothing but noise."
        f" Is it the wrong channel? Channels that move: {_listed(lines)}."
    )


def _trip(recording: Recording, lines: list[Line]) -> Line:
    """The line that changes least often, between two levels; by its name where it tells."""
    named = [line for line in lines if _named(line, TRIP_NAMES) and not _named(line, ROLL_NAMES)]
    two = [line for line in lines if 1 <= len(line.edges) < MANY]
    for among in ([line for line in two if line in named], two):
        if among:
            return min(among, key=lambda line: (-round(line.edges.near, 1), line.edges.times[0]))
    raise RecordingError(
        f"{recording.path.name}: no channel changes like a trip line, once between two levels"
        f" (channels that move: {_listed(lines)}). Name the trip line's channel, or log the line"
        " that drops when the detector trips."
    )


def _roll(recording: Recording, lines: list[Line], trip: Line) -> Line:
    if not lines:
        raise RecordingError(
            f"{recording.path.name}: no channel but {trip.name!r} moves. Either the roll never"
            " turned, or its sensor was not connected."
        )
    named = [line for line in lines if _named(line, ROLL_NAMES)]
    return max(named or lines, key=lambda line: (len(line.edges) >= MANY, len(line.edges)))


def _named(line: Line, words: tuple[str, ...]) -> bool:
    return any(word in line.name.casefold() for word in words)


def _listed(lines: list[Line]) -> str:
    told = [f"{line.number} {line.name!r} with {len(line.edges)} edges" for line in lines]
    return ", ".join(told) or "none"
