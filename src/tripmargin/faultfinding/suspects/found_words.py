"""What may be found, in the reader's words: a finding is kept by its English word, and said here.

The words are those of lamps, buzzers, movements and looks by hand or eye, and what any look or a
daily test may come to. A meter's ranges say themselves: see `bands`.
"""

from __future__ import annotations

from tripmargin.ground.languages import later, say, say_as

WORDS: dict[str, str] = {
    # a lamp
    "dim": later("dim"),
    "flicker": later("flicker"),
    # a buzzer
    "silent": later("silent"),
    "sounds weakly": later("sounds weakly"),
    "sounds": later("sounds"),
    "comes and goes": later("comes and goes"),
    # the rolls
    "forward": later("forward"),
    "reverse": later("reverse"),
    # how a stop went
    "in time": later("in time"),
    "late": later("late"),
    "runs on": later("runs on"),
    "stops and restarts": later("stops and restarts"),
    "drive let go, pawls not in: coasts": later("drive let go, pawls not in: coasts"),
    # a look by hand or eye
    "within limits": later("within limits"),
    "too wide": later("too wide"),
    "too narrow": later("too narrow"),
    "snaps back": later("snaps back"),
    "stays where it is": later("stays where it is"),
    "moves and snaps back": later("moves and snaps back"),
    "comes back slowly": later("comes back slowly"),
    "does not move": later("does not move"),
    "it is pulled only over the magnets, as usual": later(
        "it is pulled only over the magnets, as usual"
    ),
    "it is hardly pulled over the magnets": later("it is hardly pulled over the magnets"),
    "it is pulled on the side away from the crop": later(
        "it is pulled on the side away from the crop"
    ),
    "it is pulled elsewhere too": later("it is pulled elsewhere too"),
    # a relay that is tried
    "switches over": later("switches over"),
    "does not switch over": later("does not switch over"),
    "stays switched over": later("stays switched over"),
    "draws a spark, does not switch over": later("draws a spark, does not switch over"),
    "clicks, its make contact leaves a test lamp dim or dark": later(
        "clicks, its make contact leaves a test lamp dim or dark"
    ),
    "clicks, its break contact leaves a test lamp dim or dark": later(
        "clicks, its break contact leaves a test lamp dim or dark"
    ),
    # a trial
    "within the limit": later("within the limit"),
    "over the limit": later("over the limit"),
    "the rolls stop": later("the rolls stop"),
    "the rolls run on": later("the rolls run on"),
    "they stop and start again": later("they stop and start again"),
    "the rolls do not turn": later("the rolls do not turn"),
    "turns on": later("turns on"),
    "stops by itself or stands": later("stops by itself or stands"),
    # any look, and the daily test
    "can't tell": later("can't tell"),
    "saw something else": later("saw something else"),
    "passed": later("passed"),
    "failed": later("failed"),
}
"""By the word that a finding is kept by."""


def word_said(word: str, subject: str = "") -> str:
    """A word that may be found, in the reader's words.

    Parameters
    ----------
    word : str
        As a finding is kept by it.
    subject : str
        What was looked at: it decides what a short word means.

    Examples
    --------
    >>> word_said("can't tell"), word_said("in", "pawls")
    ("can't tell", 'in')
    """
    short = _short_word(word, subject)
    return short or (say(WORDS[word]) if word in WORDS else word)


def _short_word(word: str, subject: str) -> str:
    """A word that means different things of different parts; empty where it is none."""
    match word, subject:
        case "in", "pawls":
            return say_as("pawls", "in")
        case "out", "pawls":
            return say_as("pawls", "out")
        case "in", "plunger":
            return say_as("plunger", "in")
        case "out", "plunger":
            return say_as("plunger", "out")
        case "in", _:
            return say_as("pawls or plunger", "in")
        case "out", _:
            return say_as("pawls or plunger", "out")
        case "stopped", _:
            return say_as("rolls", "stopped")
        case "jerking", _:
            return say_as("rolls", "jerking")
        case "on", _:
            return say_as("lamp", "on")
        case "off", _:
            return say_as("lamp", "off")
        case "whole", _:
            return say_as("fuse or linkage", "whole")
        case "broken", _:
            return say_as("linkage", "broken")
        case "gone", _:
            return say_as("fuse", "gone")
    return ""
