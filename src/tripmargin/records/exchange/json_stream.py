"""Reading a large JSON file item by item, however its lines are broken."""

from __future__ import annotations

import codecs
import hashlib
import json
import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple, NoReturn

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say
from tripmargin.ground.languages.lists import listed
from tripmargin.records.exchange.troubles import Troubles
from tripmargin.records.keeping.sizes import DEEPEST, too_deep

CHUNK = 1 << 18  # letters
LONGEST_ITEM = 80_000_000  # letters; an entry with all its photos
_SPACE = re.compile(r"[ \t\r\n]*")


class Found(NamedTuple):
    """A value at the top of the file, or one item of a list there."""

    key: str
    line: int
    item: Any
    in_list: bool


class JsonFile:
    """A JSON file whose top is an object; the items of its lists come one by one.

    `sha256` is that of what was read; whole after the last item.
    """

    def __init__(self, path: Path, troubles: Troubles) -> None:
        self.path, self.troubles = path, troubles
        self.sha256 = ""
        self._json = json.JSONDecoder(
            object_pairs_hook=_no_doubles, parse_constant=_no_constant,
            parse_float=_finite, parse_int=_no_huge,
        )  # fmt: skip

    def items(self) -> Iterator[Found]:
        """Every value; raise `ImportRefusedError` where the file cannot be read any further."""
        self._hash = hashlib.sha256()
        self._text, self._place, self._line, self._ended = "", 0, 1, False
        self._letters = codecs.getincrementaldecoder("utf-8-sig")()
        with self.path.open("rb") as self._file:
            self._sign("{")
            if self._next() == "}":
                self._sign("}")
            else:
                yield from self._members()
            if self._next():
                self._stop(say("more text after the end"))
        self.sha256 = self._hash.hexdigest()

    def _members(self) -> Iterator[Found]:
        keys: set[str] = set()
        while True:
            key = (
                self._value()
                if self._next() == '"'
                else self._stop(say("no name in quotation marks"))
            )
            if key in keys:
                self._stop(say('"{key}" is there twice', key=shortened(key)))
            keys.add(key)
            self._sign(":")
            if self._next() == "[":
                yield from self._list(key)
            else:
                yield Found(key, self._line, self._value(), in_list=False)
            if self._sign(",}") == "}":
                return

    def _list(self, key: str) -> Iterator[Found]:
        self._sign("[")
        if self._next() == "]":
            self._sign("]")
            return
        while True:
            self._next()
            line = self._line
            yield Found(key, line, self._value(), in_list=True)
            if self._sign(",]") == "]":
                return

    def _value(self) -> Any:
        while True:
            self._next()
            try:
                value, end = self._json.raw_decode(self._text, self._place)
            except json.JSONDecodeError as error:
                cut_short = error.msg.startswith("Unterminated") or error.pos + 16 > len(self._text)
                length = error.pos - self._place  # the reading on moves the place
                if not cut_short or not self._more():
                    # A line break in a text: the place told is the one behind it.
                    length -= error.msg.startswith("Invalid control")
                    self._to(min(self._place + length, len(self._text)))
                    self._stop(error.msg[:1].lower() + error.msg[1:].removesuffix(" at"))
            except (ValueError, RecursionError) as error:
                self._too_deep() if isinstance(error, RecursionError) else self._stop(str(error))
            else:
                length = end - self._place
                # A number might go on: "12" with "." or "e+" behind it.
                if end + 3 <= len(self._text) or not self._more():
                    if too_deep(value):
                        self._too_deep()
                    self._to(self._place + length)
                    return value

    def _sign(self, allowed: str) -> str:
        seen = self._next()
        if not seen or seen not in allowed:
            told = f'"{seen}"' if seen else say("the end of the file")
            self._stop(
                say("{told} where {allowed} should stand", told=told, allowed=listed(allowed, "or"))
            )
        self._to(self._place + 1)
        return seen

    def _next(self) -> str:
        """The next sign that is no space, "" at the end."""
        while True:
            space = _SPACE.match(self._text, self._place)
            assert space is not None
            self._to(space.end())
            if self._place < len(self._text):
                return self._text[self._place]
            if not self._more():
                return ""

    def _to(self, place: int) -> None:
        self._line += self._text.count("\n", self._place, place)
        self._place = place

    def _more(self) -> bool:
        """Read on; whether there was anything."""
        if self._ended:
            return False
        left = len(self._text) - self._place
        if left > LONGEST_ITEM:
            self._stop(
                say(
                    "an item of more than {most} million letters",
                    most=LONGEST_ITEM // 1_000_000,
                )
            )
        content = self._file.read(max(CHUNK, left))
        self._hash.update(content)
        self._ended = not content
        try:
            new = self._letters.decode(content, final=self._ended)
        except UnicodeDecodeError as error:
            lines = self._text.count("\n", self._place) + content[: error.start].count(b"\n")
            self._line += lines
            self._stop(
                say("not UTF-8: byte 0x{byte:02X}", byte=error.object[error.start]),
                say("text in UTF-8"),
            )
        self._text, self._place = self._text[self._place :] + new, 0
        return not self._ended or bool(new)

    def _too_deep(self) -> NoReturn:
        self._stop(
            say("nested too deeply"),
            say("at most {most} objects and lists within each other", most=DEEPEST),
        )

    def _stop(self, problem: str, allowed: str = "") -> NoReturn:
        self.troubles.stop(
            self._line,
            problem if allowed else say("not JSON: {problem}", problem=problem),
            allowed or say("JSON (RFC 8259), as `tripmargin log export` writes it"),
            say("Was the file cut short, or changed by hand?"),
        )
        raise AssertionError("stop raises")


def _no_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        seen: set[str] = set()
        for name, _ in pairs:
            if name in seen:
                raise ValueError(say('"{name}" is there twice', name=shortened(name)))
            seen.add(name)
    return made


def _no_constant(name: str) -> NoReturn:
    raise ValueError(say("{name} is no number", name=name))


def _finite(text: str) -> float:
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(say("{text} is too large a number", text=shortened(text)))
    return value


def _no_huge(text: str) -> int:
    """A whole number that can be made a float (IEEE 754: its largest has 309 digits)."""
    if len(text) > 300:
        raise ValueError(say("{text} is too large a number", text=shortened(text)))
    return int(text)
