"""The whole card in a real browser with the network cut, and the way back into the records."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.reports.card.conftest import PHONE, SMALL
from tests.web.browser.targets import too_small
from tripmargin.records.exchange.codes_in import records_of
from tripmargin.records.exchange.importing import import_file
from tripmargin.records.home import RecordsError
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import CaseLine, Entry, FaultCase
from tripmargin.reports.card.page import MOST

Fixture = Callable[..., Any]


@pytest.fixture
def opened(open_file: Callable[..., Any], dunlin_card: Path) -> Callable[..., Any]:
    """The card on a phone without a network."""

    def open_on(size: tuple[int, int] = PHONE) -> Any:
        return open_file(dunlin_card, size, has_touch=True)

    return open_on


def drawn(page: Any) -> None:
    """Wait until the page that the address names is drawn."""
    page.wait_for_function(
        "() => decodeURIComponent(location.hash.slice(1)) ==="
        " document.getElementById('page').dataset.page"
    )


def to(page: Any, name: str) -> None:
    """Back to the first page, and through one of its doors."""
    drawn(page)
    back = page.get_by_role("link", name="All of Dunlin")
    if back.count():
        back.click()
        drawn(page)
    page.get_by_role("link", name=name).first.click()
    drawn(page)


def file_from(page: Any, folder: Path, name: str = "sent.json") -> Path:
    """What the card saves."""
    page.get_by_label("Your name").fill("Ann Moss")
    with page.expect_download() as download:
        page.get_by_role("button", name="As a file").first.click()
    path = folder / name
    download.value.save_as(path)
    return path


def answered_case(page: Any) -> None:
    """Some answers to what is wrong, a meter's reading among them if it is asked for."""
    to(page, "What is wrong?")
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("button", name="It does not reset").click()
    for _ in range(4):
        if page.locator("#reading").count():
            page.locator("#reading").fill("12,1")
            page.get_by_role("button", name="Record the reading").click()
        else:
            page.locator(".plates.tall button").first.click()
    page.get_by_role("button", name="Stop here, keep it").click()


def missed_metal(page: Any) -> None:
    to(page, "Missed metal")
    page.get_by_label("wire", exact=True).check()
    page.get_by_label("Its size across").fill("4,5 mm")
    page.get_by_label("it never tripped").check()
    page.get_by_label("Note").fill("<img src=x onerror=alert(1)>")
    page.get_by_role("button", name="Keep on this phone").click()


def test_it_is_one_small_file_that_asks_for_nothing(opened: Fixture, dunlin_card: Path) -> None:
    assert dunlin_card.stat().st_size < MOST
    page = opened()
    doors = ("Daily check", "What is wrong?", "Set the pawls", "Would it stop?", "Kept on this")
    for name in doors:
        to(page, name)
        assert page.locator("h1").count() == 1
    assert page.asked == [dunlin_card.as_uri()]
    assert page.aloud == []


def test_nothing_but_its_own_script_may_run(opened: Fixture) -> None:
    page = opened()
    page.evaluate("""() => {
        const one = document.createElement("script");
        one.textContent = "globalThis.foreign = true";
        document.body.append(one);
    }""")
    assert page.evaluate("globalThis.foreign") is None
    assert any("Content Security Policy" in said for said in page.aloud)


@pytest.mark.parametrize("size", [PHONE, SMALL], ids=["phone", "small"])
def test_every_page_suits_a_phone_in_a_gloved_hand(
    opened: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page = opened(size)
    answered_case(page)
    missed_metal(page)
    page.get_by_role("button", name="As codes").click()
    assert "Your name: needed" in page.locator("#page").inner_text()
    page.get_by_label("Your name").fill("Ann Moss")
    page.get_by_role("button", name="As codes").click()
    pages = ["kept", "", "log%20daily%20check", "wrong", "stop", "pawls", "log%20trip"]
    for name in pages:
        page.evaluate("name => { location.hash = name; }", name)
        drawn(page)
        no_barrier(page)
        no_sideways(page)
        assert too_small(page) == []


def test_what_was_entered_is_there_after_a_reload_and_typing_too(opened: Fixture) -> None:
    page = opened()
    to(page, "Trip The feed stopped")
    page.get_by_label("Its length").fill("12")
    page.reload()
    assert page.get_by_label("Its length").input_value() == "12"
    missed_metal(page)
    page.reload()
    words = page.locator("#page").inner_text()
    assert "Its size across: 4.5 mm" in words
    assert "<img src=x onerror=alert(1)>" in words  # as text
    assert page.aloud == []


def test_two_tabs_of_one_card_lose_nothing_of_each_other(opened: Fixture) -> None:
    page = opened()
    to(page, "What is wrong?")
    page.get_by_role("button", name="Begin").click()
    other = page.context.new_page()
    other.goto(page.url)
    for one, answer in ((page, "It does not reset"), (other, "Nothing lights")):
        one.get_by_role("button", name=answer).click()
    missed_metal(page)
    other.reload()
    kept = other.evaluate("theCard.kept.all")
    found = [line["finding"] for line in kept["cases"][0]["lines"]]
    assert sorted(found) == ["dead", "feed stays stopped"]
    assert [one["kind"] for one in kept["entries"]] == ["missed metal"]


def test_an_address_that_cannot_be_shows_the_first_page(opened: Fixture) -> None:
    page = opened()
    page.evaluate("() => { location.hash = '%'; }")
    assert page.get_by_role("heading", level=1).inner_text() == "Dunlin"
    assert page.aloud == []


@pytest.mark.parametrize("typed", ["9000", "4,5,6", "four", "-1", "4.5 in", "😀", "1e3"])
def test_a_number_that_cannot_be_is_told_beside_its_box(opened: Fixture, typed: str) -> None:
    page = opened()
    to(page, "Missed metal")
    page.get_by_label("wire", exact=True).check()
    page.get_by_label("it never tripped").check()
    page.get_by_label("Its size across").fill(typed)
    page.get_by_role("button", name="Keep on this phone").click()
    said = page.locator(".wrong .trouble").inner_text()
    assert said.startswith("Its size across")
    assert typed in said
    assert "Allowed: a number of mm from 0.5 to 1000." in said
    assert page.get_by_label("Its size across").input_value() == typed
    page.get_by_label("Its size across").fill("4.5")
    page.get_by_role("button", name="Keep on this phone").click()
    assert "Its size across: 4.5 mm" in page.locator("#page").inner_text()


def test_the_file_comes_back_into_the_log_once(
    opened: Fixture, sqlite_records: str, tmp_path: Path
) -> None:
    dunlin = add_demo_machine("dunlin")
    page = opened()
    to(page, "Daily check")
    for box in page.locator("fieldset").all():
        box.get_by_label("Yes").check()
    page.get_by_role("button", name="Keep on this phone").click()
    missed_metal(page)
    answered_case(page)
    to(page, "Kept on this")
    sent = file_from(page, tmp_path)
    found = import_file(sent)
    lines = len(json.loads(sent.read_text("utf-8"))["cases"][0]["lines"])
    assert (found.new, found.there, found.answers) == (2, 0, lines)
    entries = {one.kind: one for one in Entry.objects.all()}
    assert entries["missed metal"].values == {"found": "wire", "size_m": 0.0045, "why": "not seen"}
    assert entries["missed metal"].who_name == "Ann Moss"
    assert entries["daily check"].values["tripped"] is True
    assert all(value is True for value in entries["daily check"].values.values())
    case = FaultCase.objects.get()
    assert (case.machine_id, case.complaint, case.status) == (
        dunlin.pk,
        "feed stays stopped",
        "open",
    )
    before = Entry.objects.count(), CaseLine.objects.count()
    again = import_file(sent)
    assert (again.new, again.there, again.answers) == (0, 2, 0)
    assert again.nothing_new
    assert (Entry.objects.count(), CaseLine.objects.count()) == before
    # Another answer on the same phone: it alone is added.
    page.get_by_role("button", name="It has arrived").first.click()
    to(page, "What is wrong?")
    page.get_by_role("button", name="Go on with it").click()
    page.get_by_role("button", name="Can't tell").click()
    to(page, "Kept on this")
    more = import_file(file_from(page, tmp_path, "more.json"))
    assert (more.new, more.answers) == (0, 1)


def test_codes_are_read_off_the_screen_and_bring_the_same(
    opened: Fixture, sqlite_records: str, tmp_path: Path
) -> None:
    add_demo_machine("dunlin")
    page = opened()
    missed_metal(page)
    answered_case(page)
    to(page, "Kept on this")
    sent = file_from(page, tmp_path)
    page.get_by_role("button", name="As codes").click()
    count = int(page.get_by_text("Code 1 of").inner_text().split()[-1])
    assert count > 2
    photos = []
    for k in range(count):
        photos.append(tmp_path / f"code{k}.png")
        page.locator("svg.code").screenshot(path=photos[-1])
        page.get_by_role("button", name="Next").click()
    with pytest.raises(RecordsError, match=f"Missing: {count}"):
        records_of(photos[:-1])
    made = records_of(photos[::-1])
    assert json.loads(made) == json.loads(sent.read_text("utf-8"))
    path = tmp_path / "codes.json"
    path.write_bytes(made)
    assert import_file(path).new == 1
    assert import_file(sent).nothing_new
