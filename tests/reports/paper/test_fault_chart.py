"""The fault chart as a report: every step and answer of the chart, its cautions before it."""

import re

import pytest

from tests.faultfinding.charting import chart_of, problem_of
from tests.reports.paper.conftest import MADE, pages_of, require_whole_pages, text_of
from tripmargin.faultfinding.cases.cautions import FIRST
from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.pictures.chart_cautions import SYMBOL, caution_sets, own_cautions
from tripmargin.pictures.fault_chart_rows import ways_of
from tripmargin.reports.paper.document import Across, Heading, Heed, Table
from tripmargin.reports.paper.fault_chart import fault_chart_report
from tripmargin.reports.paper.page import html_of
from tripmargin.reports.paper.typesetting import pdf_of

pytestmark = pytest.mark.slow  # a machine's faults are worked out, and some seventy pages set


@pytest.fixture(scope="module")
def document():
    return fault_chart_report(problem_of("whimbrel"), made=MADE)


@pytest.fixture(scope="module")
def pdf(document):
    return pdf_of(document)


def steps_tables(document):
    """The table of steps of each complaint that has steps."""
    return [b for b in document.blocks if isinstance(b, Table) and b.headers[0] == "Step"]


def test_every_step_of_every_complaint_stands_there(document):
    complaints = [each for each in chart_of("whimbrel").complaints if each.steps]
    tables = steps_tables(document)
    assert len(tables) == len(complaints)
    for table, each in zip(tables, complaints, strict=True):
        for row, step in zip(table.rows, each.steps, strict=True):
            assert row[0][0] == f"{step.id}"
            assert step.do in row[1]
            assert len(row[2]) == len(ways_of(step))


def test_a_step_says_its_cautions_before_what_is_done(document):
    chart = chart_of("whimbrel")
    sets = caution_sets(step for each in chart.complaints for step in each.steps)
    complaints = [each for each in chart.complaints if each.steps]
    seen = 0
    for table, each in zip(steps_tables(document), complaints, strict=True):
        for row, step in zip(table.rows, each.steps, strict=True):
            if own_cautions(step):
                one = sets[own_cautions(step)]
                assert row[1][0] == f"{one.mark} {one.short}"
                assert isinstance(row[1][0], Heed)  # on paper: at the head of each page
                assert row[1][0] in table.heed
                assert one.mark in row[0]
                assert row[1].index(step.do) > 0
                seen += 1
    assert seen > 20


def test_each_page_of_steps_begins_with_what_is_heeded_there(document, pdf):
    chart = chart_of("whimbrel")
    sets = caution_sets(step for each in chart.complaints for step in each.steps)
    pages = [" ".join(page.get_text().split()) for page in pages_of(pdf)]
    steps = [text for text in pages if "Answer, and where it leads" in text]
    assert len(steps) > 20
    for text in steps:
        head, _, rows = text.partition("Answer, and where it leads")
        marks = set(re.findall(rf"{SYMBOL}\w", rows))
        assert marks
        assert FIRST in head
        for one in sets.values():
            assert one.mark not in marks or f"{one.mark} {one.short}" in head
            assert one.short not in rows


def test_one_complaint_is_printed_without_the_rest():
    part = fault_chart_report(problem_of("whimbrel"), made=MADE, complaints=["stops on nothing"])
    (table,) = steps_tables(part)
    (each,) = (
        one for one in chart_of("whimbrel").complaints if one.complaint == "stops on nothing"
    )
    assert [row[0][0] for row in table.rows] == [f"{step.id}" for step in each.steps]
    kept = part.to_dict()["data"]
    assert [one["complaint"] for one in kept["chart"]["complaints"]] == ["stops on nothing"]
    assert "fmea" not in kept
    text = text_of(pdf_of(part))
    assert "Not in this print: dead, feed stays stopped," in " ".join(text.split())
    with pytest.raises(ProblemError, match="complaint"):
        fault_chart_report(problem_of("whimbrel"), made=MADE, complaints=["stops on anything"])


def test_each_complaint_begins_a_page_with_its_cautions(document, pdf):
    complaints = [each.complaint for each in chart_of("whimbrel").complaints]
    pages = [" ".join(page.get_text().split()) for page in pages_of(pdf)]
    for complaint in complaints:
        (page,) = (text for text in pages if text.startswith(f"{complaint} "))
        assert page.index(FIRST) < page.index("What is done" if "What is done" in page else "Page")
    require_whole_pages(pdf)


def test_wide_tables_lie_across(document, pdf):
    wide = [block for block in document.blocks if isinstance(block, Across)]
    assert len(wide) >= 3
    across = [page for page in pages_of(pdf) if page.rect.width > page.rect.height]
    assert len(across) >= len(wide)
    text = " ".join(" ".join(page.get_text().split()) for page in across)
    for block in wide:
        assert next(one.text for one in block.blocks if isinstance(one, Heading)) in text


def test_steps_alone_leave_the_tables_out():
    short = fault_chart_report(problem_of("whimbrel"), made=MADE, steps_only=True)
    assert not [block for block in short.blocks if isinstance(block, Across)]
    assert set(short.data) == {"machine", "machine_digest", "chart"}
    text = text_of(pdf_of(short))
    assert "Failure modes and effects" not in text


def test_its_numbers_are_those_of_the_chart(document):
    found = {one["complaint"]: one for one in document.to_dict()["data"]["chart"]["complaints"]}
    for each in chart_of("whimbrel").complaints:
        assert found[each.complaint]["leads"] == each.leads
        assert len(found[each.complaint]["steps"]) == len(each.steps)


def test_the_page_is_open_to_everybody(document, open_file, tmp_path, no_barrier, no_sideways):
    path = tmp_path / "chart.html"
    path.write_text(html_of(document), "utf-8")
    page = open_file(path, (360, 740))
    no_sideways(page)
    no_barrier(page)
