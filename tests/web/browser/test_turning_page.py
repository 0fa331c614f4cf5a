"""A setting turned, let go and kept; the reach of a picked piece: in a real browser."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import expect

import tripmargin
from tests.web.browser.conftest import BOTH, PHONE
from tests.web.browser.targets import too_small
from tripmargin.ground.units import percent
from tripmargin.protection.remembered import Remembered
from tripmargin.records.keeping.machines import add_demo_machine, machine_of
from tripmargin.sensing.piece_reach import PieceReaching
from tripmargin.web.machines import reaching

Fixture = Callable[..., Any]
LOWER = "chain.pawls.lower.clearance"
SLOW = 60_000  # ms; a first map and a proof, on two busy cores


def lower_pawl(page: Any, size: tuple[int, int]) -> Any:
    """The slider of the lower pawl; on a phone it comes to the foot of the screen first."""
    if size == PHONE:
        page.locator(".hands label", has_text="Lower").click()
    slider = page.get_by_label("Clearance, lower pawl")
    slider.focus()
    return slider


@BOTH
def test_a_slider_shows_quick_figures_and_then_exact_ones(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = page_as(1, size=size)
    machine = add_demo_machine("dunlin")
    loaded = machine_of(machine.versions.get())
    page.goto(f"/machines/{machine.uid}/")
    page.locator("#turned .exact").wait_for()
    asked: list[str] = []
    page.on("request", lambda sent: "/turned/" in sent.url and asked.append(sent.url))
    lower_pawl(page, size)
    for _ in range(20):
        page.keyboard.press("ArrowRight")
    expect(page.locator("#turned .figures")).to_contain_text("Quick figures", timeout=SLOW)
    page.locator("#turned .exact").wait_for()
    steps = [re.search(r"step=([a-z-]+)", url) for url in asked]
    assert steps[0] is None  # a quick step is the first thing asked for
    last = steps[-1]
    assert last is not None
    assert last[1] == "exact"
    # The numbers of a proof of the same machine, worked out here.
    turned = loaded.with_settings({LOWER: "5.2 mm +- 0.4 mm"})
    cut = next(c for c in tripmargin.prove(turned).cuts if c.cut_length == 0.019)
    answer = page.locator("#turned .answer")
    expect(answer).to_contain_text(f"stopped in {percent(cut.protected)} of cases")
    expect(answer).to_contain_text(cut.verdict.capitalize())
    middle = f"Margin {1e3 * cut.margin:.0f} mm"
    expect(answer).to_contain_text(middle)
    # Who may only look cannot keep it.
    expect(page.get_by_role("link", name="Keep these settings")).to_have_count(0)
    no_barrier(page)
    no_sideways(page)


def test_a_step_that_is_turned_cancels_the_exact_figures_of_the_one_before(
    page_as: Fixture,
) -> None:
    page = page_as(1, size=PHONE)
    machine = add_demo_machine("dunlin")
    page.goto(f"/machines/{machine.uid}/")
    page.locator("#turned .exact").wait_for()
    held: list[Any] = []
    page.route("**/turned/?step=exact*", lambda route: held.append(route))  # it takes for ever
    lower_pawl(page, PHONE)
    # The next step is turned only once the exact figures of this one are asked for.
    with page.expect_request("**/turned/?step=exact*", timeout=SLOW):
        page.keyboard.press("ArrowRight")
    with page.expect_event("requestfailed", timeout=SLOW) as failed:
        page.keyboard.press("ArrowRight")
    assert "step=exact" in failed.value.url
    assert f"{LOWER}=3.3" in failed.value.url
    page.unroute("**/turned/?step=exact*")
    page.keyboard.press("ArrowRight")
    page.locator("#turned .exact").wait_for()
    expect(page.locator("#v-1")).to_have_text("3.5 mm")


@BOTH
def test_turned_settings_are_kept_as_a_new_version(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = page_as(3, size=size)
    machine = add_demo_machine("dunlin")
    page.goto(f"/machines/{machine.uid}/")
    page.locator("#turned .exact").wait_for()
    lower_pawl(page, size)
    for _ in range(10):
        page.keyboard.press("ArrowRight")
    page.get_by_role("link", name="Keep these settings as a new version").click()
    row = page.get_by_role("row", name="Clearance, lower pawl")
    row.wait_for()
    expect(row).to_contain_text("3.2 mm +- 0.4 mm")
    expect(row).to_contain_text("4.2 mm +- 0.4 mm")
    expect(page.get_by_text("The file says what the machine is")).to_be_visible()
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    page.get_by_label("Why? What was done at the machine?").fill("Gap measured, left as it is")
    page.get_by_role("button", name="make it version 2").click()
    page.get_by_text("Version 2 of the file is in force").wait_for()
    assert '"4.2 mm +- 0.4 mm"' in machine.versions.get(number=2).text
    # The page is about that version now: nothing is turned.
    expect(page.locator("#turned .answer")).to_contain_text("By its file", timeout=SLOW)
    expect(page.locator("#v-1")).to_have_text("4.2 mm")
    expect(page.get_by_role("link", name="Keep these settings")).to_have_count(0)


@pytest.fixture
def coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """A grid of few places, and a word after each way to lie."""
    of = PieceReaching.of

    def few(*args: Any, **more: Any) -> PieceReaching:
        return of(*args, **more, places=[-0.2, -0.1, 0.0, 0.1, 0.2], heights=[0.02, 0.06])

    monkeypatch.setattr(PieceReaching, "of", few)
    monkeypatch.setattr(reaching, "AT_A_TIME", 0.001)
    monkeypatch.setattr(reaching, "_WORK", Remembered(8))


@BOTH
def test_the_reach_of_a_picked_piece_in_its_worst_and_its_best_attitude(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int], coarse: None
) -> None:
    page = page_as(1, size=size)
    machine = add_demo_machine("dunlin")
    page.goto(f"/machines/{machine.uid}/")
    page.get_by_role("link", name="Show the reach").click()
    piece = page.locator("#piece-reach")
    expect(piece).to_contain_text("20 mm ball at 19 mm: seen in", timeout=SLOW)
    page.get_by_label("Which piece?").fill("M12x40 bolt")
    page.get_by_label("Which piece?").press("Enter")
    progress = piece.get_by_role("progressbar")
    progress.wait_for()
    assert progress.get_attribute("max") == "13"
    expect(piece.locator("svg")).to_contain_text("worst attitude at each place", timeout=SLOW)
    no_barrier(page)
    no_sideways(page)
    page.get_by_label("Best attitude").check()
    expect(piece.locator("svg")).to_contain_text("best attitude at each place", timeout=SLOW)
    piece.get_by_text("The table behind it").click()
    table = piece.get_by_role("table")
    expect(table).to_contain_text("lying then")
    expect(table.get_by_role("row")).to_have_count(11)
    # The slider's piece stands where it stood: this picker is the reach's own.
    expect(page.get_by_label("Piece of metal")).to_have_value("20 mm ball")
    no_barrier(page)
    no_sideways(page)


@BOTH
def test_what_to_measure_next_has_words_and_a_drawing(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = page_as(1, size=size)
    machine = add_demo_machine("dunlin")
    page.goto(f"/machines/{machine.uid}/")
    first = page.locator(".measure-next .advice > li").first
    first.wait_for()
    expect(first.get_by_role("heading")).to_have_text("Slip of the crop against the rolls")
    expect(first.locator("svg")).to_be_visible()
    small = first.locator(".field-name")
    expect(small).to_have_text("In the file: feed.slip")
    sizes = [
        float(one.evaluate("e => getComputedStyle(e).fontSize").removesuffix("px"))
        for one in (small, first.locator("p").first)
    ]
    assert sizes[0] < sizes[1]
    no_barrier(page)
    no_sideways(page)
