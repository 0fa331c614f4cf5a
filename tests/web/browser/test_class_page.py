"""A class in a real browser: three phones, and the board on the wall; practising alone besides."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from tests.web.browser.conftest import BOTH, PHONE
from tests.web.drills.playing import problem

Fixture = Callable[..., Any]
WALL = (1920, 1080)


@pytest.fixture(autouse=True)
def _wiring_is_read() -> None:
    problem()


def move(page: Any, sends: str) -> None:
    """Hit a button; the group that it stands in is opened first."""
    button = page.locator(f'button[name=move][value="{sends}"]').first
    group = button.locator("xpath=ancestor::details")
    for k in range(group.count()):
        if group.nth(k).get_attribute("open") is None:
            group.nth(k).locator("> summary").click()
    with page.expect_navigation():
        button.click()


def test_three_learners_and_a_board(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture
) -> None:
    trainer = page_as(3, size=WALL)
    trainer.goto("/practise/")
    trainer.get_by_role("link", name="Classes").click()
    trainer.get_by_role("link", name="Open a class").click()
    trainer.get_by_label("Name of the class").fill("Operators, morning")
    trainer.locator("#machine2").select_option("demo:dunlin")
    trainer.locator("#kind2").select_option("setting")
    trainer.get_by_text("Certain drills, by their seed").click()
    trainer.get_by_label("Seed of the first drill").fill("7")
    no_barrier(trainer)
    trainer.get_by_role("button", name="Open the class").click()
    trainer.wait_for_selector(".class-code")
    no_barrier(trainer)
    code = trainer.inner_text(".class-code")
    trainer.get_by_role("link", name="Board for the wall").click()
    assert trainer.get_by_text("Nobody has joined yet.").is_visible()

    phones = []
    for name in ("Bo", "Cy", "Di"):
        phone = page_as(0, size=PHONE)
        phone.goto("/class/")
        no_barrier(phone)
        phone.get_by_label("Code of the class").fill(code.lower())
        phone.get_by_role("button", name="Go on").click()
        phone.get_by_label("Your name in this class").fill(name)
        no_barrier(phone)
        phone.get_by_role("button", name="Join").click()
        phone.wait_for_url("**/class/room/")
        no_barrier(phone)
        no_sideways(phone)
        phone.get_by_role("button", name="Begin").first.click()
        phone.wait_for_selector("form.play")
        no_barrier(phone)
        no_sideways(phone)
        phones.append(phone)
    bo, cy, di = phones
    move(cy, "go:tractor's key on")
    move(cy, "mend:mend X1")  # the key is on
    assert cy.get_by_text("Not done: not safe.").is_visible()
    move(cy, "go:standing")
    for phone in (bo, cy):
        move(phone, "mend:mend X1")
        move(phone, "test")
        move(phone, "done")
        assert phone.locator(".points").is_visible()
        no_barrier(phone)
        no_sideways(phone)
    move(di, "go:box armed")
    # the board comes anew by itself
    row = trainer.locator("table.board tbody tr")
    row.nth(2).get_by_text("1 move").wait_for()
    trainer.locator("table.board tfoot").get_by_text("85").first.wait_for()
    assert row.nth(0).inner_text().split()[:2] == ["Bo", "100.0"]
    assert row.nth(1).inner_text().split()[:4] == ["Cy", "70.0", "1", "unsafe"]
    assert "does not touch" not in trainer.content()  # what is hidden
    no_barrier(trainer)
    no_sideways(trainer)
    size = trainer.evaluate("parseFloat(getComputedStyle(document.querySelector('td')).fontSize)")
    assert size >= 24
    trainer.get_by_role("link", name="who needs help first").click()
    trainer.wait_for_url("**order=need")
    assert row.nth(0).inner_text().startswith("Cy")
    # the third who ends it: now the wall talks, a line a caution, and all of it is seen
    assert trainer.locator("section.talk").count() == 0
    assert not trainer.locator(".strap").is_visible()
    move(di, "mend:mend D")
    move(di, "hand over")
    line = trainer.get_by_text("2 people: Engine off, key out, at rest, feed rolls blocked.")
    line.wait_for()
    box = line.bounding_box()
    assert box["height"] < 45
    assert box["y"] + box["height"] < WALL[1]
    trainer.set_viewport_size({"width": 360, "height": 740})
    no_sideways(trainer)
    trainer.get_by_role("link", name="Trainer's page").click()
    trainer.wait_for_selector("section.talk")
    no_barrier(trainer)
    no_sideways(trainer)
    trainer.get_by_role("button", name="Show the answer to the class").first.click()
    trainer.get_by_text("The answer is shown to the class.").first.wait_for()
    bo.reload()
    assert bo.get_by_text("X1: pin does not touch").is_visible()
    no_barrier(bo)


@pytest.mark.parametrize("sun", [False, True], ids=["day", "sun"])
@BOTH
def test_practising_alone_from_the_list_to_the_score(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int], sun: bool
) -> None:
    page = page_as(1, size=size)
    if sun:
        page.goto("/you/")
        page.get_by_role("button", name="Sun mode").click()
        page.wait_for_selector("html.sun")
    page.goto("/")
    page.get_by_role("link", name="Practise").first.click()
    page.get_by_role("link", name="Dunlin").first.click()
    no_barrier(page)
    page.get_by_text("A certain drill, by its seed").click()
    page.get_by_label("Seed").fill("7")
    page.get_by_role("button", name="Find a hidden fault").click()
    page.wait_for_selector("form.play")
    for sends in ("go:box armed", "look:box armed: trip latched", "hint", "card"):
        move(page, sends)
        no_barrier(page)
        no_sideways(page)
    low = page.evaluate(
        "Math.min(...[...document.querySelectorAll('main button, main summary, main a')]"
        ".filter(e => e.offsetHeight).map(e => e.offsetHeight))"
    )
    assert low >= 44
    page.get_by_role("link", name="The wiring of a sound machine").click()
    no_barrier(page)
    no_sideways(page)
    page.get_by_role("link", name="Back to the drill").first.click()
    move(page, "hand over")
    assert page.locator(".points").is_visible()
    no_barrier(page)
    no_sideways(page)
    page.goto("/practise/on/dunlin/")
    page.get_by_role("button", name="Set the pawls").click()
    page.wait_for_selector("form.play")
    for sends in ("measure:lower", "secure", "measure:lower", "open:lower"):
        move(page, sends)
    no_barrier(page)
    no_sideways(page)
