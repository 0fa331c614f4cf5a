"""Reports in German on paper: words, signs, and headers that have room for them.

The German words are checked against themselves only: no outside source.
"""

from __future__ import annotations

import re
from datetime import date
from itertools import pairwise

import pytest

from tests.reports.paper.conftest import MADE, pages_of, text_of
from tests.reports.paper.test_training import result
from tripmargin.ground.languages import speaking
from tripmargin.machine import demo_machines, load_machine
from tripmargin.reports.paper.commissioning import commissioning_report
from tripmargin.reports.paper.daily_check import daily_check_sheet
from tripmargin.reports.paper.document import Document, Table
from tripmargin.reports.paper.page import html_of
from tripmargin.reports.paper.training import training_record
from tripmargin.reports.paper.typesetting import pdf_of


@pytest.fixture(scope="module")
def german() -> tuple[Document, str]:
    """The commissioning report of a demo machine in German, and the text of its PDF."""
    with speaking("de"):
        document = commissioning_report(load_machine("curlew"), made=MADE, by="Robin Fen")
        return document, text_of(pdf_of(document))


def test_limits_stand_behind_the_sign_of_print(german: tuple[Document, str]) -> None:
    document, text = german
    assert "259 mm \N{PLUS-MINUS SIGN} 3 mm" in text
    assert "+-" not in text
    with speaking("de"):
        page = html_of(document)
    seen = re.sub(r"<script.*?</script>", "", page, flags=re.S)
    assert "+-" not in seen


def test_limits_stand_so_in_english_too() -> None:
    document = commissioning_report(load_machine("dunlin"), made=MADE)
    cells = [cell for one in document.blocks if isinstance(one, Table) for row in one.rows
             for cell in row if isinstance(cell, str)]  # fmt: skip
    assert any("\N{PLUS-MINUS SIGN}" in cell for cell in cells)
    assert not any("+-" in cell for cell in cells)


def test_a_machine_is_told_of_in_german(german: tuple[Document, str]) -> None:
    _, text = german
    assert "gezogener Feldh\u00e4cksler" in text
    assert "trailed" not in text
    assert "Was angehalten werden muss Kugel 20 mm" in text
    assert "20 mm ball" not in text


def test_words_of_headers_stand_apart() -> None:
    with speaking("de"):
        document = training_record([result()], made=MADE, by="Robin")
        pdf = pdf_of(document)
    words = [word for page in pages_of(pdf) for word in page.get_text("words")]
    head = next(word for word in words if word[4] == "Startwert")
    line = sorted(word for word in words if abs(word[1] - head[1]) < 2)
    assert [word[4] for word in line][-2:] == ["Unsicher", "Startwert"]
    for left, right in pairwise(line):
        assert right[0] - left[2] > 2, (left[4], right[4])  # pt: two words, not one


def test_a_day_stays_as_iso_writes_it(german: tuple[Document, str]) -> None:
    assert date(2026, 11, 29).isoformat() in german[1]


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", demo_machines())
def test_a_week_of_daily_checks_is_one_page(name: str, paper: str) -> None:
    with speaking("de"):
        sheet = daily_check_sheet(load_machine(name), made=MADE, paper=paper)
        assert len(pages_of(pdf_of(sheet))) == 1
