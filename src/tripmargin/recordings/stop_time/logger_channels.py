"""Which of a logger's channels is the trip line, and which the roll's sensor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tripmargin.ground.languages import say
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
            say(
                "{file} has {count} channel; a logged stop needs two: the trip line and the"
                " roll's sensor. If it is a sound recording, say so.",
                file=recording.path.name,
                count=count,
            )
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
        why = say("it changes once between two levels, and first")
        guesses.append(Guess("trip line", trip.name, why, "trip"))
    if roll is None:
        roll = _roll(recording, [line for line in lines if line is not trip], trip)
        guesses.append(Guess("roll sensor", roll.name, say("of the others it moves most"), "roll"))
    kind = options.roll_is or ("pulses" if _before(roll, trip) >= MANY else "speed")
    if options.roll_is is None:
        why = say("it has {edges} edges before the trip", edges=_before(roll, trip))
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
    values = {
        "file": recording.path.name,
        "number": number,
        "channel": name,
        "lines": _listed(lines),
    }
    if what == "trip":
        raise RecordingError(
            say(
                "{file}: channel {number} {channel!r}, given as the trip line, never moves: it"
                " holds nothing but noise. Is it the wrong channel? Channels that move: {lines}.",
                **values,
            )
        )
    raise RecordingError(
        say(
            "{file}: channel {number} {channel!r}, given as the roll sensor, never moves: it"
            " holds nothing but noise. Is it the wrong channel? Channels that move: {lines}.",
            **values,
        )
    )


def _trip(recording: Recording, lines: list[Line]) -> Line:
    """The line that changes least often, between two levels; by its name where it tells."""
    named = [line for line in lines if _named(line, TRIP_NAMES) and not _named(line, ROLL_NAMES)]
    two = [line for line in lines if 1 <= len(line.edges) < MANY]
    for among in ([line for line in two if line in named], two):
        if among:
            return min(among, key=lambda line: (-round(line.edges.near, 1), line.edges.times[0]))
    raise RecordingError(
        say(
            "{file}: no channel changes like a trip line, once between two levels (channels"
            " that move: {lines}). Name the trip line's channel, or log the line that drops"
            " when the detector trips.",
            file=recording.path.name,
            lines=_listed(lines),
        )
    )


def _roll(recording: Recording, lines: list[Line], trip: Line) -> Line:
    if not lines:
        raise RecordingError(
            say(
                "{file}: no channel but {channel!r} moves. Either the roll never turned, or"
                " its sensor was not connected.",
                file=recording.path.name,
                channel=trip.name,
            )
        )
    named = [line for line in lines if _named(line, ROLL_NAMES)]
    return max(named or lines, key=lambda line: (len(line.edges) >= MANY, len(line.edges)))


def _named(line: Line, words: tuple[str, ...]) -> bool:
    return any(word in line.name.casefold() for word in words)


def _listed(lines: list[Line]) -> str:
    told = [
        say(
            "{number} {name!r} with {edges} edges",
            number=line.number,
            name=line.name,
            edges=len(line.edges),
        )
        for line in lines
    ]
    return ", ".join(told) or say("none")
