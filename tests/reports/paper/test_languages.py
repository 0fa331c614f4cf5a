"""Reports in another language: everything that a report says itself goes through a catalogue."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from tests.marked_language import marked_language, without_marked
from tests.reports.paper.conftest import MADE, text_of
from tests.reports.paper.test_training import result
from tripmargin.ground.languages import speaking
from tripmargin.machine import load_machine
from tripmargin.reports.paper.commissioning import commissioning_report
from tripmargin.reports.paper.daily_check import daily_check_sheet
from tripmargin.reports.paper.document import (
    Cautions,
    Document,
    Heading,
    Space,
    Table,
    Verdict,
    Words,
)
from tripmargin.reports.paper.page import html_of
from tripmargin.reports.paper.training import training_record
from tripmargin.reports.paper.typesetting import pdf_of

REPORTS = {
    "daily-check": lambda: daily_check_sheet(load_machine("whimbrel"), made=MADE),
    "training": lambda: training_record([result()], made=MADE, by="Robin"),
    "commissioning": lambda: commissioning_report(load_machine("whimbrel"), made=MADE, by="Robin"),
}


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A language made for these tests."""
    with marked_language(tmp_path_factory.mktemp("languages")) as code:
        yield code


def own_words(document: Document) -> Iterator[str]:
    """What a report says by itself: titles, heads, its first column where it names facts."""
    yield document.title
    for block in document.blocks:
        match block:
            case Heading():
                yield block.text
            case Verdict():
                yield block.word
            case Cautions():
                yield block.title
            case Words(strong=True):
                yield from block.lines
            case Table():
                yield block.title
                yield from block.headers
                by_hand = any(isinstance(cell, Space) for row in block.rows for cell in row)
                if len(block.headers) == 2 and not by_hand:
                    yield from (str(row[0]) for row in block.rows)


@pytest.mark.parametrize("kind", REPORTS)
def test_nothing_of_its_own_is_left_in_english(marked: str, kind: str) -> None:
    with speaking(marked):
        document = REPORTS[kind]()
        assert document.language == marked
        left = [
            words
            for words in own_words(document)
            if re.search(r"[^\W\d_]{3,}", without_marked(words).replace("Whimbrel", ""))
        ]
    assert left == []


def test_page_and_paper_say_which_language_they_are_in(marked: str) -> None:
    with speaking(marked):
        document = REPORTS["training"]()
        page, paper = html_of(document), pdf_of(document)
    assert f'<html lang="{marked}"' in page
    assert "Training record" in text_of(paper)


def test_a_value_is_not_quoted_from_the_file_for_its_decimal_sign_alone(marked: str) -> None:
    def quoted(document: Document) -> int:
        tables = [one for one in document.blocks if isinstance(one, Table)]
        return sum(
            ": " in str(cell) for one in tables if len(one.headers) == 4 for row in one.rows
            for cell in row[3:]
        )  # fmt: skip

    english = quoted(REPORTS["commissioning"]())
    with speaking(marked):
        assert quoted(REPORTS["commissioning"]()) == english > 5
