"""What a logged stop says in words: what was noticed, and what was assumed."""

from __future__ import annotations

from tripmargin.ground.languages import later, say
from tripmargin.recordings.recording import Trouble
from tripmargin.recordings.stop_time.logger_channels import Lines
from tripmargin.recordings.stop_time.logger_pulses import Rest
from tripmargin.recordings.stop_time.options import LoggerOptions, ends

BOUNCE = 0.05
"""s within which a contact may bounce: later edges are not another trip."""
GUESSED = {
    "trip line": later("Trip line: {value}, because {because}."),
    "roll sensor": later("Roll sensor: {value}, because {because}."),
    "roll sensor's kind": later("Roll sensor's kind: {value}, because {because}."),
}


def noticed_words(lines: Lines, rest: Rest, bounces: int, trip: float) -> list[Trouble]:
    """Contacts that bounce, and too few pulses; `trip` in s."""
    made = []
    if bounces:
        words = say(
            "The trip line changes {bounces} more times within {time:.0f} ms: its"
            " contact bounces. The first edge counts.",
            bounces=bounces,
            time=BOUNCE * 1e3,
        )
        made.append(Trouble("bounce", words, trip))
    if lines.roll_is == "pulses" and rest.slowed < 2:
        every = rest.spacing * 1e3
        if rest.slowed:
            words = say(
                "Only one pulse came while the roll slowed down, and they came every {every:.2g}"
                " ms before: more teeth at the pickup would narrow the interval.",
                every=every,
            )
        else:
            words = say(
                "No pulse came while the roll slowed down, and they came every {every:.2g} ms"
                " before: more teeth at the pickup would narrow the interval.",
                every=every,
            )
        made.append(Trouble("few pulses", words, rest.last_pulse))
    return made


def assumed_words(lines: Lines, options: LoggerOptions) -> tuple[str, ...]:
    """How the channels were told apart, and what else was taken for granted."""
    made = [
        say(GUESSED[each.what], value=each.value_said, because=each.because)
        for each in lines.guesses
    ]
    low, high = ends(options.trip_delay)
    if low == high == 0:
        made.append(
            say(
                "The trip line's edge is taken as the moment at which the threshold is"
                " crossed; where it is known how much later it comes, give that."
            )
        )
    else:
        made.append(
            say(
                "The trip line changes {low:g} to {high:g} ms after the threshold is crossed.",
                low=low * 1e3,
                high=high * 1e3,
            )
        )
    made.append(say("From the catch the roll's speed is taken to fall evenly, or nearly so."))
    return tuple(made)
