"""What a person says of a recording against what was guessed: boxes filled with the guesses.

A box that comes back as it was filled says nothing, and the file goes on speaking for itself.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say, say_many
from tripmargin.recordings import Channel, Recording
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.measuring.plain_words import LABELS, plainly

GUESS = "g."
"""Before a box's name: what it was filled with."""
_LONGEST = 200  # letters
LISTED = 12
"""Channels of a file that are listed by name."""


@dataclass(slots=True)
class Choice:
    """One of several: `options` are (value, words); the value "" leaves it to the file.

    `of` is the column that it is about, where its name does not say so.
    """

    name: str
    label: str
    options: Sequence[tuple[str, str]]
    text: str = ""
    help: str = ""
    of: str | None = None
    troubles: list[str] = field(default_factory=list)
    shape = "choice"
    guess = ""

    @property
    def id(self) -> str:
        """Of its box."""
        return self.name.replace(".", "-")

    @property
    def about(self) -> str:
        """What `of` belongs to: the name without what stands before its dot."""
        return self.name.partition(".")[2]

    def read(self) -> str | None:
        """The value; None where nothing is said, or what is said is none of the options."""
        if self.text and self.text not in [value for value, _ in self.options]:
            listed = ", ".join(words for value, words in self.options if value)
            seen = shortened(self.text, 30)
            self.troubles.append(
                say(
                    "Not among the choices: “{seen}”.\nAllowed: {allowed}.",
                    seen=seen,
                    allowed=listed,
                )
            )
            self.options = [*self.options, (self.text, seen)]
            return None
        return self.text or None


@dataclass(slots=True)
class Words:
    """A box for a word; `of` is the column that it is about, where its name does not say so."""

    name: str
    label: str
    text: str = ""
    help: str = ""
    guess: str = ""
    of: str | None = None
    troubles: list[str] = field(default_factory=list)
    shape = "words"

    @property
    def id(self) -> str:
        """Of its box."""
        return self.name.replace(".", "-")

    @property
    def about(self) -> str:
        """What `of` belongs to: the name without what stands before its dot."""
        return self.name.partition(".")[2]


Box = Number | Choice | Words


@dataclass(frozen=True, slots=True)
class Said:
    """A form's texts."""

    given: Mapping[str, Any]

    def raw(self, name: str) -> str:
        """As it came, cut where nobody would write so much."""
        return str(self.given.get(name, "")).strip()[:_LONGEST]

    def of(self, name: str) -> str:
        """What was said; empty where the box came back as it was filled.

        >>> said = Said({"header": "2", "g.header": "2", "time": "Zeit"})
        >>> said.of("header"), said.of("time")
        ('', 'Zeit')
        """
        text = self.raw(name)
        return "" if text == self.raw(f"{GUESS}{name}") else text

    def filled(self, name: str, guess: str | None) -> tuple[str, str]:
        """Text and guess of a box: what was said, else the guess; None: as it was filled before."""
        text = self.of(name)
        if text:
            return text, ""
        kept = self.raw(f"{GUESS}{name}") if guess is None else guess
        return kept, kept


def channels_of(recording: Recording | None) -> list[tuple[str, str]]:
    """The channels by number, as choices."""
    if recording is None:
        return []
    return [
        (
            str(number),
            (
                say("channel {number}", number=number)
                if nameless(recording)
                else f"{number}: {one.name}"
            )
            + (f" ({one.unit})" if one.unit else ""),
        )
        for number, one in enumerate(recording.channels, start=1)
    ]


def channels_told(recording: Recording) -> str:
    """A recording's kind and channels, in a sentence."""
    channels, kind = recording.channels, recording.kind
    if nameless(recording):
        return say_many(
            "{kind} with one channel.", "{kind} with {count} channels without names.",
            len(channels), kind=kind,
        )  # fmt: skip
    told = {"kind": kind, "names": ", ".join(map(_named, range(1, LISTED + 1), channels))}
    more = len(channels) - LISTED
    if more > 0:
        return say(
            "{kind} with {count} channels: {names} and {more} more.",
            count=len(channels), more=more, **told,
        )  # fmt: skip
    return say_many(
        "{kind} with one channel: {names}.", "{kind} with {count} channels: {names}.",
        len(channels), **told,
    )  # fmt: skip


def _named(number: int, one: Channel) -> str:
    if one.unit:
        return say("{number} “{name}” ({unit})", number=number, name=one.name, unit=one.unit)
    return say("{number} “{name}”", number=number, name=one.name)


def nameless(recording: Recording) -> bool:
    """Whether the file has no names of its own: its channels go by their numbers."""
    names = [one.name for one in recording.channels]
    return names == [f"channel {k}" for k in range(1, len(names) + 1)]


def left_to_file(guess: str, because: str = "") -> tuple[str, str]:
    """The choice of saying nothing, and why it was taken so: an option's words, and help."""
    if not guess:
        return say("As the file shows"), ""
    why = say("So because {because}.", because=because) if because else ""
    return say("As guessed: {guess}", guess=guess), why


def place(error: str, boxes: Iterable[Box]) -> str:
    """Put an error beside the box that it names; what belongs to none is handed back.

    Errors name keywords of the library, such as ``header = "9"`` or ``Say rate=1000``; a person at
    this page reads the boxes' labels instead.
    """
    by_name = {box.name: box for box in boxes}
    named = re.findall(r"(?:^|[\s:,])([a-z_]+)(?==| = |: )", error)
    text = plainly(error, {**LABELS, **{name: box.label for name, box in by_name.items()}})
    for name in named:
        box = by_name.get(name) or by_name.get(f"{name}.low")
        if box is not None:
            box.troubles.append(text)
            return ""
    for box in by_name.values():
        if box.label.lower() in text.lower():
            box.troubles.append(text)
            return ""
    return text


def first_wrong(boxes: Iterable[Box]) -> Box | None:
    """The first box with a trouble, to be told where the page begins."""
    return next((box for box in boxes if box.troubles), None)


def fingerprint(*options: Mapping[str, Any]) -> str:
    """The same for the same things said; empty where nothing is."""
    said = [repr(sorted(one.items())) for one in options if one]
    return hashlib.sha256(" ".join(said).encode()).hexdigest()[:16] if said else ""
