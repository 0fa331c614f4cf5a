"""Stop time from sound: the button's click, the pawls' clack, the rolls' noise dying away."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from tripmargin.ground.languages import say, say_many
from tripmargin.recordings.recording import Block, Recording, RecordingError, Trouble
from tripmargin.recordings.stop_time.options import SoundOptions, ends
from tripmargin.recordings.stop_time.result import Event, Instant, StopTime, Trace
from tripmargin.recordings.stop_time.sound_events import (
    Overview,
    coarse_rest,
    finite,
    overview_of,
)
from tripmargin.recordings.stop_time.sound_frames import Floats, frames_of, steady_mean
from tripmargin.recordings.stop_time.sound_posterior import (
    Heard,
    Prior,
    heard_of,
    prior_of,
    quantiles,
    stop_density,
    usual_stop,
)
from tripmargin.recordings.stop_time.sound_ranking import Fall, ranked
from tripmargin.recordings.stop_time.sound_rate import LOOKED_AT, rate_troubles
from tripmargin.recordings.stop_time.sound_words import (
    assumed_words,
    begins_late_words,
    clipped_words,
    ends_early_words,
    faint_words,
    no_event_words,
    no_stop_words,
    several_words,
    short_words,
    silent_words,
    too_early_words,
    which_words,
    wild_words,
)

LEAD, TAIL = 1.0, 0.55
"""s of sound that are looked at before and after an event."""
COARSE_LATE = 0.005
"""s by which the coarse instant comes late."""
SILENT = 1e-4
"""Of full scale: nothing louder is silence."""
NEEDED, NEEDED_BEFORE = 0.05, 0.1
"""s of sound after and before the stop that are needed at least."""
SHORTEST = 0.4
"""s of sound that a stop needs."""


def stop_time_from_sound(recording: Recording, options: SoundOptions) -> StopTime:
    """Stop time from a recording of sound.

    Raises
    ------
    RecordingError
        If there is no sampling rate, nothing but silence, no moment at which a running roll's
        noise breaks off, or no stop of the number asked for.
    """
    sound = _Sound.of(recording, options)
    overview = overview_of(sound.blocks(), sound.rate)
    if overview.wild is not None:
        raise RecordingError(wild_words(recording, *overview.wild))
    if overview.loudest < SILENT:
        raise RecordingError(silent_words(recording, overview.loudest))
    if overview.samples < SHORTEST * sound.rate:
        raise RecordingError(short_words(recording, overview.samples / sound.rate))
    found = ranked(overview, sound.rate, sound.around)
    if not found:
        raise RecordingError(no_event_words(recording))
    prior = prior_of(options)
    if len(found) == 1 and options.which in (None, 1):
        made = _measured(sound, overview, found[0], prior)
    else:
        made = _chosen(sound, overview, found, prior)
    if options.known_tone is None:
        return made
    return replace(made, troubles=(*made.troubles, *sound.rate_troubles(options.known_tone)))


@dataclass(frozen=True)
class _Sound:
    """The channels asked for, at the rate asked for."""

    recording: Recording
    options: SoundOptions
    rate: float
    slower: float  # the file's rate over the true one: its seconds are so many true ones
    channels: tuple[str | int, ...] | None

    @classmethod
    def of(cls, recording: Recording, options: SoundOptions) -> _Sound:
        own = recording.rate
        if own is None:
            raise RecordingError(
                say(
                    "{file}: its times are uneven, so it is no sound recording. If it is a"
                    " logger's file, say so; else give the samples a second when reading it.",
                    file=recording.path.name,
                )
            )
        rate = options.rate or own
        if rate < 4000:
            raise RecordingError(
                say(
                    "{file}: {rate:g} samples a second are too few for sound. Allowed: from"
                    " 4000; a phone takes 44100 or 48000. Is it a logger's file?",
                    file=recording.path.name,
                    rate=rate,
                )
            )
        return cls(recording, options, rate, own / rate, options.channels)

    def blocks(self) -> Iterator[Block]:
        """The whole, in blocks."""
        for block in self.recording.blocks(self.channels):
            yield block if self.slower == 1 else Block(block.times * self.slower, block.values)

    def rate_troubles(self, tone: float) -> tuple[Trouble, ...]:
        """What a known tone says about the rate."""
        block = self.recording.read(self.channels, start=0.0, stop=LOOKED_AT / self.slower)
        return rate_troubles(finite(block.values), self.rate, tone)

    def around(self, at: float) -> tuple[Floats, float]:
        """Samples around an instant, s, and the time of the first."""
        start, stop = (at - LEAD) / self.slower, (at + TAIL) / self.slower
        block = self.recording.read(self.channels, start=max(start, 0.0), stop=stop)
        return finite(block.values), float(block.times[0]) * self.slower


def _chosen(sound: _Sound, overview: Overview, found: list[Fall], prior: Prior) -> StopTime:
    """One of several stops, and the list of them all."""
    whole: dict[float, StopTime] = {}
    refused: list[RecordingError] = []
    for fall in found:
        try:
            whole[fall.at] = _measured(sound, overview, fall, prior)
        except RecordingError as error:
            refused.append(error)
    if not whole:
        raise refused[0]
    ordered = sorted(whole)
    which = sound.options.which or ordered.index(next(iter(whole))) + 1
    if which > len(ordered):
        raise RecordingError(which_words(sound.recording, len(ordered), which))
    measured = [whole[at] for at in ordered]
    if len(measured) == 1:
        return measured[0]
    events = tuple(
        Event(k, each.instant("rest").time, each.value, each.low, each.high)
        for k, each in enumerate(measured, start=1)
    )
    words = several_words(events, which, sound.options.which is not None)
    one = measured[which - 1]
    return replace(one, events=events, troubles=(*one.troubles, Trouble("several", words)))


def _measured(sound: _Sound, overview: Overview, fall: Fall, prior: Prior) -> StopTime:
    samples, start = sound.around(fall.at)
    frames = frames_of(samples, sound.rate, start)
    coarse = coarse_rest(frames, fall.at) - COARSE_LATE
    before, after = coarse - float(frames.times[0]), float(frames.times[-1]) - coarse
    if after < NEEDED:
        raise RecordingError(ends_early_words(sound.recording, max(after, 0.0)))
    if before < NEEDED_BEFORE:
        raise RecordingError(begins_late_words(sound.recording, max(before, 0.0)))
    heard = heard_of(samples, sound.rate, start, coarse, prior)
    options = sound.options
    delay, ways = ends(options.click_delay), ends(options.distance_difference)
    boxes = (delay, (ways[0] * options.slowness, ways[1] * options.slowness))
    values, chances = stop_density(heard, prior, boxes)
    low, value, high = quantiles(values, chances, (0.025, 0.5, 0.975))
    width = float(high - low)
    if prior is not usual_stop:  # what the machine's file expects is no sign of a stop
        heard_alone = heard_of(samples, sound.rate, start, coarse, usual_stop)
        ends_alone = quantiles(*stop_density(heard_alone, usual_stop, boxes), (0.025, 0.975))
        width = float(ends_alone[1] - ends_alone[0])
    offset = sum(sum(box) / 2 for box in boxes)
    if value <= 0:
        raise RecordingError(too_early_words(sound.recording, float(value) + offset, offset))
    halves = [0.95 * (box[1] - box[0]) / 2 for box in boxes]
    budget = float(np.hypot(halves[0], halves[1]))
    instants = _instants(heard)
    wider, clipped = _clipped(overview, instants, sound.recording)
    troubles = (*no_stop_words(width, fall.likeness), *clipped, *faint_words(heard))
    return StopTime(
        float(value),
        max(float(low) - wider, 0.0),
        float(high) + wider,
        instants,
        "click",
        "rest",
        "sound",
        offset,
        budget + wider,
        (
            *sound.recording.troubles,
            *no_stop_words(width, fall.likeness),
            *troubles,
            *faint_words(heard),
        ),
        assumed_words(options, sound.recording),
        sound.recording.path.name,
        sound.recording.sha256,
        traces=(_trace(heard, instants[-1].time),),
    )


def _instants(heard: Heard) -> tuple[Instant, ...]:
    click = _click(heard)
    caught = heard.decay.chance.sum(axis=1)
    early, catch, late = quantiles(heard.decay.catches, caught, (0.025, 0.5, 0.975))
    rests, chances = heard.decay.rests.ravel(), heard.decay.chance.ravel()
    low, rest, high = quantiles(rests, chances, (0.025, 0.5, 0.975))
    return (
        click,
        Instant(
            "catch",
            float(catch),
            float(early),
            float(late),
            say("The last pawl's clack, from which the rolls' noise falls."),
        ),
        Instant(
            "rest",
            float(rest),
            float(low),
            float(high),
            say("The rolls' noise has died away in the machine's own."),
        ),
    )


def _click(heard: Heard) -> Instant:
    """The likeliest click, with the interval over all knocks that may be it."""
    if not len(heard.chances) or heard.chances.max() < heard.unheard:
        rest = float((heard.decay.chance * heard.decay.rests).sum())
        return Instant(
            "click",
            rest - 0.055,
            rest - 0.2,
            rest - 0.015,
            say("Not heard: placed where a usual stop would begin."),
        )
    best = heard.knocks[int(np.argmax(heard.chances))]
    times, weights = [], []
    for knock, chance in zip(heard.knocks, heard.chances, strict=True):
        for step in np.linspace(-2, 2, 9):
            times.append(knock.time + step * knock.sd)
            weights.append(chance * np.exp(-0.5 * step**2))
    low, high = quantiles(np.array(times), np.array(weights), (0.025, 0.975))
    others = int((heard.chances > 0.03).sum()) - 1
    how = say("The first knock that stands out from the machine's noise.")
    if others > 0:
        how = say_many(
            "The first knock that stands out from the machine's noise; 1 other may be it.",
            "The first knock that stands out from the machine's noise; {count} others may be it.",
            others,
        )
    return Instant("click", best.time, min(float(low), best.time), max(float(high), best.time), how)


def _clipped(
    overview: Overview, instants: tuple[Instant, ...], recording: Recording
) -> tuple[float, list[Trouble]]:
    """By how much clipping near the instants widens the interval, s, and the words for it."""
    if not overview.clipped_samples:
        return 0.0, []
    share = overview.clipped_samples / max(overview.samples, 1)
    middles = np.array([(a + b) / 2 for a, b in overview.clipped])
    wider, near = 0.0, []
    for each, reach, widening in (
        (instants[0], 0.004, 5e-4), (instants[1], 0.03, 5e-4), (instants[-1], 0.02, 2e-3)
    ):  # fmt: skip
        if (np.abs(middles - each.time) < reach).any():
            wider = float(np.hypot(wider, widening))
            near.append(each.name)
    told = any(each.what == "clipped" for each in recording.troubles)
    if told and not near:
        return 0.0, []
    return wider, [Trouble("clipped", clipped_words(share, near), float(middles[0]))]


def _trace(heard: Heard, rest: float) -> Trace:
    """Level over the background around the stop, dB: mean over the lines."""
    frames = heard.frames
    quiet = frames.between(rest + 0.03, rest + 0.43)
    background = steady_mean(frames.power[quiet] if quiet.stop - quiet.start > 5 else frames.power)
    inside = frames.between(rest - 0.4, rest + 0.3)
    level = 10 * np.log10((frames.power[inside] / background).mean(axis=1))
    return Trace(say("sound over the machine's own, dB"), frames.times[inside], level)
