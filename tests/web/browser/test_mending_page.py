"""A comma in a number mended at one touch in a real browser; more answers about a machine."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from playwright.sync_api import expect

from tests.web.browser.conftest import BOTH, DESK, PHONE
from tests.web.browser.targets import too_small
from tripmargin.faultfinding import CANNOT_TELL
from tripmargin.records.keeping.cases import open_case
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import FaultCase
from tripmargin.web.whats_wrong import keeper

Fixture = Callable[..., Any]
REFUSED = "status of 422"  # a form with a mistake is answered so, and Chromium says it aloud
BELOW = """() => {  // How far the offered mend stands below the box of the piece, px.
  const top = (one) => one.getBoundingClientRect().top;
  const mend = [...document.links].find((a) => a.innerText.trim() === "Make it 12.5 mm ball");
  return top(mend) - top(document.querySelector("[name=piece]"));
}"""


@BOTH
def test_more_answers_with_commas_mended_become_a_new_version(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    dunlin = add_demo_machine("dunlin", who_name="Ann Moss")
    page = page_as(3, size=size)
    page.goto(f"/machines/{dunlin.uid}/file/")
    page.get_by_role("link", name="Answer more questions about this machine").click()
    roll = page.get_by_role("textbox", name="Roll diameter", exact=True)
    cuts = page.get_by_role("textbox", name="Cut lengths", exact=True)
    for box, typed in ((roll, "330,5 +- 4"), (cuts, "4,5; 8")):
        box.fill(typed)
        box.blur()
    mend = page.get_by_role("button", name="Make it 4.5; 8")
    expect(page.get_by_role("button", name="Make it 4; 5; 8")).to_be_visible()
    expect(mend).to_be_visible()
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    mend.click()
    expect(page.get_by_text("Taken as 4.5 mm, 8 mm")).to_be_visible()
    assert page.evaluate("document.activeElement.name") == "feed.slip"  # the next box
    page.get_by_role("button", name="Make it 330.5 +- 4").click()
    expect(page.get_by_text("Taken as 330.5 mm +- 4 mm")).to_be_visible()
    expect(roll).to_have_value("330.5 +- 4")
    page.get_by_role("button", name="Look at what changes").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Dunlin: this changes")
    expect(page.get_by_role("row", name="feed.roll_diameter")).to_contain_text("330.5 mm +- 4 mm")
    no_barrier(page)
    no_sideways(page)
    page.get_by_role("button", name="Keep as a new version").click()
    expect(page.get_by_text("Version 2 is in force.")).to_be_visible()
    assert dunlin.versions.count() == 2


@BOTH
def test_a_comma_in_the_piece_is_mended_beside_its_box(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    dunlin = add_demo_machine("dunlin")
    page = page_as(1, size=size)
    page.seen.allowed.append(REFUSED)
    page.goto(f"/machines/{dunlin.uid}/")
    piece = page.get_by_label("Piece of metal")
    piece.fill("12,5 mm ball")
    piece.blur()
    mend = page.get_by_role("link", name="Make it 12.5 mm ball")
    expect(mend).to_be_visible()
    # Beside the box, not at the other end of the page. Both places are read in one moment of the
    # page: the quick answer and the exact one each bring the link anew.
    assert 0 < page.evaluate(BELOW) < 400
    no_barrier(page)
    no_sideways(page)
    mend.click()
    expect(mend).to_have_count(0)
    expect(piece).to_have_value("12.5 mm ball")
    expect(page.locator("#turned")).to_contain_text("12.5 mm ball")
    assert "?" not in page.url  # the page stayed where it was


def test_a_comma_in_a_reading_is_mended_with_a_script_and_without(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture
) -> None:
    dunlin = add_demo_machine("dunlin")
    reading = keeper.problem_of(dunlin.versions.get())
    assert reading.done.wait(600)
    of = reading.problem
    assert of is not None
    for size, scripts in ((PHONE, True), (DESK, False)):
        page = page_as(2, size=size)
        page.seen.allowed.append(REFUSED)
        if not scripts:
            page.route("**/static/**/*.js", lambda route: route.abort())
            page.seen.allowed.append("Failed to load resource")
        page.goto(f"/machines/{dunlin.uid}/wrong/")
        page.get_by_role("button", name="stays stopped").click()
        case = FaultCase.objects.latest("begun_at")
        while not open_case(case, of).next_checks(1)[0].unit:
            page.get_by_role("button", name="Can't tell").click()
            expect(page.locator("#last")).to_contain_text(CANNOT_TELL)
            page.goto(f"/cases/{case.uid}/")
        page.get_by_label("Reading", exact=True).fill("11,9")
        page.get_by_role("button", name="Record the reading").click()
        mend = page.get_by_role("button", name="Make it 11.9")
        expect(mend).to_be_visible()
        if scripts:
            no_barrier(page)
        no_sideways(page)
        assert too_small(page) == []
        mend.click()
        expect(page.get_by_text("Read as 11.9 V")).to_be_visible()
        assert open_case(case, of).entries[-1]["reading"] == 11.9
