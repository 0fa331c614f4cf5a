"""German in a real browser: commas typed on a phone, also without a connection; a line dragged."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.web.browser.conftest import BOTH, PHONE
from tests.web.browser.targets import too_small
from tests.web.recordings import stop_wav
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry

Fixture = Callable[..., Any]
SLOW = 60_000
"""ms, for what is worked out the first time, on two busy cores."""


def german(page: Any) -> Any:
    page.context.set_extra_http_headers({"Accept-Language": "de-DE"})
    return page


def gap(page: Any) -> Any:
    return page.locator('[name="v.gap_after_m/lower"]')


@BOTH
def test_gaps_with_commas_are_kept_at_once_and_a_doubt_is_asked_about(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    page, machine = german(page_as(2, size=size)), add_demo_machine("curlew")
    page.goto(f"/machines/{machine.uid}/log/new/adjustment/")
    gap(page).fill("1.234,5")
    page.get_by_role("button", name="Eintragen").click()
    mend = page.get_by_role("button", name="Ändern in 1234,5")
    expect(mend).to_be_visible()
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    gap(page).fill("3,5")
    page.get_by_role("button", name="Eintragen").click()
    expect(page.get_by_text("Eingetragen.", exact=True)).to_be_visible(timeout=SLOW)
    assert Entry.objects.get().values == {"gap_after_m/lower": pytest.approx(0.0035)}


def test_what_was_typed_without_a_connection_is_sent_with_its_comma(page_as: Fixture) -> None:
    page, machine = german(page_as(2, size=PHONE)), add_demo_machine("curlew")
    page.seen.allowed += ["console: Failed to load resource"]
    page.goto(f"/machines/{machine.uid}/log/new/adjustment/")
    page.context.set_offline(True)
    gap(page).fill("3,5")
    page.get_by_role("button", name="Eintragen").click()
    expect(page.get_by_text("Auf diesem Telefon, noch nicht gesendet (1)")).to_be_visible()
    assert Entry.objects.count() == 0
    expect(page.get_by_role("button", name="Jetzt senden")).to_be_visible()
    page.context.set_offline(False)
    page.evaluate("window.dispatchEvent(new Event('online'))")  # it is sent by itself
    expect(page.get_by_text("noch nicht gesendet")).to_have_count(0, timeout=SLOW)
    assert Entry.objects.get().values == {"gap_after_m/lower": pytest.approx(0.0035)}


def test_an_instant_is_dragged_and_typed_with_a_comma(
    page_as: Fixture, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "yard"))
    page, machine = german(page_as(2, size=PHONE)), add_demo_machine("curlew")
    sound = tmp_path / "stop.wav"
    sound.write_bytes(stop_wav())
    page.goto(f"/machines/{machine.uid}/measure/stop/")
    page.locator("#recording").set_input_files(sound)
    page.get_by_role("button", name="Lesen").click()
    rest = page.locator('[name="i.rest"]')
    expect(rest).to_be_visible(timeout=SLOW)
    before = rest.input_value()
    line = page.locator("svg .hit").last
    line.scroll_into_view_if_needed()
    place = line.bounding_box()
    x, y = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 20, y, steps=4)
    page.mouse.up()
    after = rest.input_value()
    assert "," in before
    assert 1 < float(after.replace(",", ".")) - float(before.replace(",", ".")) < 60
    assert "." not in after
    rest.fill("60,5")
    page.get_by_role("button", name="Noch einmal nachsehen").last.click()
    expect(page.get_by_text("Von Hand verschoben: Stillstand.", exact=True)).to_be_visible(
        timeout=SLOW
    )
    expect(rest).to_have_value("60,5")
