"""The way through the app that everybody takes, in a real browser, on SQLite and on PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.db import connection
from playwright.sync_api import expect

from tests.web.browser.conftest import ON_BOTH
from tripmargin.records.store.models import Entry, Machine

Fixture = Callable[..., Any]


@ON_BOTH
def test_from_the_door_to_an_entry_in_the_log(
    page_as: Fixture, person: Fixture, yard_records: str
) -> None:
    assert yard_records.startswith(f"{connection.vendor}:")
    person("Ann", role=4)
    page = page_as(0)
    page.goto("/")
    page.get_by_label("Name").fill("ann")
    page.get_by_label("Password").fill("a-long-enough-one")
    page.get_by_role("button", name="Sign in").tap()
    page.get_by_role("link", name="Add a machine").tap()
    page.get_by_role("button", name="Dunlin").tap()
    page.locator("#turned figure svg").wait_for()  # proved, and its map drawn
    machine = Machine.objects.get()
    page.goto(f"/machines/{machine.uid}/log/")
    page.get_by_role("link", name="Daily check").first.tap()
    page.get_by_role("button", name="All as it should be").tap()
    page.get_by_label("Note").fill("Knöterich, 3 Uhr 🙂")
    page.get_by_role("button", name="Keep").tap()
    page.get_by_text("Kept.", exact=True).wait_for()
    entry = page.locator(".entry.fresh")
    expect(entry).to_contain_text("Knöterich, 3 Uhr 🙂")
    expect(entry).to_contain_text("Ann")
    kept = Entry.objects.get()
    assert (kept.machine, kept.who_name) == (machine, "Ann")
    assert kept.values == {"tripped": True, "reset": True, "lamps": True}
    page.goto("/")
    expect(page.locator(".machines")).to_contain_text("Last passed check: ")
    expect(page.locator(".machines")).not_to_contain_text("Last passed check: never")
    page.goto("/due/")
    expect(page.locator("main")).to_contain_text("Dunlin")
    page.goto(f"/machines/{machine.uid}/drift/")
    expect(page.locator("main")).to_contain_text("From 1 check since")
