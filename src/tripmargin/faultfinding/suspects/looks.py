"""What can be looked at, pressed, listened to or measured, and what each hypothesis would show.

Lamps, buzzers and movements come from the circuit taken through the steps of a state with each
hypothesis in it; meters from the same voltages; the rest from what a fault does to springs, gaps,
magnets and gain.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tripmargin.faultfinding.suspects.bands import Bands
from tripmargin.faultfinding.suspects.by_hand import BY_HAND, relay_word
from tripmargin.faultfinding.suspects.check_paths import signs_in
from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.faultfinding.suspects.hypotheses import Hypothesis
from tripmargin.faultfinding.suspects.showing import Shown
from tripmargin.faultfinding.suspects.states import MINUTE, MachineState
from tripmargin.ground.languages import later
from tripmargin.ground.languages.own_words import OwnWords, as_written
from tripmargin.ground.languages.phrases import Listed, Phrase, Words
from tripmargin.machine.check_sections import Checks, Look

MOVING = {"rolls": later("rolls"), "plunger": later("plunger"), "pawls": later("pawls")}
WATCHED_RUNNING = ("rolls",)
WATCHED_STILL = ("plunger", "pawls")
"""Movements that can be seen with the engine running from where nobody can be caught, and those
that are looked at beside the machine, so only with the engine off."""


@dataclass(frozen=True, slots=True)
class Question:
    """A look, and the words that may come of it.

    Attributes
    ----------
    id : str
        State and subject, such as "armed: trip latched".
    kind : str
        "lamp", "buzzer", "movement", or the kind of a look in the machine file.
    subject : str
    state : str
    minutes : float
    words : tuple of str
        What may be found, by at least one hypothesis; what a sound machine shows comes first.
    doing : str or Phrase
        What the person does; empty where the subject says it.
    at : str
        Where, in the machine file's words; empty where it does not say.
    bands : Bands or None
        Of a meter: the range of each reading.
    named : str or Phrase
        What the subject is called; empty where the file names it.
    """

    id: str
    kind: str
    subject: str
    state: str
    minutes: float
    words: tuple[str, ...]
    doing: Words = ""
    at: str = ""
    bands: Bands | None = None
    named: Words = ""

    @property
    def do(self) -> str:
        """What the person does, said now."""
        return str(self.doing)

    @property
    def about(self) -> str:
        """What is looked at, said now."""
        return str(self.named) or as_written(self.subject)

    @property
    def place(self) -> str:
        """Where, said now; empty where the file does not say."""
        return as_written(self.at) if self.at else ""

    def said(self, word: str) -> str:
        """A word that may be found, said now."""
        if self.bands is not None and word in self.bands.words:
            return self.bands.said(word)
        return word_said(word, self.subject)

    @property
    def sound(self) -> str:
        """What a sound machine shows."""
        return self.words[0]

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {
            "id": self.id,
            "kind": self.kind,
            "subject": self.subject,
            "state": self.state,
            "minutes": self.minutes,
            "words": list(self.words),
            "limits": list(self.bands.limits) if self.bands else [],
            "unit": self.bands.unit if self.bands else "",
        }


@dataclass(frozen=True, slots=True)
class Answered:
    """A question with the word that each hypothesis gives; (H,) numbers into its words."""

    question: Question
    answers: NDArray[np.intp]


def answered(
    shown: Shown, checks: Checks, states: Sequence[MachineState], hypotheses: Sequence[Hypothesis]
) -> tuple[Answered, ...]:
    """Every question that could tell something: at least two words are possible."""
    listed = [_look(shown, checks, look, hypotheses) for look in checks.looks]
    taken = {each.question.id for each in listed}
    found = []
    for each in (*_signs(shown, checks, states), *_meters(shown, checks, states)):
        name = each.question.id  # a look that the file lists may have a movement's name
        found.append(_with(each, id=f"{name} seen") if name in taken else each)
    return tuple(each for each in (*found, *listed) if len(each.question.words) > 1)


def _signs(shown: Shown, checks: Checks, states: Sequence[MachineState]) -> Iterator[Answered]:
    """Lamps, buzzers and movements in each state."""
    minutes = checks.look.nominal / MINUTE
    for number, state in enumerate(states):
        for name, kind, place in signs_in(shown, checks, state):
            words = shown.words(number, name)
            yield _question(f"{state.name}: {name}", kind, name, state.name, minutes, words, place)
        for name in WATCHED_RUNNING if state.running else WATCHED_STILL:
            words = shown.words(number, name)
            found = _question(
                f"{state.name}: {name}", "movement", name, state.name, minutes, words, ""
            )
            yield _with(found, named=Phrase(MOVING[name]))


def _meters(shown: Shown, checks: Checks, states: Sequence[MachineState]) -> Iterator[Answered]:
    """The test points, in each state with the key on and the engine off."""
    minutes = checks.measure.nominal / MINUTE
    for number, state in enumerate(states):
        if state.running or not state.live:
            continue
        for point in shown.points:
            bands, words = shown.volts(number, point.node, "0")
            subject = f"volts at {point.name}"
            found = _question(
                f"{state.name}: {subject}",
                "volts",
                subject,
                state.name,
                minutes,
                words,
                point.place or "",
            )
            named = Phrase(later("volts at {point}"), {"point": OwnWords(point.name)})
            yield _with(found, bands=bands, doing=_measure(point.node, "0"), named=named)


def _look(shown: Shown, checks: Checks, look: Look, hypotheses: Sequence[Hypothesis]) -> Answered:
    """A look that the machine file lists."""
    bands = None
    do: Words
    number = [state.name for state in checks.states].index(look.state)
    if look.kind == "volts":
        red, black = look.between
        bands, words = shown.volts(number, red, black)
        do = _measure(red, black)
    elif look.kind == "ohms":
        bands, words = shown.ohms(number, look)
        do = _measure_ohms(look)
    elif look.kind == "fuse":
        assert look.fuse is not None
        words = shown.fuses(number, look.fuse)
        do = Phrase(later("Look at fuse {fuse}."), {"fuse": OwnWords(look.fuse)})
    elif look.kind == "relay":
        relay = look.relay or ""
        words = np.array([relay_word(each, relay) for each in hypotheses])
        do = Phrase(
            later("Pull relay {relay} from its socket and try it on a charged battery."),
            {"relay": OwnWords(relay)},
        )
    elif look.kind in BY_HAND:
        by_hand = BY_HAND[look.kind]
        words = np.array([by_hand.word(each) for each in hypotheses])
        do = Phrase(by_hand.do)
    else:
        words, do = shown.trial(look), Phrase(TRIALS[look.kind])
    found = _question(
        f"{look.state}: {look.name}",
        look.kind,
        look.name,
        look.state,
        look.minutes.nominal / MINUTE,
        words,
        look.place or "",
    )
    return _with(found, bands=bands, doing=OwnWords(look.do) if look.do else do)


def _measure(red: str, black: str) -> Phrase:
    """What is done with a voltmeter; node "0" is the battery's negative post."""
    if black == "0":
        return Phrase(later("Measure from {red} to battery negative."), {"red": red})
    return Phrase(later("Measure from {red} to {black}."), {"red": red, "black": black})


def _measure_ohms(look: Look) -> Phrase:
    """What is done with an ohmmeter."""
    one, other = look.between
    ends = {"one": one, "other": other}
    if not look.unplugged:
        return Phrase(later("Measure ohms between {one} and {other}."), ends)
    return Phrase(
        later("Measure ohms between {one} and {other}, with {parts} unplugged."),
        ends | {"parts": Listed(look.unplugged)},
    )


TRIALS = {
    "test piece": later(
        "Send the test piece over the sensor, in the way that the operator's manual"
        " describes. Nobody within reach of the rolls."
    ),
    "empty run": later(
        "Let the feed run empty for the time given, and watch whether it stops by itself."
        " Nobody within reach of the rolls."
    ),
    "stop time": later("Measure the time from the button to the rolls' rest."),
}


def _question(
    name: str,
    kind: str,
    subject: str,
    state: str,
    minutes: float,
    words: NDArray[np.str_],
    place: str,
) -> Answered:
    """A question from what each hypothesis shows; the last but one of them is a sound machine."""
    sound = str(words[-2])
    others = dict.fromkeys(str(word) for word in words)
    others.pop(sound)
    known = (sound, *others)
    numbers = {word: k for k, word in enumerate(known)}
    answers = np.array([numbers[str(word)] for word in words], dtype=np.intp)
    return Answered(Question(name, kind, subject, state, minutes, known, at=place), answers)


def _with(found: Answered, **changed: Any) -> Answered:
    return Answered(replace(found.question, **changed), found.answers)
