"""A language made for tests, in which everything that went through a catalogue is marked.

Whatever stands unmarked on a page in it was not said through a catalogue, so no language could say
it. That it needs nothing but catalogues shows at the same time that a language more needs no code.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from html.parser import HTMLParser
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo

from tools import catalogues
from tripmargin.ground.languages import catalogue

CODE = "zz"
OPEN, CLOSE = "\u27e6", "\u27e7"  # marks that nobody types
OF_A_LANGUAGE = ("name of this language", "decimal sign")  # no words: marked they were unusable
_NO_TEXT = {"script", "style", "title", "code", "pre", "kbd", "textarea"}
_ATTRIBUTES = ("aria-label", "alt", "placeholder", "title")
_LETTERS = re.compile(r"[^\W\d_]{2,}")


@contextmanager
def marked_language(folder: Path) -> Iterator[str]:
    """The code of the marked language, while it can be spoken."""
    files = (folder / CODE / "tripmargin.mo", folder / CODE / "LC_MESSAGES" / "django.mo")
    for path, content in zip(files, _made(), strict=True):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    before = catalogue.CATALOGUES
    catalogue.CATALOGUES = folder
    catalogue.catalogue_of.cache_clear()
    try:
        yield CODE
    finally:
        catalogue.CATALOGUES = before
        catalogue.catalogue_of.cache_clear()


@cache
def _made() -> tuple[bytes, bytes]:
    """What the program and its templates read: gathered once, for it takes seconds."""
    everything, templates = Catalog(), Catalog()
    for room, said in catalogues.gathered().items():
        into = templates if room == catalogues.TEMPLATES else everything
        for message in said:
            if message.context in OF_A_LANGUAGE:
                continue
            if message.id and room != catalogues.COMMAND_LINE:
                into.add(message.id, _marked(message.id), context=message.context)
    for message, said, context in zip(
        ("English", "."), ("Marked", ","), OF_A_LANGUAGE, strict=True
    ):
        everything.add(message, said, context=context)
    return _mo(everything), _mo(templates)


def _mo(words: Catalog) -> bytes:
    file = BytesIO()
    write_mo(file, words)
    return file.getvalue()


def unmarked(page: str, data: set[str]) -> list[str]:
    """What a person reads on a page that no catalogue was asked for, without what is data."""
    reader = _Reader()
    reader.feed(page)
    found, depth, opened = [], 0, ""
    for text in reader.texts:
        opened = opened if depth else text
        left, depth = _outside(text, depth)  # a sentence may hold a link or a bold word
        for known in sorted(data, key=len, reverse=True):
            left = left.replace(known, " ")
        if _LETTERS.search(left):
            found.append(" ".join(text.split()))
    # What stands behind such a mark was not looked at.
    assert depth == 0, f"a mark is opened and never closed: {opened}"
    return found


def without_marked(text: str) -> str:
    """The text without what stands between marks; marks may stand within marks."""
    return _outside(text, 0)[0]


def _outside(text: str, depth: int) -> tuple[str, int]:
    """What stands outside of all marks, and how many are open behind it."""
    left = []
    for sign in text:
        depth += (sign == OPEN) - (sign == CLOSE)
        if depth == 0 and sign != CLOSE:
            left.append(sign)
    return "".join(left), depth


def _marked(message: str | tuple[str, ...] | list[str]) -> str | tuple[str, ...]:
    if isinstance(message, str):
        return f"{OPEN}{message}{CLOSE}"
    return tuple(f"{OPEN}{each}{CLOSE}" for each in message)


class _Reader(HTMLParser):
    """The texts of a page: what is shown, and what is read out."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._silent += tag in _NO_TEXT
        said = dict(attrs)
        if said.get("type") in ("submit", "button") and said.get("value"):
            self.texts.append(said["value"] or "")
        self.texts += [said[name] or "" for name in _ATTRIBUTES if said.get(name)]

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in _NO_TEXT

    def handle_data(self, data: str) -> None:
        if not self._silent and data.strip():
            self.texts.append(data)
