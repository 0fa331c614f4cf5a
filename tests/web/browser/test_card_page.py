"""The phone card from the yard's page onto a phone, and what was entered there back again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import expect

from tests.web.browser.conftest import BOTH
from tests.web.browser.targets import too_small
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry

Fixture = Callable[..., Any]
SLOW = 120_000  # ms; the faults are worked out the first time


@BOTH
def test_out_as_a_file_and_back_into_the_log(
    page_as: Fixture,
    no_barrier: Fixture,
    no_sideways: Fixture,
    size: tuple[int, int],
    tmp_path: Path,
) -> None:
    dunlin = add_demo_machine("dunlin")
    page = page_as(2, size=size)
    page.goto(f"/machines/{dunlin.uid}/file/")
    page.get_by_role("link", name="the card for the phone").click()
    save = page.get_by_role("link", name="Save the card")
    expect(save).to_be_visible(timeout=SLOW)
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    with page.expect_download(timeout=SLOW) as download:
        save.click()
    saved = tmp_path / "card.html"
    download.value.save_as(saved)

    phone = page.context.new_page()  # the same browser, but of a file: it has no server
    phone.goto(saved.as_uri())
    phone.get_by_role("link", name="Note").click()
    phone.get_by_role("textbox").fill("Left pawl stiff")
    phone.get_by_role("button", name="Keep on this phone").click()
    phone.get_by_label("Your name").fill("Ann Moss")
    with phone.expect_download() as download:
        phone.get_by_role("button", name="As a file").click()
    sent = tmp_path / "sent.json"
    download.value.save_as(sent)
    phone.close()

    page.get_by_label("The card's file").set_input_files(sent)
    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_text("From the card: 1 new entry.")).to_be_visible()
    expect(page.get_by_text("Left pawl stiff")).to_be_visible()
    assert Entry.objects.get().values == {"text": "Left pawl stiff"}
    page.goto(f"/machines/{dunlin.uid}/card/")
    page.get_by_label("The card's file").set_input_files(sent)
    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_text("All of it is here already.")).to_be_visible()
    assert Entry.objects.count() == 1
