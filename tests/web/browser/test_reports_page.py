"""The pages that offer reports, in a real browser: for everybody, both sizes, and a file saved."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.web.browser.conftest import BOTH
from tripmargin.records.keeping.machines import add_demo_machine

Fixture = Callable[..., Any]


@BOTH
def test_a_sheet_is_saved_from_the_machines_page(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, size: tuple[int, int]
) -> None:
    machine = add_demo_machine("dunlin")
    page = page_as(1, size=size)
    for path in ("/fleet/reports/", f"/machines/{machine.uid}/reports/"):
        assert page.goto(path).status == 200
        no_barrier(page)
        no_sideways(page)
    page.get_by_label("Weeks, a page each").fill("2")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save the PDF").first.click()
    assert waiting.value.suggested_filename == "daily-check-Dunlin.pdf"
