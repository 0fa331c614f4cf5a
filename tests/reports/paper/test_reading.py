"""A report read back is the report, and anything else is refused in plain words."""

import json

import pytest

from tests.reports.paper.conftest import reader_of
from tripmargin.reports.paper.page import html_of
from tripmargin.reports.paper.reading import ReportError, read_report
from tripmargin.reports.paper.typesetting import ATTACHED


def through_json(document):
    return json.loads(json.dumps(document.to_dict(), allow_nan=False))


@pytest.mark.parametrize("ending", [".pdf", ".html"])
def test_the_numbers_come_back(commissioning, commissioning_pdf, tmp_path, ending):
    path = tmp_path / f"report{ending}"
    path.write_bytes(commissioning_pdf if ending == ".pdf" else html_of(commissioning).encode())
    found = read_report(path)
    assert found == through_json(commissioning)
    assert found["report"] == "commissioning"
    assert found["made_at"] == "2026-11-29T12:00:00+00:00"
    assert found["data"]["proof"]["verdict"] == "doubtful"
    assert found["data"]["race"]["cut_length_m"] == 0.028


def test_the_numbers_are_an_associated_file(commissioning_pdf):
    # ISO 19005-3, 6.8: named in the catalogue's AF, with its kind and its relation.
    (file,) = reader_of(commissioning_pdf).trailer["/Root"]["/AF"]
    described = file.get_object()
    assert described["/UF"] == ATTACHED
    assert described["/AFRelationship"] == "/Data"
    assert described["/EF"]["/F"]["/Subtype"] == "/application/json"


@pytest.mark.parametrize(
    ("name", "content", "why"),
    [
        ("a.pdf", b"%PDF-1.7\nnothing", "damaged"),
        ("a.pdf", b"", "neither a PDF nor a page"),
        ("a.txt", b"words", "neither a PDF nor a page"),
        ("a.html", b"<!DOCTYPE html><html><p>words</p></html>", "holds no numbers"),
        ("a.html", b'<html><script id="report-data">{</script></html>', "damaged"),
        ("a.html", b'<html><script id="report-data">{"form": "2"}</script></html>', "another form"),
        ("a.html", b'<html><script id="report-data">[1]</script></html>', "another form"),
        ("a.html", b'<html><script id="report-data">' + b"[" * 9999 + b"</script>", "damaged"),
    ],
)
def test_what_is_no_report_is_refused(tmp_path, name, content, why):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(ReportError, match=why) as caught:
        read_report(path)
    assert str(path) in str(caught.value)
    assert "tripmargin report" in str(caught.value)


def test_a_damaged_file_is_refused_or_read_as_it_was(tmp_path):
    import random

    from tests.reports.paper.conftest import MADE
    from tripmargin.machine import load_machine
    from tripmargin.reports.paper.daily_check import daily_check_sheet
    from tripmargin.reports.paper.typesetting import pdf_of

    document = daily_check_sheet(load_machine("dunlin"), made=MADE)
    whole, chance, path = pdf_of(document), random.Random(7), tmp_path / "damaged.pdf"
    refused = 0
    for turn in range(60):
        harmed = bytearray(whole)
        for _ in range(chance.randrange(1, 40)):
            harmed[chance.randrange(8, len(harmed))] = chance.randrange(256)
        path.write_bytes(
            bytes(harmed[: chance.randrange(100, len(harmed))] if turn % 3 else harmed)
        )
        try:
            assert read_report(path)["form"]
        except ReportError:
            refused += 1
    assert refused > 10


def test_a_pdf_without_numbers_is_refused(tmp_path):
    from pypdf import PdfWriter

    writer = PdfWriter()
    writer.add_blank_page(200, 200)
    path = tmp_path / "blank.pdf"
    writer.write(path)
    with pytest.raises(ReportError, match="holds no numbers"):
        read_report(path)
