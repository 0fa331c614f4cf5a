"""What a PDF promises: tagged, titled, spoken, readable without our typefaces, the same twice."""

import re
from itertools import pairwise

import pytest

from tests.reports.paper.conftest import pages_of, reader_of, require_whole_pages, text_of
from tripmargin.reports.paper.document import Document, Drawing, Heading, Table, Words
from tripmargin.reports.paper.typesetting import pdf_of


def test_it_is_tagged_and_says_so(commissioning_pdf):
    # ISO 14289-1, 7.1: MarkInfo/Marked true, a structure tree, the title shown, a language.
    catalogue = reader_of(commissioning_pdf).trailer["/Root"]
    assert catalogue["/MarkInfo"]["/Marked"] is not None
    assert bool(catalogue["/MarkInfo"]["/Marked"])
    assert catalogue["/StructTreeRoot"]["/Type"] == "/StructTreeRoot"
    assert catalogue["/Lang"] == "en"
    assert bool(catalogue["/ViewerPreferences"]["/DisplayDocTitle"])


def test_it_names_its_profiles_and_its_title(commissioning_pdf):
    # ISO 14289-1, 5: pdfuaid:part 1 in the XMP packet; ISO 19005-3, 6.6.4: pdfaid:part 3, level A.
    packet = reader_of(commissioning_pdf).trailer["/Root"]["/Metadata"].get_data().decode()
    said = dict(re.findall(r"<(pdf[ua]+id:\w+)>(\w+)</", packet))
    assert said["pdfuaid:part"] == "1"
    assert (said["pdfaid:part"], said["pdfaid:conformance"]) == ("3", "A")
    assert "Commissioning report: Whimbrel" in packet


def elements_of(pdf):
    """Every structure element: its role, and its dictionary."""
    root = reader_of(pdf).trailer["/Root"]["/StructTreeRoot"]

    def below(element):
        element = element.get_object()
        if not hasattr(element, "get"):
            return
        if "/S" in element:
            yield element["/S"], element
        kids = element.get("/K", [])
        kids = kids if isinstance(kids, list) else [kids]
        for kid in kids:
            if not isinstance(kid, int):
                yield from below(kid)

    return list(below(root))


def test_every_picture_has_words(commissioning, commissioning_pdf):
    figures = [element for role, element in elements_of(commissioning_pdf) if role == "/Figure"]
    assert len(figures) == sum(isinstance(one, Drawing) for one in commissioning.blocks) == 2
    for figure in figures:
        assert len(str(figure["/Alt"])) > 40


def test_tables_have_marked_heads(commissioning, commissioning_pdf):
    roles = [role for role, _ in elements_of(commissioning_pdf)]
    tables = [one for one in commissioning.blocks if isinstance(one, Table)]
    assert roles.count("/Table") == len(tables)
    assert roles.count("/TH") >= sum(len(one.headers) for one in tables)


def test_headings_go_down_one_level_at_a_time(commissioning_pdf):
    # ISO 14289-1, 7.4.2: no level is left out.
    levels = [
        int(role[2]) for role, _ in elements_of(commissioning_pdf) if re.fullmatch("/H[1-6]", role)
    ]
    assert levels
    assert levels[0] == 1
    for one, following in pairwise(levels):
        assert following <= one + 1


def test_every_letter_is_inside(commissioning_pdf):
    fonts = {}
    for page in reader_of(commissioning_pdf).pages:
        for font in page["/Resources"].get("/Font", {}).values():
            font = font.get_object()
            for below in font.get("/DescendantFonts", [font]):
                below = below.get_object()
                fonts[below["/BaseFont"]] = below["/FontDescriptor"]
    assert fonts
    for name, described in fonts.items():
        assert any(key in described for key in ("/FontFile2", "/FontFile3")), name
    assert any("LiberationSans" in name for name in fonts)


def test_text_comes_out_in_reading_order(commissioning, commissioning_pdf):
    text, at = text_of(commissioning_pdf), -1
    headings = [one.text for one in commissioning.blocks if isinstance(one, Heading)]
    assert len(headings) > 8
    for heading in headings:
        found = text.find(heading, at + 1)
        assert found > at, heading
        at = found


def test_cautions_come_before_everything_else(commissioning_pdf):
    text = text_of(commissioning_pdf)
    first = text.index("This protects the machine, not people.")
    assert first < text.index("engine off, key out") < text.index("Is this machine protected?")


def test_the_same_report_gives_the_same_bytes(commissioning, commissioning_pdf):
    assert pdf_of(commissioning) == commissioning_pdf


def test_pages_are_whole(commissioning_pdf):
    require_whole_pages(commissioning_pdf)


def test_every_page_has_the_machine_the_day_and_its_number(commissioning_pdf):
    pages = [" ".join(page.get_text().split()) for page in pages_of(commissioning_pdf)]
    for number, text in enumerate(pages, 1):
        assert "Whimbrel" in text
        assert "2026-11-29" in text
        assert f"Page {number} of {len(pages)}" in text


@pytest.mark.parametrize(
    ("paper", "across", "size"),
    # ISO 216: A4 is 210 mm x 297 mm; ANSI/ASME Y14.1: letter is 8.5 in x 11 in; 72 points an inch.
    [
        ("a4", False, (595.3, 841.9)),
        ("letter", False, (612.0, 792.0)),
        ("a4", True, (841.9, 595.3)),
    ],
)
def test_the_sheet_is_the_one_asked_for(commissioning, paper, across, size):
    made = pdf_of(_short(commissioning, paper=paper, across=across))
    (page,) = pages_of(made)
    assert (page.rect.width, page.rect.height) == pytest.approx(size, abs=0.1)


def test_a_table_says_its_head_again_on_each_page(commissioning):
    rows = [(f"row {k}", "what was found") for k in range(120)]
    made = pdf_of(_short(commissioning, Table("Rows", ("Number of it", "Found"), rows)))
    pages = [page.get_text() for page in pages_of(made)]
    assert len(pages) > 2
    assert all("Number of it" in text for text in pages)
    assert sum(text.count("what was found") for text in pages) == 120
    require_whole_pages(made)


def test_a_picture_without_words_is_refused(commissioning):
    blank = Drawing(lambda width, sun: "<svg xmlns='http://www.w3.org/2000/svg'></svg>")
    with pytest.raises(ValueError, match="without words"):
        pdf_of(_short(commissioning, blank))


def _short(of, *blocks, paper="a4", across=False):
    lines = Words(["One line.", "A second.", "A third."])
    return Document(
        of.kind, of.title, of.subject, of.made, of.by, "en", [lines, *blocks], {}, paper, across
    )
