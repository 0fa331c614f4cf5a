"""The played page in other languages: its script says nothing that does not go through one."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.marked_language import marked_language
from tests.reports.script_said import gathered, handed_over, left_unmarked
from tripmargin.ground.languages import speaking
from tripmargin.machine import load_machine
from tripmargin.reports.how.page import SCRIPTS, how_page
from tripmargin.reports.one_file import script_of
from tripmargin.reports.script_words import script_words
from tripmargin.sensing import Piece

HERE = "tripmargin.reports.how"
PROJECTOR = (1280, 800)


@pytest.fixture
def marked(tmp_path: Path) -> Iterator[str]:
    """A language made for these tests."""
    with marked_language(tmp_path / "languages") as code:
        yield code


def written(path: Path, language: str, **more: Any) -> Path:
    """The page of one demo machine in a language."""
    with speaking(language):
        text = how_page(load_machine("whimbrel"), cut_length=0.028, piece=Piece.ball(0.02), **more)
    path.write_text(text, "utf-8")
    return path


def test_what_the_page_asks_for_is_what_the_catalogues_are_made_of() -> None:
    asked = handed_over(HERE, SCRIPTS)
    assert len(asked) > 80
    assert asked == gathered(HERE, SCRIPTS)


def test_in_english_the_page_carries_no_words() -> None:
    assert script_words(script_of(HERE, SCRIPTS)) is None


def test_everything_on_the_page_went_through_a_catalogue(
    marked: str, tmp_path: Path, open_file: Callable[..., Any]
) -> None:
    before = load_machine("whimbrel")
    after = before.with_settings({"clearance": 0.009})
    path = tmp_path / "how.html"
    with speaking(marked):
        text = how_page(after, cut_length=0.028, piece=Piece.ball(0.02), before=before)
    assert f'<html lang="{marked}">' in text
    path.write_text(text, "utf-8")
    page = open_file(path, PROJECTOR)
    # Data: the machine's name; fields of its file as written there, with their values; units.
    values = re.findall(r'[\w.]+ = [^"\u27e6]*? \(', text)
    data = {"Whimbrel", "mm", "ms", "m/s", *(each[:-2] for each in values), *after.changed}
    for happens in ("metal", "lost"):
        page.locator(f"input[name=happens][value={happens}]").check()
        ends = page.evaluate("theHow.ends")
        for share in (0.0, 0.5, 0.8, 1.0):
            page.evaluate("t => theHow.go(t)", share * ends)
            assert left_unmarked(page, data) == []
    assert page.aloud == []


def test_a_german_page_is_german_with_a_comma(
    tmp_path: Path, open_file: Callable[..., Any]
) -> None:
    # The German is checked against itself only: no outside source.
    page = open_file(written(tmp_path / "de.html", "de"), PROJECTOR)
    assert page.locator("html").get_attribute("lang") == "de"
    assert page.get_by_role("button", name="Abspielen", exact=True).is_visible()
    page.keyboard.press("End")
    seen = page.locator("main").inner_text()
    assert "Klinken eingefallen" in seen
    assert "Die Walzen stehen" in seen
    assert re.search(r"\d,\d ms", page.locator("#clock").inner_text())
    assert not re.search(r"\d\.\d (mm|ms|V|A)\b", page.locator(".panels").inner_text())
    words = json.loads(page.locator("#words").text_content())
    assert words["sign"] == ","
    assert words["words"]["plunger\x04out"] == "abgefallen"
