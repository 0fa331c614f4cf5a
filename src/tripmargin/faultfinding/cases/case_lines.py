"""The lines of a case file: the head, the entries, and what cannot be read any more."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from tripmargin.ground.errors import TripmarginError, shortened
from tripmargin.ground.languages import say, say_many
from tripmargin.ground.results import plain

KIND, FORMAT = "case", 1
UNDO = "undo"
KEPT_WORDS = ("n", "at", "kind")
_HEAD = '{"kind": "case", "format": 1, "begun": "2026-05-04T07:30:00+02:00"}'
_ENTRY = '{"n": 1, "at": "2026-05-04T07:31:00+02:00", "kind": "finding", ...}'


class CaseFileError(TripmarginError, ValueError):
    """A case file that cannot be opened, read or written.

    `.file` and `.line` (from 1, or None) say where, `.value` what was seen there, `.allowed` what
    would do, `.hint` how to mend it.
    """

    def __init__(
        self,
        file: str,
        problem: str,
        allowed: str,
        hint: str = "",
        *,
        line: int | None = None,
        value: str = "",
    ) -> None:
        self.file, self.line, self.value = file, line, value
        self.problem, self.allowed, self.hint = problem, allowed, hint
        where = f"{file}:{line}" if line else file
        seen = f"{shortened(value)}: " if value else ""
        text = say(
            "{where}: {seen}{problem}.\n  Allowed: {allowed}.",
            where=where,
            seen=seen,
            problem=problem,
            allowed=allowed,
        )
        super().__init__(f"{text}\n  {hint}" if hint else text)


class CaseHeadError(CaseFileError):
    """A file whose first line is not the whole head of a case.

    `.entries` holds the whole entries below it: they can still be read, but not to which machine
    they belong.
    """

    def __init__(self, file: str, problem: str, value: str, entries: Sequence[Entry] = ()) -> None:
        self.entries = tuple(entries)
        hint = say("Start a new case under another name; this file is left as it is.")
        if entries:
            kept = say_many(
                "Its {count} whole entry stays in it.",
                "Its {count} whole entries stay in it.",
                len(self.entries),
            )
            hint = f"{hint} {kept}"
        allowed = say("a first line such as {example}", example=_HEAD)
        super().__init__(file, problem, allowed, hint, line=1, value=value)


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that was entered, with the number it has in its case and the time.

    `at` is an ISO time with its zone; `fields` is all else that was put in.
    """

    n: int
    at: str
    kind: str
    fields: dict[str, Any] = field(default_factory=dict)

    def __getitem__(self, name: str) -> Any:
        return self.fields[name]

    def get(self, name: str, otherwise: Any = None) -> Any:
        """The field of this name, or something else where it was not put in."""
        return self.fields.get(name, otherwise)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready, as the line holds it."""
        return {"n": self.n, "at": self.at, "kind": self.kind, **self.fields}


@dataclass(frozen=True, slots=True)
class Unread:
    """A line that cannot be read: its number in the file, its text, and why.

    `torn`: it is the beginning of a line whose end never came; else it was damaged.
    """

    line: int
    text: str
    problem: str
    torn: bool

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {"line": self.line, "text": self.text, "problem": self.problem, "torn": self.torn}


def line_of(values: dict[str, Any], file: str) -> bytes:
    """Values as one line, without its end.

    Raises
    ------
    CaseFileError
        If a value cannot be written as JSON.
    """
    try:
        # First as they are: `plain` would make null of a number that is none, without a word.
        json.dumps(values, allow_nan=False, default=_in_json)
        text = json.dumps(plain(values), ensure_ascii=False, allow_nan=False)
    except (TypeError, ValueError, RecursionError) as error:
        raise CaseFileError(
            file,
            say("cannot be written down: {error}", error=error),
            say("texts, finite numbers, true, false, null, and lists and tables of these"),
            say("Nothing was written."),
            value=repr(values),
        ) from error
    try:
        return text.encode()
    except UnicodeEncodeError:  # half a letter, as a keyboard with another encoding may give
        return json.dumps(json.loads(text)).encode()


def _in_json(item: Any) -> Any:
    made = plain(item)
    if made is item:
        raise TypeError(say("{kind} has no form in JSON", kind=type(item).__name__))
    return made


def read_head(line: bytes, file: str, entries: Sequence[Entry] = ()) -> dict[str, Any]:
    """The head of a case from the file's first line; `entries` are those below it.

    Raises
    ------
    CaseHeadError
        If it is cut, damaged, no case at all, or of a later format.
    """
    values, problem = _values(line.removeprefix(b"\xef\xbb\xbf"))
    text = line.decode("utf-8", "replace")
    if values is None:
        cut = say("the file is empty") if not line else say("the head of the case is cut")
        raise CaseHeadError(file, cut if not line or is_torn(text) else problem, text, entries)
    if values.get("kind") != KIND:
        raise CaseHeadError(file, say("this is not the file of a case"), text, entries)
    if values.get("format") != FORMAT:
        what = say(
            "format {format!r} is not one that this version reads", format=values.get("format")
        )
        raise CaseHeadError(file, what, text, entries)
    return values


def read_entry(line: bytes, number: int) -> Entry | Unread:
    """An entry from a line of the file, or what is left of one."""
    values, problem = _values(line)
    text = line.decode("utf-8", "replace")
    if values is None:
        return Unread(number, text, problem, is_torn(text))
    n, at, kind = (values.get(word) for word in KEPT_WORDS)
    if not isinstance(n, int) or isinstance(n, bool) or n < 1:
        problem = say("no number n, but one line such as {example} is expected", example=_ENTRY)
        return Unread(number, text, problem, False)
    if not isinstance(at, str) or not isinstance(kind, str):
        problem = say(
            "no time or no kind, but one line such as {example} is expected", example=_ENTRY
        )
        return Unread(number, text, problem, False)
    if kind == UNDO and not isinstance(values.get("of"), int):
        return Unread(number, text, say('an undo without "of", the number of an entry'), False)
    return Entry(n, at, kind, {k: v for k, v in values.items() if k not in KEPT_WORDS})


def _values(line: bytes) -> tuple[dict[str, Any] | None, str]:
    try:
        values = json.loads(line.decode("utf-8"))
    except UnicodeDecodeError:
        return None, say("not text in UTF-8")
    except (ValueError, RecursionError) as error:
        return None, say("not JSON: {error}", error=error)
    return (values, "") if isinstance(values, dict) else (None, say("not a table in braces"))


def is_torn(text: str) -> bool:
    """Whether a line is the beginning of a table in braces that does not end: it was cut off."""
    depth, in_text, escaped = 0, False, False
    for letter in text.strip():
        if in_text:
            in_text = escaped or letter != '"'
            escaped = letter == "\\" and not escaped
            continue
        in_text = letter == '"'
        depth += (letter in "{[") - (letter in "}]")
        if depth <= 0:
            return False
    return depth > 0


def standing(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The entries that are not undone, in order; undoing itself is not among them."""
    return tuple(entry for entry in in_force(entries) if entry.kind != UNDO)


def in_force(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The entries that nothing later in force undoes, undoing among them.

    An undo means the last entry of its number before it: an undo that is undone itself has no
    force, so its entry stands again.
    """
    places: dict[int, int] = {}
    aims: list[int | None] = []
    for place, entry in enumerate(entries):
        of = entry.get("of") if entry.kind == UNDO else None
        aims.append(places.get(of) if isinstance(of, int) else None)
        places[entry.n] = place
    undone: set[int] = set()
    for place in reversed(range(len(entries))):
        aim = aims[place]
        if place not in undone and aim is not None:
            undone.add(aim)
    return tuple(entry for place, entry in enumerate(entries) if place not in undone)
