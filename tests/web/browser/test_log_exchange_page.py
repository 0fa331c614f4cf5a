"""The log taken along and brought in, in a real browser: with scripts, and without."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.records.machines import add_small_machines
from tests.web.browser.conftest import BOTH, DESK
from tripmargin.records.exchange.exporting import export_file
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.store.models import Entry, Machine

Fixture = Callable[..., Any]
BAD = "machine,kind,at,text\nKnot,note,yesterday,x\nGnat,note,2026-03-01T07:30Z,x\n"


@pytest.fixture
def knot(sqlite_records: str) -> Machine:
    add_small_machines()
    machine = Machine.objects.get(name="Knot")
    write_entry(machine, NewEntry(kind="note", values={"text": "see; =1+1"}), who_name="Ann")
    return machine


def chosen(page: Any, text: str, name: str = "log.csv") -> None:
    file = {"name": name, "mimeType": "text/plain", "buffer": text.encode()}
    page.get_by_label("File of entries").set_input_files(file)


def with_another_entry(taken: str) -> str:
    """A log as it left, and one entry more."""
    given = json.loads(taken)
    (one,) = given["entries"]
    other = one | {"uid": None, "values": {"text": "from the other yard"}}
    return json.dumps(given | {"entries": [one, other]})


@BOTH
def test_a_log_is_taken_along_looked_at_and_brought_in(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, knot: Machine, tmp_path: Path,
    size: tuple[int, int],
) -> None:  # fmt: skip
    from playwright.sync_api import expect

    page = page_as(4, size=size)
    page.seen.allowed.append("422")
    page.goto(f"/machines/{knot.uid}/log/")
    no_sideways(page)
    for ending, label in ((".csv", "CSV, for a spreadsheet"), (".json", "JSON, with the")):
        with page.expect_download() as caught:
            page.get_by_role("link", name=label).click()
        assert caught.value.suggested_filename.startswith("log-Knot-")
        assert caught.value.suggested_filename.endswith(ending)
        taken = Path(caught.value.path()).read_bytes()
        export_file(tmp_path / f"log{ending}", [knot], over=True)
        assert taken == (tmp_path / f"log{ending}").read_bytes()
    page.get_by_role("link", name="All machines, or bring a log in").click()
    expect(page.get_by_role("heading", name="The log as a file")).to_be_visible()
    no_barrier(page)

    chosen(page, BAD)
    page.get_by_role("button", name="Look at it").click()
    expect(page.locator("#file-said")).to_contain_text("2 things are to be mended")
    expect(page.locator("#found")).to_contain_text("Line 2, at")
    expect(page.locator("#found")).to_contain_text("Gnat: 1 entry")
    no_barrier(page)
    no_sideways(page)

    chosen(page, with_another_entry(taken.decode()), "yard.json")
    page.get_by_role("button", name="Look at it").click()
    expect(page.locator("#found")).to_contain_text("What yard.json would bring")
    expect(page.locator("#file-said")).to_have_text("")
    assert Entry.objects.count() == 1
    no_barrier(page)
    no_sideways(page)
    page.get_by_role("button", name="Bring it in").click()  # the file is still in its box
    expect(page.get_by_text("yard.json is in: 1 new entry; 1 was here already")).to_be_visible()
    assert Entry.objects.count() == 2
    page.goto(f"/machines/{knot.uid}/log/")
    expect(page.get_by_text("from the other yard")).to_be_visible()


def test_without_scripts_the_file_is_chosen_twice(page_as: Fixture, knot: Machine) -> None:
    from playwright.sync_api import expect

    signed_in = page_as(4, size=DESK)
    cookies = signed_in.context.storage_state()
    context = signed_in.context.browser.new_context(
        java_script_enabled=False, base_url=signed_in.seen.origin, storage_state=cookies
    )
    page = context.new_page()
    row = "machine,kind,at,text\nKnot,note,2026-03-01T07:30Z,plain\n"
    page.goto("/log/exchange/")
    chosen(page, row)
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_text("Choose the same file once more")).to_be_visible()
    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_text("Choose a file first.")).to_be_visible()
    chosen(page, row)
    page.get_by_role("button", name="Look at it").click()
    chosen(page, row)
    page.get_by_role("button", name="Bring it in").click()
    expect(page.get_by_text("log.csv is in: 1 new entry.")).to_be_visible()
    assert Entry.objects.count() == 2
    context.close()
