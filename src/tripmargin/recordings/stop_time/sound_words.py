"""What a stop time from sound says in words."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.ground.units import percent
from tripmargin.recordings.recording import Recording, Trouble
from tripmargin.recordings.stop_time.options import SoundOptions, ends
from tripmargin.recordings.stop_time.result import NO_STOP, Event
from tripmargin.recordings.stop_time.sound_events import LOUDEST
from tripmargin.recordings.stop_time.sound_posterior import Heard

FAINT = 0.15
"""Chance that the click is none of the knocks heard, from which it is said."""
UNSURE = 0.6
"""Chance of the likeliest click, below which it is said that it may be another."""
WIDE = 0.08
"""s, of the interval by the wide prior, from which the sound may hold no stop at all. Of 226
answers to machine noise without a stop 94 in 100 are wider (tests/recordings/test_no_stop.py)."""
LIKE = 25.0
"""`Fall.likeness` below which there may be no stop. Of the answers to machine noise that are
narrower than `WIDE` 3 in 4 lie below it, of stops at 10 dB none, at 3 dB 4 in 100."""
POOR = 1.0
"""Running roll over background, from which it is clear."""


def silent_words(recording: Recording, loudest: float) -> str:
    """Nothing but silence."""
    return (
        f"{recording.path.name} is silent: its loudest sample is {loudest:.2g} of full scale."
        " Was the microphone covered, muted or not allowed? Record again."
    )


def wild_words(recording: Recording, at: float, value: float) -> str:
    """A sample that no sound can have."""
    seen = f"{value:.3g}" if abs(value) < 1e300 else "infinite"
    return (
        f"{recording.path.name}: the sample at {at:.4g} s is {seen}. Allowed: sound runs from"
        f" -1 to 1, and up to {LOUDEST:g} is taken. The file is damaged, or its numbers are no"
        " sound. Copy it from the phone again."
    )


def too_early_words(recording: Recording, seconds: float, less: float) -> str:
    """What is taken off is longer than what was heard or logged."""
    return (
        f"{recording.path.name}: the rolls stand {seconds * 1e3:.0f} ms after the stop's first"
        f" sign, and {less * 1e3:.0f} ms are to be taken off that: nothing is left. Allowed: less"
        " than the whole. Put the pause before the trip, and the distances, right."
    )


def short_words(recording: Recording, seconds: float) -> str:
    """Too short for a stop."""
    return (
        f"{recording.path.name} holds {seconds:.2g} s of sound; a stop needs 0.4 s at least."
        " Let it run from 2 s before the button is pressed to 2 s after the rolls stand."
    )


def ends_early_words(recording: Recording, seconds: float) -> str:
    """Too little sound after the stop."""
    return (
        f"{recording.path.name} ends {seconds * 1e3:.0f} ms after the rolls' noise falls; 50 ms are"
        " needed to know the machine's own noise. Let the recording run for 2 s after the stop."
    )


def begins_late_words(recording: Recording, seconds: float) -> str:
    """Too little sound before the stop."""
    return (
        f"{recording.path.name} begins {seconds * 1e3:.0f} ms before the rolls' noise falls; 100 ms"
        " are needed to know how the rolls sound. Start it 2 s before the button is pressed."
    )


def no_event_words(recording: Recording) -> str:
    """No stop."""
    return (
        f"{recording.path.name}: there is no moment at which a running noise breaks off. Either"
        " the rolls never ran or never stopped, the phone was too far away, or it is another file."
        " If you can hear the stop, give its instants by hand."
    )


def several_words(events: Sequence[Event], which: int, asked: bool) -> str:
    """Several stops in one recording."""
    listed = "; ".join(
        f"{e.number}: at {e.at:.2f} s, {e.value * 1e3:.0f} ms ({e.low * 1e3:.0f} to"
        f" {e.high * 1e3:.0f})"
        for e in events
    )
    taken = f"number {which} is taken" if asked else f"number {which}, the clearest, is taken"
    return (
        f"{len(events)} places sound like a stop ({listed}); {taken}."
        " Ask for another by its number."
    )


def which_words(recording: Recording, count: int, which: int) -> str:
    """No stop of that number."""
    stops = "1 stop" if count == 1 else f"{count} stops"
    return (
        f"{recording.path.name} holds {stops}; number {which} was asked for. Allowed: 1 to {count}."
    )


def clipped_words(share: float, near: Sequence[str]) -> str:
    """Samples at full scale."""
    if near:
        where = f"The sound is clipped near the {' and the '.join(near)}: the interval is wider."
    else:
        where = "The sound is clipped, though not near the stop."
    much = percent(share) if share >= 0.01 else "less than 1 %"
    return f"{where} In all, {much} of the samples are at full scale. Record from farther away."


def no_stop_words(width: float, likeness: float) -> tuple[Trouble, ...]:
    """That there may be no stop: the interval's width by the wide prior, s, and `Fall.likeness`."""
    if width < WIDE and likeness >= LIKE:
        return ()
    if width < WIDE:
        why = "the noise falls no farther, and the knocks before it are no louder, than machines do"
        why += " by themselves"
    else:
        why = f"noise alone gives intervals as wide as this one, {width * 1e3:.0f} ms"
    words = (
        f"It is not clear that this is a stop: {why}. Put click and rest by hand where you hear"
        " them, or record again, nearer to the rolls, from outside."
    )
    return (Trouble(NO_STOP, words),)


def faint_words(heard: Heard) -> tuple[Trouble, ...]:
    """What is hardly heard."""
    made = []
    rest = float((heard.decay.chance * heard.decay.rests).sum())
    if heard.unheard > FAINT:
        made.append(
            Trouble(
                "faint",
                "The button's click is hardly heard: with a chance of"
                f" {percent(heard.unheard)} it is none of the knocks before the stop. Put it by"
                " hand where you hear it, or record nearer to the button.",
                rest,
            )
        )
    elif heard.chances.max() < UNSURE:
        made.append(
            Trouble(
                "faint",
                "Several knocks may be the button's click, so the interval is wide. Put the click"
                " by hand where you hear it, or record nearer to the button.",
                rest,
            )
        )
    if heard.contrast < POOR:
        made.append(
            Trouble(
                "faint",
                "The rolls are hardly heard over the machine, so their rest is uncertain. Record"
                " nearer to the rolls, from outside, or let the engine run slower.",
                rest,
            )
        )
    return tuple(made)


def assumed_words(options: SoundOptions, recording: Recording) -> tuple[str, ...]:
    """What was assumed, in whole sentences."""
    low, high = ends(options.click_delay)
    if low == high == 0:
        first = (
            "The button's click is taken as the moment at which the threshold is crossed;"
            " where the pause between click and trip is known, give it, in ms."
        )
    else:
        first = f"The threshold is crossed {_between(low * 1e3, high * 1e3)} ms after the click."
    near, far = ends(options.distance_difference)
    if near == -far:
        where = "The rolls are taken as far from the microphone as the button"
        where += f", within {far:g} m" if far else ""
    else:
        where = f"The rolls are {_between(near, far)} m farther from the microphone than the button"
    way = (
        f"{where}; sound takes {options.slowness * 1e3:.3f} ms a metre at"
        f" {options.temperature:g} °C. Where the distances are known, give how much farther the"
        " rolls are."
    )
    if options.machine is None:
        likely = "Beforehand, stops of 15 to 200 ms were taken as likely."
    else:
        likely = (
            f"Beforehand, the stop time that {options.machine.name}'s file gives was taken as"
            " likely: this measurement does not check that file by itself."
        )
    noise = (
        "The rolls' noise is taken to fall with their speed, and their speed evenly from the last"
        " pawl's catch to rest."
    )
    made = [first, way, noise, likely]
    if options.rate:
        made.append(
            f"{options.rate:g} samples a second, as given; the file says {recording.rate:g}."
        )
    return tuple(made)


def _between(low: float, high: float) -> str:
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"
