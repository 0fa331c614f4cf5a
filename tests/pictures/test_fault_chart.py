"""The drawn fault chart: cautions first, every step and answer on it, nothing off the page."""

from __future__ import annotations

from functools import lru_cache

import pytest

from tests.faultfinding.charting import chart_of, coverage_of, problem_of
from tests.pictures.reading import overlaps, root_of, size_of, texts, words_of
from tripmargin.faultfinding.cases.cautions import AT_REST
from tripmargin.faultfinding.charts.alike import alike
from tripmargin.faultfinding.charts.fmea import Fmea, fmea
from tripmargin.pictures.alike_table import alike_section
from tripmargin.pictures.answer_words import touching
from tripmargin.pictures.coverage_table import coverage_sections, coverage_table
from tripmargin.pictures.drawn_table import drawn_table
from tripmargin.pictures.fault_chart import (
    fault_chart_picture,
    fault_chart_table,
)
from tripmargin.pictures.fmea_table import fmea_sections, fmea_table
from tripmargin.pictures.look import DAY
from tripmargin.pictures.page import html_page


@lru_cache(maxsize=1)
def table() -> Fmea:
    return fmea(problem_of(), covered=coverage_of())


def sheets():
    """A complaint's steps in portions, as `fault_chart_picture` takes them."""
    each = chart_of().of("dead")
    return [(each, each.steps[k : k + 12]) for k in range(0, len(each.steps), 12)]


def squeezed(svg):
    return " ".join(words_of(svg).split())


@pytest.mark.parametrize("number", [0, 1, 2])
def test_a_sheet_opens_with_cautions(number):
    svg = fault_chart_picture(chart_of(), [sheets()[number]])
    said = squeezed(svg)
    first_step = f" {sheets()[number][1][0].do}"
    assert all(said.index(caution) < said.index(first_step.strip()) for caution in AT_REST)


@pytest.mark.parametrize("width", [280, 360, 840, 1500])
def test_nothing_overlaps_or_leaves_the_page(width):
    for part in sheets():
        svg = fault_chart_picture(chart_of(), [part], width=width)
        assert overlaps(svg) == []
        wide = size_of(svg)[0]
        assert all(text.left >= 0 and text.right <= wide for text in texts(svg))


def test_every_answer_of_a_step_stands_on_its_sheet_with_where_it_leads():
    for part in sheets():
        svg = fault_chart_picture(chart_of(), [part])
        said = squeezed(svg)
        for step in part[1]:
            assert f"{step.id}" in said
            for branch in step.branches:
                if branch.to is not None:
                    assert f"\N{RIGHTWARDS ARROW} {branch.to}" in said


def test_only_what_is_proved_wears_the_accent():
    svg = fault_chart_picture(chart_of(), sheets())
    assert {text.words for text in texts(svg) if text.fill == DAY.accent} == {
        "\N{RIGHTWARDS ARROW} done: proved"
    }


def test_the_whole_chart_is_one_picture_with_every_complaint():
    svg = fault_chart_picture(chart_of())
    root_of(svg)
    for each in chart_of().complaints:
        assert f"Whimbrel: {each.complaint}" in words_of(svg)


def test_ranges_that_touch_are_told_as_one():
    assert touching(["17 ohm to 1.3 kohm", "less than 17 ohm", "more than 2 Mohm"]) == [
        "more than 2 Mohm",
        "less than 1.3 kohm",
    ]
    assert touching(["more than 8.8 V", "4.0 V to 8.8 V"]) == ["more than 4.0 V"]


def test_the_table_behind_it_has_a_row_for_each_branch():
    headers, rows = fault_chart_table(chart_of(), "dead")
    assert len(rows) == sum(len(step.branches) for step in chart_of().of("dead").steps)
    assert all(len(row) == len(headers) for row in rows)


def test_the_coverage_page_names_silent_faults_first_with_what_becomes_of_metal():
    first = coverage_sections(coverage_of())[0]
    assert first.table is not None
    named = [row[0] for row in first.table[1][:8]]
    for trap in ("the plunger's spring is weak", "a pawl's spring is broken"):
        assert trap in named
    assert all(row[2] != "stopped in time" for row in first.table[1][:8])


def test_the_files_words_stand_beside_the_computed_ones():
    paths = coverage_sections(coverage_of())[1]
    assert paths.table is not None
    headers, rows = paths.table
    assert {"proves", "leaves open", "lets metal through unseen"} <= set(headers)
    daily = next(row for row in rows if row[0] == coverage_of().daily)
    assert "the sensor's magnets are weak" in str(daily[-1])


def test_every_fault_has_a_row_in_the_coverage_table_and_in_the_fmea():
    headers, rows = coverage_table(coverage_of())
    assert len(rows) == len(coverage_of().faults) == len(fmea_table(table())[1])
    assert all(len(row) == len(headers) for row in rows)


def test_the_fmea_page_prints_its_scales_and_its_warning_before_its_rows():
    severity, occurrence, detection, rows = fmea_sections(table())
    assert any("does not rank" in line for line in severity.lines)
    scales = (table().severity_scale, table().occurrence_scale, table().detection_scale)
    for section, scale in zip((severity, occurrence, detection), scales, strict=True):
        assert section.table is not None
        assert dict(section.table[1]) == scale
    assert rows.wide


def test_a_page_with_everything_is_whole_and_needs_no_network():
    pictures = [fault_chart_picture(chart_of(), [part]) for part in sheets()]
    made = (*coverage_sections(coverage_of()), alike_section(alike(problem_of())))
    page = html_page("Fault chart", pictures, sections=(*made, *fmea_sections(table())))
    assert page.count("<svg") == len(pictures)
    assert "http" not in page.replace("http://www.w3.org/2000/svg", "")
    assert page.count('<section class="wide">') == 3


@pytest.mark.parametrize("width", [360, 840, 1500])
def test_a_drawn_table_keeps_its_words_on_the_page(width):
    rows = [["W3: wire chafed to ground", 0.02, "goes through, and nobody sees it"]] * 3
    svg = drawn_table("Faults", ["Read it."], (("fault", "rate", "metal"), rows), width=width)
    assert overlaps(svg) == []
    assert all(text.right <= width for text in texts(svg))
