"""The catalogues that are kept: whole, current, and true to the English."""

from __future__ import annotations

import csv
import re
from collections import defaultdict
from functools import cache
from string import Formatter

import pytest
from babel.messages.catalog import Catalog, Message

from tools import catalogues
from tripmargin.ground.languages import known_languages

LANGUAGES = [folder.name for folder in catalogues.languages()]
_TERMS_FILE = catalogues.CATALOGUES / "de" / "terms.csv"
TERMS = list(csv.DictReader(_TERMS_FILE.read_text(encoding="utf-8").splitlines()))


@cache
def said_in_the_code() -> dict[str, Catalog]:
    return catalogues.gathered()


@cache
def kept(language: str) -> list[tuple[str, Message]]:
    folder = catalogues.CATALOGUES / language
    return [
        (path.stem, message)
        for path in sorted(folder.glob("*.po"))
        for message in catalogues.read(path)
        if message.id and is_translated(message)
    ]


def is_translated(message: Message) -> bool:
    said = (message.string,) if isinstance(message.string, str) else message.string
    return all(said)


def forms(message: Message) -> list[tuple[str, str]]:
    """English and translation, form by form; plural forms against both English ones."""
    if isinstance(message.id, str):
        return [(message.id, message.string)]
    return [(" ".join(message.id), each) for each in message.string]


def places(text: str) -> set[tuple[str, str, str]]:
    return {
        (name, form or "", conversion or "")
        for _, name, form, conversion in Formatter().parse(text)
        if name is not None
    }


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_catalogue_is_as_the_code_is(language):
    """`python tools/catalogues.py update` was run after the last change of a sentence."""
    folder = catalogues.CATALOGUES / language
    due = catalogues.updated(folder, said_in_the_code()) | catalogues.compiled(folder)
    assert [path.name for path in catalogues.stale(due)] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_translation_has_the_places_of_the_english(language):
    """A missing place would swallow a value, one too many would end the program."""
    wrong = []
    for room, message in kept(language):
        if room == catalogues.TEMPLATES:
            continue  # Django's own form, tested below
        for english, said in forms(message):
            if not places(said) <= places(english) or (
                isinstance(message.id, str) and places(said) != places(english)
            ):
                wrong.append((room, english, said))
    assert wrong == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_templates_translation_has_its_values(language):
    values = re.compile(r"%\(\w+\)s")
    wrong = [
        (english, said)
        for room, message in kept(language)
        for english, said in forms(message)
        if room == catalogues.TEMPLATES
        and not set(values.findall(said)) <= set(values.findall(english))
    ]
    assert wrong == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_one_sentence_is_translated_in_one_way(language):
    said = defaultdict(set)
    for room, message in kept(language):
        if room != catalogues.TEMPLATES:
            said[message.id, message.context].add(message.string)
    assert {key: ways for key, ways in said.items() if len(ways) > 1} == {}


def without_places(text: str) -> str:
    """The text without its places: their names are the program's words."""
    return re.sub(r"\{[^{}]*\}|%\(\w+\)s", " ", text)


def test_german_uses_the_words_of_the_trade():
    """Against catalogues/de/terms.csv: each term with the standard or the trade it is from."""
    terms = [
        (re.compile(rf"\b{re.escape(row['english'])}s?\b"),
         [row["german"], *filter(None, row["also"].split(";"))])
        for row in TERMS
    ]  # fmt: skip
    wrong = [
        (row[0].pattern, english, said)
        for _, message in kept("de")
        for english, said in forms(message)
        for row in terms
        if row[0].search(without_places(english)) and not any(word in said for word in row[1])
    ]
    # A few sentences turn a term into a verb or a pronoun; many would mean another word is used.
    assert len(wrong) <= 0.03 * len(kept("de")) + 1, wrong[:40]


def test_german_lacks_nothing_and_is_offered():
    left = catalogues.missing(catalogues.CATALOGUES / "de", said_in_the_code())
    assert left == []
    assert known_languages()["de"] == "Deutsch"


def test_what_is_missing_is_listed(tmp_path):
    folder = tmp_path / "xx"
    folder.mkdir()
    rooms = {"ground": Catalog()}
    rooms["ground"].add("One sentence.")
    assert catalogues.missing(folder, rooms) == ["ground: One sentence."]


def test_an_update_keeps_what_was_translated_and_drops_what_is_no_longer_said(tmp_path):
    folder = tmp_path / "sv"
    folder.mkdir()
    said = Catalog()
    said.add("Kept.")
    before = Catalog(locale="sv")
    before.add("Kept.", "Behållet.")
    before.add("Gone.", "Borta.")
    (folder / "ground.po").write_bytes(catalogues.written(before))
    for path, text in catalogues.updated(folder, {"ground": said}).items():
        path.write_bytes(text)
    now = catalogues.read(folder / "ground.po")
    assert [(each.id, each.string) for each in now if each.id] == [("Kept.", "Behållet.")]
