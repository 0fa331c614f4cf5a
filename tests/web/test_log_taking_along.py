"""The log as a file, taken along from the browser."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.records.machines import NAMES, add_small_machines
from tripmargin.records.exchange.exporting import export_file
from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.store.models import LimitedAct, Machine

Client = Callable[..., Any]
PAGE = "/log/exchange/"


@pytest.fixture(autouse=True)
def knot(sqlite_records: str) -> Machine:
    add_small_machines()
    return Machine.objects.get(name="Knot")


@pytest.mark.parametrize("ending", ["csv", "json"])
def test_a_log_leaves_as_the_same_bytes_as_on_the_command_line(
    knot: Machine, browser_as: Client, tmp_path: Path, ending: str
) -> None:
    for machine in Machine.objects.all():
        write_entry(machine, NewEntry(kind="note", values={"text": "=1+1"}), who_name="Ann")
    client = browser_as(1)
    for address, chosen in (
        (f"/machines/{knot.uid}/log/export/{ending}/", [knot]),
        (f"/log/export/{ending}/", None),
    ):
        answer = client.get(address)
        export_file(tmp_path / f"log.{ending}", chosen, over=True)
        assert answer.getvalue() == (tmp_path / f"log.{ending}").read_bytes()


def test_a_download_is_called_what_it_is_and_can_do_nothing(browser_as: Client) -> None:
    client = browser_as(1)
    odd = Machine.objects.get(name=NAMES[1])  # =Tern, "grey"; +1
    for machine, ending, content_type in (
        (odd, "csv", "text/csv; charset=utf-8"),
        (odd, "json", "application/json"),
        (None, "json", "application/json"),
    ):
        address = f"/machines/{machine.uid}/log" if machine else "/log"
        answer = client.get(f"{address}/export/{ending}/")
        answer.getvalue()  # to the end, which shuts the file
        assert answer.headers["Content-Type"] == content_type
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert "sandbox" in answer.headers["Content-Security-Policy"]
        assert answer.headers["Cache-Control"] == "no-store"
        called = "Tern---grey----1" if machine else "all-machines"
        named = rf'attachment; filename="log-{called}-\d{{4}}-\d\d-\d\d\.{ending}"'
        assert re.fullmatch(named, answer.headers["Content-Disposition"])
    assert client.get("/log/export/html/").status_code == 404


def test_no_cell_of_a_downloaded_csv_is_a_formula_whatever_it_is_split_by(
    knot: Machine, browser_as: Client
) -> None:
    # OWASP, "CSV Injection": the separator of the reader's own country must be thought of too.
    nasty = (
        '=HYPERLINK("x")', "+1", "-1", "@x", "a;=1+1", 'a;"=1+1;', "a\t=1", "a\r\n=1", "a;\n@b",
    )  # fmt: skip
    for text in nasty:
        write_entry(knot, NewEntry(kind="note", values={"text": text}, note=text), who_name=text)
    content = browser_as(1).get("/log/export/csv/").getvalue().decode()
    for delimiter in ",;\t":
        for row in csv.reader(io.StringIO(content, newline=""), delimiter=delimiter):
            risky = [cell for cell in row if cell.lstrip('"').startswith(("=", "+", "-", "@"))]
            assert risky == [], delimiter


def test_the_log_page_and_the_list_lead_to_the_files(knot: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    page = client.get(f"/machines/{knot.uid}/log/").content.decode()
    for ending in ("csv", "json"):
        assert f'href="/machines/{knot.uid}/log/export/{ending}/"' in page
        assert f'href="/log/export/{ending}/"' in client.get(PAGE).content.decode()
    assert f'href="{PAGE}"' in page
    assert f'href="{PAGE}"' in client.get("/").content.decode()


def test_files_are_not_taken_without_end(browser_as: Client) -> None:
    client = browser_as(1)
    answers = [client.get("/log/export/csv/") for _ in range(31)]
    assert [each.status_code for each in answers] == [200] * 30 + [429]
    for answer in answers[:30]:
        answer.getvalue()  # to the end, which shuts the file
    assert LimitedAct.objects.filter(what="export").count() == 30
