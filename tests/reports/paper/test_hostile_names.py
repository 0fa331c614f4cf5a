"""Words that people enter stay words: no name becomes markup, breaks the page or is lost."""

from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.reports.paper.conftest import pages_of, require_whole_pages, text_of
from tripmargin.reports.paper.document import Cautions, Document, Heading, Listed, Table, Words
from tripmargin.reports.paper.letters import in_letters
from tripmargin.reports.paper.page import html_of
from tripmargin.reports.paper.reading import read_report
from tripmargin.reports.paper.typesetting import pdf_of

MADE = datetime(2026, 11, 29, 12, 0, tzinfo=UTC)
NAMES = (
    '#panic("x")',
    "#eval(\"1\") $x$ *a* _b_ `c` <label> @ref = - + / // /* */ ~ \\ \\u{41} -- --- ...",
    "<script>alert(1)</script>&amp;<!-- </script>",
    "äöüß ÄÖÜ éèñ Łódź Żuraw",
    "Кулик μηχανή",
    "{page} {pages} {0} %s",
    "https://example.org/a_very_long/path.with.dots?and=more#end",
    '"quoted" \'single\' \\',
)  # fmt: skip


def document_of(name):
    blocks = [
        Heading(name, level=1),
        Words([name, f"{name} again"]),
        Listed([name, name]),
        Cautions(name, [name]),
        Table(name, (name, "b"), [(name, name), ("x", name)]),
    ]
    return Document("trial", name, name, MADE, name, "en", blocks, {"name": name, "rows": [name]})


@pytest.mark.parametrize("name", NAMES)
def test_a_name_stands_on_paper_as_it_was_entered(name):
    made = pdf_of(document_of(name))
    # Lines break anywhere in a long word: compare without spaces.
    squeezed = "".join(text_of(made).split())
    assert squeezed.count("".join(name.split())) >= 10
    require_whole_pages(made)


@pytest.mark.parametrize("name", [NAMES[0], NAMES[2], "Dünlin \N{TRACTOR} שלום", "W" * 120])
def test_a_machine_of_any_name_has_its_reports(name):
    from dataclasses import replace

    from tripmargin.machine import load_machine
    from tripmargin.reports.paper.commissioning import commissioning_report
    from tripmargin.reports.paper.daily_check import daily_check_sheet

    machine = load_machine("sanderling")
    machine = replace(machine, machine=replace(machine.machine, name=name))
    for document in (
        daily_check_sheet(machine, made=MADE),
        commissioning_report(machine, made=MADE, cut_length=0.012),
    ):
        made = pdf_of(document)
        require_whole_pages(made)
        assert all("2026-11-29" in page.get_text() for page in pages_of(made))
        assert document.to_dict()["subject"] == name
        assert "<script>alert" not in html_of(document).partition("<main")[2].partition("</main")[0]


def test_letters_that_no_typeface_has_are_named():
    assert in_letters("Dunlin \N{TRACTOR} 2") == "Dunlin [tractor] 2"
    text = text_of(pdf_of(document_of("Dunlin \N{TRACTOR} 2")))
    assert "Dunlin [tractor] 2" in text


def test_signs_that_show_nothing_are_left_out_and_breaks_are_spaces():
    assert in_letters("a\x00b\x1bc\nd\te") == "abc d e"


@pytest.mark.parametrize("name", ["שלום מגרש", "مرحبا بالعالم"])
def test_names_that_run_from_right_to_left_are_set(name):
    assert in_letters(name) == name
    letters = sorted("".join(name.split()))
    text = text_of(pdf_of(document_of(name)))
    found = [letter for letter in text if letter in letters]
    assert set(found) == set(letters)


@pytest.mark.parametrize("name", ["W" * 300, "chain.pawls.lower." * 12, "m" * 40 + " " + "i" * 90])
def test_very_long_words_stay_on_the_page(name):
    require_whole_pages(pdf_of(document_of(name)))


@settings(max_examples=25, deadline=None)
@given(name=st.text(st.characters(exclude_categories=("Cs",)), max_size=40))
def test_any_name_can_be_printed_and_read_back(name, tmp_path_factory):
    document = document_of(name)
    folder = tmp_path_factory.mktemp("any")
    paper, page = folder / "a.pdf", folder / "a.html"
    paper.write_bytes(pdf_of(document))
    page.write_bytes(html_of(document).encode())
    assert read_report(paper) == document.to_dict()
    assert read_report(page) == document.to_dict()
