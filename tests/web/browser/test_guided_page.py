"""A machine added question by question in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.web.browser.conftest import BOTH

Fixture = Callable[..., Any]
REFUSED = "status of 422"  # a form with a mistake is answered so, and Chromium says it aloud


def box(page: Any, label: str) -> Any:
    return page.get_by_role("textbox", name=label, exact=True)


@BOTH
def test_five_answers_one_of_them_wrong_mended_and_added(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = page_as(3, size=size)
    page.seen.allowed.append(REFUSED)
    page.goto("/machines/add/")
    page.get_by_role("link", name="Answer the questions").click()
    no_barrier(page)
    no_sideways(page)
    page.get_by_text("US: inches").click()
    page.get_by_role("button", name="To the questions").click()
    page.get_by_role("heading", name="Questions about a machine").wait_for()

    box(page, "Name").fill("Knot")
    box(page, "Knives").fill("8")
    box(page, "Knives").press("Enter")
    assert page.evaluate("document.activeElement.name") == "feed.cutterhead_speed"
    box(page, "Roll diameter").fill("13 +- 0.2")
    box(page, "Clearance, upper pawl").fill("0,12")
    box(page, "Clearance, upper pawl").blur()
    page.get_by_text("Taken as 13 in +- 0.2 in").wait_for()
    page.get_by_text("If the comma is a decimal sign").wait_for()
    wrong = page.locator("[aria-invalid=true]")
    assert wrong.get_attribute("name") == "chain.pawls.upper.clearance"
    page.get_by_text("Feed 2 of 8").wait_for()
    no_barrier(page)
    no_sideways(page)

    # A closed tab loses nothing: the same person opens the questions anew.
    page.goto("about:blank")
    page.goto("/machines/add/questions/")
    assert box(page, "Roll diameter").input_value() == "13 +- 0.2"
    assert box(page, "Clearance, upper pawl").input_value() == "0,12"

    page.get_by_role("button", name="Look at the file").click()
    alert = page.get_by_role("alert")
    alert.get_by_text("1 answer cannot stand").wait_for()
    no_barrier(page)
    no_sideways(page)
    alert.get_by_role("link", name="Clearance, upper pawl").click()
    box(page, "Clearance, upper pawl").fill("0.12")
    page.get_by_role("button", name="Look at the file").click()

    page.get_by_role("heading", name="Knot: this is the file").wait_for()
    assert 'clearance = "0.12 in"' in page.locator("pre").inner_text()
    no_barrier(page)
    no_sideways(page)
    page.get_by_role("button", name="Add the machine").click()
    page.get_by_text("Knot is in the records.").wait_for()
    assert "/machines/" in page.url
    page.goto("/")
    page.get_by_role("link", name="Knot").first.wait_for()


@BOTH
def test_every_drawing_fits_the_screen_and_its_letters_stay_legible(
    page_as: Fixture, size: tuple[int, int]
) -> None:
    page = page_as(3, size=size)
    page.goto("/machines/add/questions/")
    page.get_by_role("button", name="To the questions").click()
    page.locator(".drawing svg").first.wait_for()
    wide = page.locator(".drawing svg").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect().width)"
    )
    assert len(wide) == 21
    # Drawn 240 px wide with letters of 11 px: shown no smaller than that.
    assert min(wide) >= 240
    assert max(wide) <= size[0]
