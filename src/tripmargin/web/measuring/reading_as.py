"""How a recording's file is read: boxes filled with what was guessed, and what is said against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tripmargin.ground.languages import later, numeral, say
from tripmargin.recordings import Recording, RecordingError
from tripmargin.recordings.reading.kinds import KINDS, PHONE, SOUND, kind_of
from tripmargin.recordings.reading.naming import TIME_UNITS
from tripmargin.recordings.reading.options import DECIMALS, DELIMITERS, THOUSANDS
from tripmargin.web.measuring.numbers import Number
from tripmargin.web.measuring.plain_words import plainly
from tripmargin.web.measuring.said import Box, Choice, Said, Words, left_to_file, nameless

MOST_UNITS = 8
"""Channels whose units stand on the page; of a file with more, the time's alone."""
UNIT = "unit."
OF = "of."
_HEAD = 4096  # bytes by which a kind is known
_TEXT = ("delimiter", "decimal", "thousands", "encoding", "header", "time", "rate")
_BY_KIND = {"CSV": _TEXT, "Parquet": ("time", "rate"), "MDF4": ("group", "rate"),
            "MDF3": ("group", "rate"), **dict.fromkeys((*SOUND, *PHONE), ("rate",))}  # fmt: skip
_SIGNS = {
    "comma": later("comma  ,"), "semicolon": later("semicolon  ;"), "tab": later("tab"),
    "space": later("blanks"), "bar": later("bar  |"), "point": later("point  ."),
    "apostrophe": later("apostrophe  '"), "none": later("none"),
}  # fmt: skip
_CHOICES = {
    "delimiter": (later("What parts the columns"), DELIMITERS),
    "decimal": (later("Decimal sign"), DECIMALS),
    "thousands": (later("Sign between thousands"), THOUSANDS),
}


@dataclass(frozen=True, slots=True)
class ReadAs:
    """How one file is read.

    Attributes
    ----------
    kind
        "CSV" and so on; empty where it is not known.
    options
        For `tripmargin.recordings.read`: what was said, nothing that was guessed.
    boxes
        As they stand before the file was read; `filled` has them with the guesses.
    """

    kind: str
    options: dict[str, Any]
    boxes: list[Box]
    said: Said

    @classmethod
    def of(cls, path: Path, said: Said) -> ReadAs:
        """From what was said; what of it cannot be is told beside its box."""
        boxes = [_kind(said, "")]
        asked = boxes[0].read()
        kind = ""
        if not boxes[0].troubles:
            try:
                with path.open("rb") as file:
                    kind = kind_of(path, file.read(_HEAD), str(asked) if asked else None)[0]
            except RecordingError as error:
                boxes[0].troubles.append(plainly(str(error)))
        made: list[Box] = [*boxes, *_boxes(kind, said, None)]
        options = {} if boxes[0].troubles else _options(made[1:], said)
        if asked and kind:
            options["kind"] = kind
        return cls(kind, options, made, said)

    @property
    def good(self) -> bool:
        """Whether the file can be asked for so."""
        return not any(box.troubles for box in self.boxes)

    def filled(self, recording: Recording) -> list[Box]:
        """The boxes with what was guessed when it was read so."""
        return [_kind(self.said, recording.kind), *_boxes(self.kind, self.said, recording)]


def _options(boxes: Sequence[Box], said: Said) -> dict[str, Any]:
    """What was said, as `read` takes it; troubles stand beside their boxes."""
    options: dict[str, Any] = {}
    units: dict[str, str] = {}
    for box in boxes:
        value: Any = box.text if isinstance(box, Words) else box.read()
        if not said.of(box.name) or value is None:
            continue
        options[box.name] = int(value) if isinstance(box, Number) and box.whole else value
    for name in said.given:
        if name.startswith(UNIT) and said.of(name):
            units[said.raw(f"{OF}{name.removeprefix(UNIT)}")] = said.of(name)
    return {**options, **({"units": units} if units else {})}


def _boxes(kind: str, said: Said, recording: Recording | None) -> list[Box]:
    """The boxes of a kind; without a recording, as they were filled before."""
    made: list[Box] = []
    for name in _BY_KIND.get(kind, ()):
        guess, because = _guess(recording, name)
        if name in _CHOICES:
            label, words = _CHOICES[name]
            as_is, help_ = left_to_file(_guess_said(recording, name), because)
            options = [("", as_is), *((word, say(_SIGNS[word])) for word in words)]
            made.append(Choice(name, say(label), options, said.of(name), help_))
        elif name == "encoding":
            text, kept = said.filled(name, "utf-8" if recording and not guess else guess)
            made.append(Words(name, say("Encoding of the text"), text, guess=kept,
                              help=say("Such as utf-8, utf-16, cp1252 or latin-1.")))  # fmt: skip
        elif name == "time":
            made.append(_time(said, recording, guess, because))
        elif name != "group" or guess or recording is None or said.of(name):
            made.append(_number(name, said, recording, guess, because))
    if recording is not None and kind not in (*SOUND, *PHONE):
        made += _units(said, recording)
    return made


def _guess(recording: Recording | None, name: str) -> tuple[str | None, str]:
    """What was guessed, and why; empty where nothing was, None where nothing was read."""
    if recording is None:
        return None, ""
    for one in recording.guesses:
        if one.override == name and one.what not in ("left out", "dates"):
            return one.value, one.because
    return "", ""


def _guess_said(recording: Recording | None, name: str) -> str:
    """What was guessed, as people read it; empty where nothing was."""
    guesses = recording.guesses if recording is not None else ()
    for one in guesses:
        if one.override == name and one.what not in ("left out", "dates"):
            return one.value_said
    return ""


def _kind(said: Said, found: str) -> Choice:
    as_is, _ = left_to_file("" if said.of("kind") else found)
    options = [("", as_is), *((kind, say("CSV or other text") if kind == "CSV" else kind)
                              for kind in KINDS)]  # fmt: skip
    return Choice("kind", say("What kind of file it is"), options, said.of("kind"))


def _number(
    name: str, said: Said, recording: Recording | None, guess: str | None, because: str
) -> Number:
    if name == "header":
        text, kept = said.filled(name, guess)
        return Number(name, say("Lines above the first numbers"), "", 0, 5000, text, whole=True,
                      required=False, guess=kept, help=_so(because))  # fmt: skip
    if name == "group":
        text, kept = said.filled(name, guess)
        return Number(name, say("Channel group"), "", 1, 10_000, text, whole=True, required=False,
                      guess=kept, help=_so(because))  # fmt: skip
    if recording is not None:
        guess = "" if recording.rate is None else numeral(recording.rate, ".7g")
    text, kept = said.filled(name, guess)
    return Number(name, say("Samples a second"), "", 1e-3, 1e8, text, required=False, guess=kept,
                  help=_so(because) or say("It counts before what the file says."))  # fmt: skip


def _so(because: str) -> str:
    return say("So because {because}.", because=because) if because else ""


def _time(said: Said, recording: Recording | None, guess: str | None, because: str) -> Box:
    label = say("Column of the time")
    if recording is None:
        text, kept = said.filled("time", None)
        help_ = say("Its name, or its number from 1; “none” where no column is the time.")
        return Words("time", label, text, guess=kept, help=help_)
    asked = said.of("time")
    as_is, help_ = left_to_file("" if asked else guess or say("no column"), because)
    options = [("", as_is), *((name, name) for name in _columns(recording, guess or "")),
               ("none", say("No column is the time: samples a second count"))]  # fmt: skip
    if asked and asked not in [value for value, _ in options]:
        options.append((asked, asked))
    return Choice("time", label, options, asked, help_)


def _columns(recording: Recording, time: str) -> list[str]:
    """What may be named as the time's column: by name, or by number where there are no names."""
    left = [one.value for one in recording.guesses if one.what == "left out"]
    if nameless(recording):
        count = len(recording.channels) + len(left) + bool(time)
        return [str(k) for k in range(1, count + 1)]
    names = [one.name for one in recording.channels]
    return list(dict.fromkeys([time, *left, *names] if time else [*left, *names]))


def _units(said: Said, recording: Recording) -> list[Box]:
    """The unit of the time, and of each channel."""
    made: list[Box] = []
    time = next((one.value for one in recording.guesses if one.what == "time"), "")
    of_time = next((one for one in recording.guesses if one.what == "unit of time"), None)
    name = f"{UNIT}time"
    if time and (of_time is not None or said.of(name)):
        as_is, help_ = left_to_file(of_time.value_said if of_time else "", "")
        if of_time is not None:
            help_ = _so(of_time.because)
        words = {
            "s": "s",
            "ms": "ms",
            "us": "µs",
            "ns": "ns",
            "min": "min",
            "h": "h",
            "d": say("days"),
        }
        options = [("", as_is), *((unit, text) for unit, text in words.items())]
        assert all(unit in TIME_UNITS for unit in words)
        box = Choice(name, say("Unit of the time"), options, said.of(name), help_)
        box.of = "" if nameless(recording) else time
        made.append(box)
    if len(recording.channels) <= MOST_UNITS:
        for number, one in enumerate(recording.channels, start=1):
            text, kept = said.filled(f"{UNIT}{number}", one.unit)
            label = say("Unit of “{channel}”", channel=one.name)
            if nameless(recording):
                label = say("Unit of channel {number}", number=number)
            made.append(Words(f"{UNIT}{number}", label, text, guess=kept, of=one.name))
    return made
