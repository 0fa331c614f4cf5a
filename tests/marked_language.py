"""A language made for tests, in which everything that went through a catalogue is marked.

Whatever stands unmarked on a page in it was not said through a catalogue, so no language could say
it. That it needs nothing but catalogues shows at the same time that a language more needs no code.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from html.parser import HTMLParser
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo

from tools import catalogues
from tripmargin.ground.languages import catalogue

CODE = "zz"
OPEN, CLOSE = "\u27e6", "\u27e7"  # marks that nobody types
_NO_TEXT = {"script", "style", "title", "code", "pre", "kbd", "textarea"}
_ATTRIBUTES = ("aria-label", "alt", "placeholder", "title")
_LETTERS = re.compile(r"[^\W\d_]{2,}")


@contextmanager
def marked_language(folder: Path) -> Iterator[str]:
    """The code of the marked language, while it can be spoken."""
    everything, templates = Catalog(), Catalog()
    for room, said in catalogues.gathered().items():
        into = templates if room == catalogues.TEMPLATES else everything
        for message in said:
            if message.id and room != catalogues.COMMAND_LINE:
                into.add(message.id, _marked(message.id), context=message.context)
    everything.add("English", "Marked", context="name of this language")
    everything.add(".", ",", context="decimal sign")
    _write(everything, folder / CODE / "tripmargin.mo")
    _write(templates, folder / CODE / "LC_MESSAGES" / "django.mo")
    before = catalogue.CATALOGUES
    catalogue.CATALOGUES = folder
    catalogue.catalogue_of.cache_clear()
    try:
        yield CODE
    finally:
        catalogue.CATALOGUES = before
        catalogue.catalogue_of.cache_clear()


def unmarked(page: str, data: set[str]) -> list[str]:
    """What a person reads on a page that no catalogue was asked for, without what is data."""
    reader = _Reader()
    reader.feed(page)
    found, depth = [], 0
    for text in reader.texts:
        left, depth = _outside(text, depth)  # a sentence may hold a link or a bold word
        for known in sorted(data, key=len, reverse=True):
            left = left.replace(known, " ")
        if _LETTERS.search(left):
            found.append(" ".join(text.split()))
    assert depth == 0, "a mark is opened and never closed: what stands behind it was not looked at"
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


def _write(words: Catalog, path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        write_mo(file, words)


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
