"""The daily check as a sheet: a page a week, a box for every step and day, cautions first."""

import pytest

from tests.reports.paper.conftest import MADE, pages_of, require_whole_pages, text_of
from tripmargin.faultfinding.wording.lamp_words import lamp_words
from tripmargin.machine import demo_machines, load_machine
from tripmargin.reports.paper.daily_check import DAYS, daily_check_sheet
from tripmargin.reports.paper.document import Space, Table
from tripmargin.reports.paper.page import html_of
from tripmargin.reports.paper.typesetting import pdf_of


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("name", demo_machines())
def test_a_week_is_one_page(name, paper):
    made = pdf_of(daily_check_sheet(load_machine(name), made=MADE, weeks=2, paper=paper))
    pages = pages_of(made)
    assert len(pages) == 2
    require_whole_pages(made)
    for page in pages:
        text = " ".join(page.get_text().split())
        assert text.index("engine off, key out") < text.index("Hour meter")
        assert "Never run the feed with the protection locked out." in text


@pytest.mark.parametrize("name", demo_machines())
def test_every_step_has_a_box_for_every_day_and_says_what_is_expected(name):
    machine = load_machine(name)
    document = daily_check_sheet(machine, made=MADE)
    (table,) = (one for one in document.blocks if isinstance(one, Table))
    ticked = [row for row in table.rows if row[1:] == (Space.TICK,) * DAYS]
    lamps = lamp_words(machine)
    assert len(ticked) == len(lamps.steps) + 2  # and: it tripped, it reset
    text = text_of(pdf_of(document))
    assert "Rolls, seen from out of reach: stopped." in lamps.words("check pressed")
    for step in lamps.steps:
        assert " ".join(lamps.words(step)) in text
    assert [one["step"] for one in document.data["steps"]] == list(lamps.steps)


def test_a_machine_without_wiring_has_a_sheet_too():
    from dataclasses import replace

    machine = replace(load_machine("whimbrel"), circuit=None, checks=None)
    text = text_of(pdf_of(daily_check_sheet(machine, made=MADE)))
    assert "Rolls, lamps and buzzer as the operator's manual says." in text
    assert "It tripped" in text


@pytest.mark.parametrize("weeks", [0, 27])
def test_no_or_too_many_weeks_are_refused(weeks):
    with pytest.raises(ValueError, match="Allowed: 1 to 26"):
        daily_check_sheet(load_machine("whimbrel"), made=MADE, weeks=weeks)


def test_the_page_has_boxes_with_names(open_file, tmp_path, no_barrier, no_sideways):
    path = tmp_path / "sheet.html"
    path.write_text(html_of(daily_check_sheet(load_machine("curlew"), made=MADE)), "utf-8")
    page = open_file(path, (360, 740))
    no_barrier(page)
    no_sideways(page)
    assert page.locator(".tick").count() == 9 * DAYS
    assert page.locator(".tick").first.get_attribute("aria-label") == "a box to tick"


def test_the_rule_of_the_foot_stands_above_its_words(commissioning_pdf):
    sheet = pdf_of(daily_check_sheet(load_machine("whimbrel"), made=MADE, weeks=2))
    for page in (*pages_of(sheet), *pages_of(commissioning_pdf)):
        words = page.search_for("2026-11-29")[-1]
        foot = page.rect.height - 19 / 25.4 * 72  # pt: below it is the margin of paper.typ
        assert words.y0 > foot
        rules = [one["rect"].y1 for one in page.get_drawings()
                 if one["rect"].y0 > foot and one["rect"].width > page.rect.width / 2]  # fmt: skip
        assert rules
        letters = words.y0 + 0.2 * words.height  # a line's box is taller than its letters
        assert max(rules) <= letters
