"""Signing in and out in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.web.browser.conftest import BOTH
from tests.web.codes import read_codes

Fixture = Callable[..., Any]


@BOTH
def test_in_and_out(
    page_as: Fixture, person: Fixture, no_barrier: Fixture, no_sideways: Fixture,
    size: tuple[int, int],
) -> None:  # fmt: skip
    person("Ann", role=2)
    page = page_as(0, size=size)
    page.seen.allowed.append("422")  # Chromium tells of every refused form
    page.goto("/due/")
    no_barrier(page)
    no_sideways(page)
    page.get_by_label("Name").fill("ann")
    page.get_by_label("Password").fill("wrong")
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("alert").wait_for()
    assert page.get_by_label("Name").input_value() == "ann"
    page.get_by_label("Password").fill("a-long-enough-one")
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/due/")
    no_barrier(page)
    page.goto("/you/")
    page.get_by_role("button", name="Sign out", exact=True).click()
    page.wait_for_url("**/sign-in/**")
    page.goto("/")
    assert "/sign-in/" in page.url


@BOTH
def test_sun_mode_changes_the_look_and_stays(page_as: Fixture, size: tuple[int, int]) -> None:
    page = page_as(1, size=size)
    page.goto("/")
    page.get_by_role("button", name="Sun mode").click()
    page.wait_for_selector("html.sun")
    page.goto("/due/")
    paper = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert paper == "rgb(255, 255, 255)"


@pytest.mark.parametrize("sun", [False, True], ids=["shade", "sun"])
@BOTH
def test_a_phone_reads_the_code_of_an_invitation(
    page_as: Fixture, size: tuple[int, int], sun: bool
) -> None:
    page = page_as(4, size=size)
    page.goto("/people/invite/")
    if sun:
        page.get_by_role("button", name="Sun mode").click()
        page.wait_for_selector("html.sun")
    page.get_by_role("button", name="Make the link").click()
    code = page.get_by_role("img", name="The link as a code")
    address = page.locator(".address").inner_text()
    assert "/join/" in address
    assert read_codes(code.screenshot()) == [address]
