"""The played stop from the web app, in a real browser: picked, played, and back again."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.web.browser.conftest import BOTH, PHONE
from tests.web.browser.targets import too_small
from tripmargin.records.keeping.machines import add_demo_machine

Fixture = Callable[..., Any]


@BOTH
def test_it_is_picked_played_and_left_again(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = page_as(1, size=size)
    machine = add_demo_machine("whimbrel")
    page.goto(f"/machines/{machine.uid}/how/")
    no_barrier(page)
    no_sideways(page)
    page.get_by_label("Cut length").select_option("17 mm")
    page.get_by_role("button", name="Play it").click()
    page.wait_for_function("() => globalThis.theHow")  # its own script runs under its own policy
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    page.keyboard.press("End")
    assert "to spare" in page.locator("[data-part=here]").text_content()
    page.get_by_role("link", name="Back to Whimbrel").click()
    page.wait_for_url("**/how/?cut=17*")
    assert page.get_by_label("Cut length").input_value() == "17"


def test_what_is_turned_on_the_machines_page_is_played_beside_its_file(page_as: Fixture) -> None:
    page = page_as(1, size=PHONE)
    machine = add_demo_machine("whimbrel")
    page.goto(f"/machines/{machine.uid}/?chain.pawls.lower.clearance=8")
    page.get_by_role("button", name="Play the whole stop").click()
    page.wait_for_function("() => globalThis.theHow")
    assert page.locator(".below").is_visible()
    page.keyboard.press("End")
    assert "less is left than below" in page.locator(".verdict").inner_text()
