"""Stop time from a logger's two channels: the trip line and the roll's sensor."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tripmargin.ground.languages import say, say_many
from tripmargin.recordings.recording import Recording, RecordingError, Trouble
from tripmargin.recordings.stop_time.logger_channels import MANY, Line, Lines, lines_of
from tripmargin.recordings.stop_time.logger_edges import Edges
from tripmargin.recordings.stop_time.logger_pulses import Rest, rest_of, train_of
from tripmargin.recordings.stop_time.logger_speed import rest_from_speed
from tripmargin.recordings.stop_time.logger_words import BOUNCE, assumed_words, noticed_words
from tripmargin.recordings.stop_time.options import LoggerOptions, ends
from tripmargin.recordings.stop_time.result import Event, Instant, StopTime, Trace
from tripmargin.recordings.stop_time.sound_posterior import quantiles
from tripmargin.recordings.stop_time.sound_words import (
    several_words,
    too_early_words,
    which_words,
)

LEAD, TAIL = 2.0, 4.0
"""s that are looked at before and after a trip."""
MANY_TRIPS, APART = 6, 1.5
"""So many edges that come sooner after one another than so many s, on average, are no trips."""
STOOD = 3.0
"""Spacings of the pulses without one, from which a roll stands."""


def stop_time_from_logger(recording: Recording, options: LoggerOptions) -> StopTime:
    """Stop time from a logger's recording.

    Raises
    ------
    RecordingError
        If the channels cannot be told apart or are the wrong ones: the trip line has no edge or
        very many, the roll never turned or never stopped.
    """
    lines = lines_of(recording, options)
    trips = _trips(recording, lines.trip)
    measured, refused = [], []
    for k in range(len(trips)):
        try:
            measured.append(_measured(recording, options, lines, trips, k))
        except RecordingError as error:
            refused.append(error)
    if not measured:
        raise refused[0]
    ordered = [
        Event(n, each.instant("trip").time, each.value, each.low, each.high)
        for n, each in enumerate(measured, start=1)
    ]
    which = options.which or 1
    if which > len(ordered):
        raise RecordingError(which_words(recording, len(ordered), which))
    one = measured[which - 1]
    if len(measured) == 1:
        return one
    words = several_words(ordered, which, True)
    return replace(one, events=tuple(ordered), troubles=(*one.troubles, Trouble("several", words)))


def _trips(recording: Recording, line: Line) -> Edges:
    """Edges that begin a trip: away from the level that the line has first, bounces left out."""
    edges = line.edges
    if not len(edges):
        raise RecordingError(
            say(
                "{file}: channel {number} {channel!r}, the trip line, has no edge: it stays"
                " between {low:g} and {high:g}. Did the detector trip, and is it the right"
                " channel? Name the trip line's channel.",
                file=recording.path.name,
                number=line.number,
                channel=line.name,
                low=line.levels.low,
                high=line.levels.high,
            )
        )
    first = edges.of(bool(edges.rising[0]))
    keep = np.concatenate([[True], np.diff(first.times) > BOUNCE])
    trips = first.where(keep)
    apart = np.unique(np.floor(first.times / BOUNCE))
    if len(apart) >= MANY_TRIPS and np.ptp(apart) * BOUNCE < APART * len(apart):
        raise RecordingError(
            say(
                "{file}: channel {number} {channel!r}, the trip line, has {edges} edges: that"
                " is no trip line. Is it the roll's sensor? Name the trip line's channel.",
                file=recording.path.name,
                number=line.number,
                channel=line.name,
                edges=len(edges),
            )
        )
    return trips


def _measured(
    recording: Recording, options: LoggerOptions, lines: Lines, trips: Edges, k: int
) -> StopTime:
    trip = float(trips.times[k])
    until = float(trips.times[k + 1]) if k + 1 < len(trips) else np.inf
    rest = (_from_pulses if lines.roll_is == "pulses" else _from_speed)(
        recording, lines, trip, min(until, trip + TAIL)
    )
    low, middle, high = quantiles(rest.rests, rest.chances, (0.025, 0.5, 0.975))
    delay = ends(options.trip_delay)
    half = 0.95 * (delay[1] - delay[0]) / 2
    early, late = float(trips.low[k]), float(trips.high[k])
    value = float(middle) - trip + sum(delay) / 2
    if value <= 0:
        words = too_early_words(recording, float(middle) - trip, -sum(delay) / 2)
        raise RecordingError(words)
    down = np.hypot(np.hypot(middle - low, 0.95 * (late - trip)), half)
    up = np.hypot(np.hypot(high - middle, 0.95 * (trip - early)), half)
    found = _instants(lines, rest, (early, trip, late), (float(low), float(middle), float(high)))
    bounces = int(
        ((lines.trip.edges.times > trip) & (lines.trip.edges.times < trip + BOUNCE)).sum()
    )
    return StopTime(
        value,
        max(value - float(down), 0.0),
        value + float(up),
        found,
        "trip",
        "rest",
        "logger",
        -sum(delay) / 2,
        half,
        (*recording.troubles, *noticed_words(lines, rest, bounces, trip)),
        assumed_words(lines, options),
        recording.path.name,
        recording.sha256,
        traces=_traces(recording, lines, trip, float(middle)),
    )


def _from_pulses(recording: Recording, lines: Lines, trip: float, until: float) -> Rest:
    roll = lines.roll
    times = roll.edges.times
    near = roll.edges.where((times > trip - LEAD) & (times < until))
    before = near.times[near.times < trip]
    if len(before) < MANY:
        raise RecordingError(
            say(
                "{file}: channel {number} {channel!r}, the roll's sensor, shows {before} edges"
                " before the trip at {trip:.3f} s: the roll never turned, or it is the wrong"
                " channel. Name the roll's channel.",
                file=recording.path.name,
                number=roll.number,
                channel=roll.name,
                before=len(before),
                trip=trip,
            )
        )
    spacing = float(np.median(np.diff(before)))
    gaps = np.flatnonzero(np.diff(near.times) > STOOD * max(spacing, 1e-9) * 2)
    if len(gaps) and near.times[gaps[0]] < trip - 4 * spacing:
        late = gaps[near.times[gaps] > trip]
        gaps = late
        if not len(late) and near.times[-1] < trip - 4 * spacing:
            raise RecordingError(_stood_before(recording, roll, trip))
    near = near.where(np.arange(len(near)) <= gaps[0]) if len(gaps) else near
    last = float(near.times[-1])
    if last < trip - 4 * spacing:
        raise RecordingError(_stood_before(recording, roll, trip))
    end = min(until, recording.duration)
    if not len(gaps) and end - last < STOOD * 2 * spacing:
        raise RecordingError(
            say(
                "{file}: channel {number} {channel!r}, the roll's sensor, still pulses at"
                " {last:.3f} s, where the recording ends: the roll never stopped, or it is"
                " the wrong channel.",
                file=recording.path.name,
                number=roll.number,
                channel=roll.name,
                last=last,
            )
        )
    square = roll.edges.near > 0.9
    return rest_of(train_of(near, trip, square), trip)


def _stood_before(recording: Recording, roll: Line, trip: float) -> str:
    return say(
        "{file}: channel {number} {channel!r}, the roll's sensor, stood already when the"
        " trip line changed at {trip:.3f} s. Are the channels swapped? Name the trip"
        " line's and the roll's.",
        file=recording.path.name,
        number=roll.number,
        channel=roll.name,
        trip=trip,
    )


def _from_speed(recording: Recording, lines: Lines, trip: float, until: float) -> Rest:
    roll = lines.roll
    block = recording.read((roll.number,), start=max(trip - LEAD, 0.0), stop=until)
    rest = rest_from_speed(block.times, block.values[:, 0], trip)
    if rest is None:
        raise RecordingError(
            say(
                "{file}: channel {number} {channel!r}, the roll's speed, does not come down to"
                " rest after the trip at {trip:.3f} s: the roll never turned or never"
                " stopped, or it is the wrong channel. Name the roll's channel.",
                file=recording.path.name,
                number=roll.number,
                channel=roll.name,
                trip=trip,
            )
        )
    return rest


def _instants(
    lines: Lines,
    rest: Rest,
    trip: tuple[float, float, float],
    stands: tuple[float, float, float],
) -> tuple[Instant, ...]:
    early, catch, late = quantiles(rest.catches, rest.chances, (0.025, 0.5, 0.975))
    middle = lines.trip.levels.middle
    if lines.trip.unit:
        crosses = say(
            "{name!r} crosses halfway between its two levels, at {middle:.4g} {unit}.",
            name=lines.trip.name,
            middle=middle,
            unit=lines.trip.unit,
        )
    else:
        crosses = say(
            "{name!r} crosses halfway between its two levels, at {middle:.4g}.",
            name=lines.trip.name,
            middle=middle,
        )
    slows = say("The roll begins to slow down.")
    found = [
        Instant("trip", trip[1], trip[0], trip[2], crosses),
        Instant("catch", float(catch), float(early), float(late), slows),
    ]
    if lines.roll_is == "pulses":
        if rest.slowed:
            how = say_many(
                "One pulse came while it slowed down; after the last the roll turned by less than"
                " one.",
                "{count} pulses came while it slowed down; after the last the roll turned by less"
                " than one.",
                rest.slowed,
            )
        else:
            how = say(
                "No pulse came while it slowed down; after the last the roll turned by less than"
                " one."
            )
        last, edge = rest.last_pulse, say("The last edge of {name!r}.", name=lines.roll.name)
        found.append(Instant("last pulse", last, last, last, edge))
    else:
        how = say("{name!r} has fallen to its floor.", name=lines.roll.name)
    found.append(Instant("rest", stands[1], stands[0], stands[2], how))
    return tuple(sorted(found, key=lambda each: each.time))


def _traces(recording: Recording, lines: Lines, trip: float, rest: float) -> tuple[Trace, ...]:
    """Both channels around the stop, scaled from 0 to 1."""
    room = max(0.9 * (rest - trip), 0.03)
    numbers = (lines.trip.number, lines.roll.number)
    block = recording.read(numbers, start=max(trip - room, 0.0), stop=rest + room)
    step = max(len(block.times) // 1500, 1)
    made = []
    for k, line in enumerate((lines.trip, lines.roll)):
        share = (block.values[::step, k] - line.levels.low) / max(line.levels.swing, 1e-12)
        made.append(Trace(line.name, block.times[::step], share))
    return tuple(made)
