"""A machine's page in a real browser: the slider moves the map."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import BOTH, DESK, PHONE
from tripmargin.records.keeping.machines import add_demo_machine

Fixture = Callable[..., Any]


@BOTH
def test_the_slider_moves_map_and_race(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = page_as(1, size=size)
    machine = add_demo_machine("dunlin")
    page.goto(f"/machines/{machine.uid}/")
    page.locator("#turned .exact").wait_for()  # nothing is swapped any more while it is looked at
    page.locator("#because table").first.wait_for()
    no_barrier(page)
    no_sideways(page)
    before = [page.locator(f"{one} svg").first.inner_html() for one in ("#turned", "#race")]
    told = page.locator("#turned .answer").inner_text()
    slider = page.get_by_label("Cut length", exact=True)
    slider.focus()
    for _ in range(12):  # by the keyboard, as without a mouse
        page.keyboard.press("ArrowLeft")
    expect(page.locator("#turned .answer")).not_to_have_text(told)
    page.locator("#turned .exact").wait_for()
    after = [page.locator(f"{one} svg").first.inner_html() for one in ("#turned", "#race")]
    assert before[0] != after[0]
    assert before[1] != after[1]
    if size == PHONE:
        # The map is in sight while the slider is under the thumb.
        page.locator("#turned figure").scroll_into_view_if_needed()
        box = slider.bounding_box()
        assert box is not None
        assert box["y"] + box["height"] <= size[1]
    no_barrier(page)


@pytest.mark.parametrize("size", [PHONE, DESK, (320, 568)], ids=["phone", "desk", "small"])
def test_reach_and_feed_path_come_when_asked_for(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = page_as(1, size=size)
    machine = add_demo_machine("whimbrel")
    page.goto(f"/machines/{machine.uid}/")
    page.get_by_role("link", name="Show the reach").click()
    page.locator("#reach > figure svg").wait_for()  # of balls; and of the picked piece
    page.locator("#piece-reach svg").wait_for()
    page.get_by_role("link", name="Play it, slowed 20 times").click()
    page.locator("#feed svg animate, #feed svg animateTransform").first.wait_for(state="attached")
    page.get_by_role("link", name="Show it still").click()
    expect(page.locator("#feed svg animate")).to_have_count(0, timeout=60_000)
    no_sideways(page)
    no_barrier(page)


@BOTH
def test_the_list_and_the_file_pages(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = page_as(4, size=size)
    page.goto("/machines/add/")
    no_barrier(page)
    no_sideways(page)
    page.get_by_role("button", name="Curlew").click()
    page.get_by_text("Curlew is in the records.").wait_for()
    page.get_by_role("link", name="File", exact=True).click()
    page.get_by_text("Every version is kept.").wait_for()
    no_barrier(page)
    no_sideways(page)
    page.goto("/")
    page.get_by_role("link", name="Curlew").wait_for()
    no_barrier(page)
    no_sideways(page)
