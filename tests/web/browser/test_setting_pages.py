"""Setting the pawls and the threshold in a real browser: a gloved thumb, a narrow phone, a desk."""

from __future__ import annotations

import os
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import DESK, PHONE
from tests.web.browser.targets import too_small
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry

Fixture = Callable[..., Any]
SLOW = 60_000
SIZES = pytest.mark.parametrize(
    ("size", "sun"),
    [(PHONE, False), ((320, 568), True), (DESK, False)],
    ids=["phone", "narrow phone in the sun", "desk"],
)


@pytest.fixture
def good(no_barrier: Fixture, no_sideways: Fixture, request: pytest.FixtureRequest) -> Fixture:
    """Look at a page; with TRIPMARGIN_PICTURES a picture of it is left there as well."""

    def look(page: Any, name: str) -> None:
        no_barrier(page)
        no_sideways(page)
        assert too_small(page) == []
        if folder := os.environ.get("TRIPMARGIN_PICTURES"):
            case = request.node.callspec.id.replace(" ", "-")
            page.screenshot(path=f"{folder}/{name}-{case}.png", full_page=True)

    return look


def in_the_sun(page: Any, sun: bool) -> None:
    """Sun mode, where it is asked for."""
    if sun:
        page.goto("/you/")
        page.get_by_role("button", name="Sun mode").click()
        page.wait_for_selector("html.sun")


def read_as_expected(page: Any) -> None:
    """Type a gap from the middle of what is expected, and go on."""
    before = page.get_by_role("region", name="The next step").inner_text()
    low, high = map(float, page.locator("input[name=expected]").input_value().split(";"))
    page.get_by_label("as read").fill(f"{1e3 * (low + high) / 2:.2f}")
    page.get_by_role("button", name="Measured: go on").click()
    expect(page.locator(".step")).not_to_have_text(before, timeout=SLOW, use_inner_text=True)


@SIZES
def test_the_pawls_from_the_feeler_to_the_log(
    page_as: Fixture, good: Fixture, size: tuple[int, int], sun: bool
) -> None:
    page, machine = page_as(2, size=size), add_demo_machine("whimbrel")
    page.seen.allowed.append("422")
    in_the_sun(page, sun)
    page.goto(f"/machines/{machine.uid}/set/pawls/")
    good(page, "pawls")
    page.get_by_label("Lower pawl").fill("7,5")
    page.get_by_label("Upper pawl").fill("1.8")
    page.get_by_role("button", name="Show the first step").click()
    expect(page.get_by_text("Is it a decimal point?")).to_be_visible(timeout=SLOW)
    good(page, "pawls-comma")
    page.get_by_role("button", name="Make it 7.5").click()
    step = page.get_by_role("region", name="The next step")
    expect(step).to_contain_text("Turn its clevis out by", timeout=SLOW)
    good(page, "pawls-lower")
    page.get_by_label("as read").fill("0")
    page.get_by_role("button", name="Measured: go on").click()
    expect(page.get_by_text("the pawl rests on the ratchet")).to_be_visible(timeout=SLOW)
    good(page, "pawls-wrong")
    read_as_expected(page)
    expect(step).to_contain_text("Slide its clamp until the", timeout=SLOW)
    page.get_by_text("What is taken for it").click()
    page.get_by_text("You must stop before it is done?").click()
    good(page, "pawls-upper")
    read_as_expected(page)
    expect(step).to_contain_text("Lower pawl", timeout=SLOW)
    read_as_expected(page)
    expect(page.get_by_role("heading", name="All is set")).to_be_visible(timeout=SLOW)
    good(page, "pawls-set")
    assert Entry.objects.count() == 0
    page.get_by_role("button", name="Put in the log").click()
    expect(page.get_by_role("heading", name="Log", exact=True)).to_be_visible(timeout=SLOW)
    entry = Entry.objects.get()
    assert entry.kind == "adjustment"
    # Back and sent again, it is still one entry.
    page.go_back()
    page.get_by_role("button", name="Put in the log").click()
    page.wait_for_url(f"**/log/**{entry.uid}")
    assert Entry.objects.count() == 1


@SIZES
def test_the_threshold_from_the_curve_to_a_version(
    page_as: Fixture, good: Fixture, size: tuple[int, int], sun: bool
) -> None:
    page, machine = page_as(3, size=size), add_demo_machine("curlew")
    page.seen.allowed.append("422")
    in_the_sun(page, sun)
    page.goto(f"/machines/{machine.uid}/set/threshold/")
    expect(page.get_by_text("Today's 1.5 V may stay").first).to_be_visible(timeout=SLOW)
    page.get_by_text("pick a threshold").click()
    page.get_by_text("What is counted, and what is assumed").click()
    good(page, "threshold")
    page.get_by_label("Another threshold to look at").fill("1,2")
    page.get_by_role("button", name="Look at it", exact=True).last.click()
    page.get_by_role("button", name="Make it 1.2").click()
    expect(page.get_by_role("heading", name="What 1.2 V changes")).to_be_visible(timeout=SLOW)
    page.get_by_text("Stop time, margin and verdict at each cut").click()
    good(page, "threshold-picked")
    page.get_by_role("link", name="The module is set to 1.2 V: keep it").click()
    expect(page.get_by_role("heading", name="as version 2")).to_be_visible(timeout=SLOW)
    page.get_by_text("The lines of the file that change").click()
    good(page, "threshold-keep")
    page.get_by_role("button", name="Make it version 2").click()
    expect(page.get_by_text("Version 2 of the file is in force")).to_be_visible(timeout=SLOW)
    assert machine.versions.count() == 2
