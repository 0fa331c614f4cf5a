"""What a stop time from sound says in words."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.ground.languages import numeral, say, say_as, say_many
from tripmargin.ground.languages.lists import listed
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
    return say(
        "{file} is silent: its loudest sample is {loudest:.2g} of full scale. Was the"
        " microphone covered, muted or not allowed? Record again.",
        file=recording.path.name,
        loudest=loudest,
    )


def wild_words(recording: Recording, at: float, value: float) -> str:
    """A sample that no sound can have."""
    seen = numeral(value, ".3g") if abs(value) < 1e300 else say("infinite")
    return say(
        "{file}: the sample at {at:.4g} s is {seen}. Allowed: sound runs from -1 to 1,"
        " and up to {most:g} is taken. The file is damaged, or its numbers are no"
        " sound. Copy it from the phone again.",
        file=recording.path.name,
        at=at,
        seen=seen,
        most=LOUDEST,
    )


def too_early_words(recording: Recording, seconds: float, less: float) -> str:
    """What is taken off is longer than what was heard or logged."""
    return say(
        "{file}: the rolls stand {seconds:.0f} ms after the stop's first sign, and"
        " {less:.0f} ms are to be taken off that: nothing is left. Allowed: less than"
        " the whole. Put the pause before the trip, and the distances, right.",
        file=recording.path.name,
        seconds=seconds * 1e3,
        less=less * 1e3,
    )


def short_words(recording: Recording, seconds: float) -> str:
    """Too short for a stop."""
    return say(
        "{file} holds {seconds:.2g} s of sound; a stop needs 0.4 s at least. Let it run"
        " from 2 s before the button is pressed to 2 s after the rolls stand.",
        file=recording.path.name,
        seconds=seconds,
    )


def ends_early_words(recording: Recording, seconds: float) -> str:
    """Too little sound after the stop."""
    return say(
        "{file} ends {seconds:.0f} ms after the rolls' noise falls; 50 ms are needed to"
        " know the machine's own noise. Let the recording run for 2 s after the stop.",
        file=recording.path.name,
        seconds=seconds * 1e3,
    )


def begins_late_words(recording: Recording, seconds: float) -> str:
    """Too little sound before the stop."""
    return say(
        "{file} begins {seconds:.0f} ms before the rolls' noise falls; 100 ms are needed"
        " to know how the rolls sound. Start it 2 s before the button is pressed.",
        file=recording.path.name,
        seconds=seconds * 1e3,
    )


def no_event_words(recording: Recording) -> str:
    """No stop."""
    return say(
        "{file}: there is no moment at which a running noise breaks off. Either the"
        " rolls never ran or never stopped, the phone was too far away, or it is another"
        " file. If you can hear the stop, give its instants by hand.",
        file=recording.path.name,
    )


def several_words(events: Sequence[Event], which: int, asked: bool) -> str:
    """Several stops in one recording."""
    stops = "; ".join(
        say(
            "{number}: at {at:.2f} s, {value:.0f} ms ({low:.0f} to {high:.0f})",
            number=e.number,
            at=e.at,
            value=e.value * 1e3,
            low=e.low * 1e3,
            high=e.high * 1e3,
        )
        for e in events
    )
    if asked:
        return say(
            "{count} places sound like a stop ({stops}); number {which} is taken. Ask for another"
            " by its number.",
            count=len(events),
            stops=stops,
            which=which,
        )
    return say(
        "{count} places sound like a stop ({stops}); number {which}, the clearest, is taken. Ask"
        " for another by its number.",
        count=len(events),
        stops=stops,
        which=which,
    )


def which_words(recording: Recording, count: int, which: int) -> str:
    """No stop of that number."""
    return say_many(
        "{file} holds 1 stop; number {which} was asked for. Allowed: 1 to {count}.",
        "{file} holds {count} stops; number {which} was asked for. Allowed: 1 to {count}.",
        count,
        file=recording.path.name,
        which=which,
    )


def clipped_words(share: float, near: Sequence[str]) -> str:
    """Samples at full scale."""
    where = say("The sound is clipped, though not near the stop.")
    if near:
        where = say(
            "The sound is clipped near {instants}: the interval is wider.",
            instants=listed(map(_near, near)),
        )
    if share < 0.01:
        much = say(
            "In all, less than 1 % of the samples are at full scale. Record from farther away."
        )
    else:
        much = say(
            "In all, {share} of the samples are at full scale. Record from farther away.",
            share=percent(share),
        )
    return f"{where} {much}"


def _near(instant: str) -> str:
    """An instant's name as it stands behind "near"."""
    named = {
        "click": say_as("near", "the click"),
        "catch": say_as("near", "the catch"),
        "rest": say_as("near", "the rest"),
    }
    return named.get(instant, instant)


def no_stop_words(width: float, likeness: float) -> tuple[Trouble, ...]:
    """That there may be no stop: the interval's width by the wide prior, s, and `Fall.likeness`."""
    if width < WIDE and likeness >= LIKE:
        return ()
    if width < WIDE:
        words = say(
            "It is not clear that this is a stop: the noise falls no farther, and the knocks"
            " before it are no louder, than machines do by themselves. Put click and rest by hand"
            " where you hear them, or record again, nearer to the rolls, from outside."
        )
    else:
        words = say(
            "It is not clear that this is a stop: noise alone gives intervals as wide as this one,"
            " {width:.0f} ms. Put click and rest by hand where you hear them, or record again,"
            " nearer to the rolls, from outside.",
            width=width * 1e3,
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
                say(
                    "The button's click is hardly heard: with a chance of {unheard} it is"
                    " none of the knocks before the stop. Put it by hand where you hear it,"
                    " or record nearer to the button.",
                    unheard=percent(heard.unheard),
                ),
                rest,
            )
        )
    elif heard.chances.max() < UNSURE:
        made.append(
            Trouble(
                "faint",
                say(
                    "Several knocks may be the button's click, so the interval is wide. Put"
                    " the click by hand where you hear it, or record nearer to the button."
                ),
                rest,
            )
        )
    if heard.contrast < POOR:
        made.append(
            Trouble(
                "faint",
                say(
                    "The rolls are hardly heard over the machine, so their rest is"
                    " uncertain. Record nearer to the rolls, from outside, or let the engine"
                    " run slower."
                ),
                rest,
            )
        )
    return tuple(made)


def assumed_words(options: SoundOptions, recording: Recording) -> tuple[str, ...]:
    """What was assumed, in whole sentences."""
    low, high = ends(options.click_delay)
    if low == high == 0:
        first = say(
            "The button's click is taken as the moment at which the threshold is"
            " crossed; where the pause between click and trip is known, give it, in ms."
        )
    elif low == high:
        first = say("The threshold is crossed {low:g} ms after the click.", low=low * 1e3)
    else:
        first = say(
            "The threshold is crossed {low:g} to {high:g} ms after the click.",
            low=low * 1e3,
            high=high * 1e3,
        )
    sound = say(
        "Sound takes {slowness:.3f} ms a metre at {temperature:g} °C. Where the distances are"
        " known, give how much farther the rolls are.",
        slowness=options.slowness * 1e3,
        temperature=options.temperature,
    )
    way = f"{_distance(*ends(options.distance_difference))} {sound}"
    if options.machine is None:
        likely = say("Beforehand, stops of 15 to 200 ms were taken as likely.")
    else:
        likely = say(
            "Beforehand, the stop time that {name}'s file gives was taken as likely:"
            " this measurement does not check that file by itself.",
            name=options.machine.name,
        )
    noise = say(
        "The rolls' noise is taken to fall with their speed, and their speed evenly from"
        " the last pawl's catch to rest."
    )
    made = [first, way, noise, likely]
    if options.rate:
        made.append(
            say(
                "{rate:g} samples a second, as given; the file says {own:g}.",
                rate=options.rate,
                own=recording.rate,
            )
        )
    return tuple(made)


def _distance(near: float, far: float) -> str:
    """How much farther from the microphone the rolls are than the button, m."""
    if near == far == 0:
        return say("The rolls are taken as far from the microphone as the button.")
    if near == -far:
        return say(
            "The rolls are taken as far from the microphone as the button, within {far:g} m.",
            far=far,
        )
    if near == far:
        return say("The rolls are {far:g} m farther from the microphone than the button.", far=far)
    return say(
        "The rolls are {near:g} to {far:g} m farther from the microphone than the button.",
        near=near,
        far=far,
    )
