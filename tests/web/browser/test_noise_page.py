"""Noise, guesses said otherwise and the yard's test pieces in a real browser: a thumb, a desk."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import DESK, PHONE
from tests.web.browser.targets import too_small
from tests.web.recordings import logger_csv, quiet_csv
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.keeping.owned_pieces import owned_names
from tripmargin.records.store.models import Entry

Fixture = Callable[..., Any]
SLOW = 60_000
SIZES = pytest.mark.parametrize(
    "size", [PHONE, (320, 640), DESK], ids=["phone", "narrow phone", "desk"]
)


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))


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


@SIZES
def test_a_quiet_run_from_file_to_log(
    page_as: Fixture, good: Fixture, size: tuple[int, int]
) -> None:
    page, machine = page_as(2, size=size), add_demo_machine("whimbrel")
    page.seen.allowed.append("422")
    page.goto(f"/machines/{machine.uid}/measure/noise/")
    good(page, "noise")
    file = {"name": "quiet.csv", "mimeType": "text/csv", "buffer": quiet_csv(",", ";")}
    page.get_by_label("The logger's file").set_input_files(file)
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_text("False trips by noise, now")).to_be_visible(timeout=SLOW)
    good(page, "noise-found")
    page.get_by_text("What was guessed; change it").click()
    page.get_by_label("Volts for one unit of the channel").fill("two")
    page.get_by_role("button", name="Read it so").last.click()
    expect(page.locator("#scale-trouble").get_by_text("Not a number: “two”.")).to_be_visible(
        timeout=SLOW
    )
    expect(page.get_by_role("link", name="To “Volts for one unit of the channel”")).to_be_visible()
    good(page, "noise-wrong")
    page.get_by_label("Volts for one unit of the channel").fill("")
    page.get_by_role("button", name="Read it so").last.click()
    expect(page.get_by_text("False trips by noise, now")).to_be_visible(timeout=SLOW)
    page.context.add_cookies([{"name": "tripmargin_sun", "value": "1", "url": page.url}])
    page.reload()  # what was sent is sent again: the page of the same file, in the sun
    page.wait_for_selector("html.sun")
    expect(page.get_by_text("False trips by noise, now")).to_be_visible(timeout=SLOW)
    good(page, "noise-sun")
    page.get_by_role("button", name="Put it in the log").click()
    expect(page.get_by_text("Noise of a quiet run").first).to_be_visible(timeout=SLOW)
    assert Entry.objects.get().kind == "note"


@SIZES
def test_what_was_guessed_of_a_stop(page_as: Fixture, good: Fixture, size: tuple[int, int]) -> None:
    page, machine = page_as(2, size=size), add_demo_machine("curlew")
    page.seen.allowed.append("422")
    page.goto(f"/machines/{machine.uid}/measure/stop/")
    file = {"name": "log.csv", "mimeType": "text/csv", "buffer": logger_csv(",", ";")}
    page.get_by_label("A sound, or a logger's file").set_input_files(file)
    page.get_by_role("button", name="Read it").click()
    expect(page.get_by_text("Nothing is in the log yet.")).to_be_visible(timeout=SLOW)
    page.get_by_text("What was guessed; change it").click()
    good(page, "stop-guesses")
    page.get_by_label("What parts the columns").select_option("bar")
    page.get_by_role("button", name="Read it so").click()
    expect(page.locator(".trouble").first).to_be_visible(timeout=SLOW)
    good(page, "stop-wrong")
    page.get_by_label("What parts the columns").select_option("")
    page.get_by_role("button", name="Read it so").click()
    expect(page.get_by_text("Nothing is in the log yet.")).to_be_visible(timeout=SLOW)


@SIZES
def test_the_yards_pieces(
    page_as: Fixture, good: Fixture, no_barrier: Fixture, no_sideways: Fixture,
    size: tuple[int, int],
) -> None:  # fmt: skip
    page, machine = page_as(3, size=size), add_demo_machine("curlew")
    page.goto(f"/machines/{machine.uid}/measure/pieces/")
    page.get_by_role("button", name="16 mm ball").click()
    page.get_by_role("button", name="30 mm ball").click()
    expect(page.get_by_text("30 mm ball")).to_be_visible()
    good(page, "pieces")
    assert owned_names() == ("16 mm ball", "30 mm ball")
    page.goto(f"/machines/{machine.uid}/measure/")
    expect(page.get_by_text("of the yard's 2 test pieces")).to_be_visible(timeout=SLOW)
    good(page, "measure-owned")
    page.get_by_role("link", name="Another piece, place or speed").click()
    page.get_by_role("button", name="30 mm ball").click()
    expect(page.get_by_label("Test piece", exact=True)).to_have_value("30 mm ball")
    assert Entry.objects.count() == 0
    no_barrier(page)
    no_sideways(page)
