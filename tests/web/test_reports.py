"""Reports in the web app: fetched as files, with what was asked, and refused in plain words."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest

from tripmargin.records.keeping.entries import NewEntry, write_entry
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Machine, Person
from tripmargin.reports.paper.reading import read_report
from tripmargin.web.whats_wrong.keeper import problem_of

Client = Callable[..., Any]


@pytest.fixture
def whimbrel(sqlite_records: str) -> Machine:
    return add_demo_machine("whimbrel")


def read_back(answer: Any, folder: Path) -> dict[str, Any]:
    path = folder / "report"
    path.write_bytes(answer.content)
    return read_report(path)


def test_the_daily_check_comes_as_a_pdf_and_as_a_page(
    whimbrel: Machine, browser_as: Client, tmp_path: Path
) -> None:
    client = browser_as(1)
    address = f"/machines/{whimbrel.uid}/reports/daily-check/"
    pdf = client.get(address, {"weeks": "2", "paper": "letter", "as": "pdf"})
    assert pdf.headers["Content-Type"] == "application/pdf"
    assert pdf.headers["Content-Disposition"] == 'attachment; filename="daily-check-Whimbrel.pdf"'
    found = read_back(pdf, tmp_path)
    assert (found["data"]["weeks"], found["made_by"]) == (2, "role 1")
    page = client.get(address, {"as": "html"})
    assert page.headers["Content-Type"].startswith("text/html")
    assert read_back(page, tmp_path)["report"] == "daily-check"


def test_commissioning_has_the_cut_asked_for_and_the_tests_of_the_log(
    whimbrel: Machine, browser_as: Client, person: Client, tmp_path: Path
) -> None:
    entry = NewEntry(kind="stop time", values={"stop_time_s": 0.048})
    write_entry(whimbrel, entry, who=person("Ida", role=2))
    answer = browser_as(1).get(
        f"/machines/{whimbrel.uid}/reports/commissioning/", {"cut": "1", "as": "pdf"}
    )
    data = read_back(answer, tmp_path)["data"]
    assert data["cut_in_use_m"] == 0.008
    assert [one["who"] for one in data["tests"]] == ["Ida"]
    assert data["by_log"]["state"] != "not"
    failed = NewEntry(kind="daily check", values={"tripped": False})
    write_entry(whimbrel, failed, who=person("Robin", role=2))
    answer = browser_as(1).get(f"/machines/{whimbrel.uid}/reports/commissioning/", {"as": "html"})
    assert read_back(answer, tmp_path)["data"]["by_log"]["state"] == "not"
    page = answer.content.decode()
    assert page.index("failed: it did not trip") < page.index("Is this machine protected?")


def test_the_fault_chart_waits_until_the_faults_are_worked_out(
    whimbrel: Machine, browser_as: Client, tmp_path: Path
) -> None:
    client = browser_as(1)
    client.get(f"/machines/{whimbrel.uid}/reports/")
    assert problem_of(whimbrel.versions.get()).done.wait(600)
    address = f"/machines/{whimbrel.uid}/reports/fault-chart/"
    answer = client.get(address, {"steps": "only", "as": "html"})
    assert set(read_back(answer, tmp_path)["data"]) == {"machine", "machine_digest", "chart"}
    one = "stops on nothing"
    page = client.get(f"/machines/{whimbrel.uid}/reports/").content.decode()
    assert f'<option value="{one}">' in page
    answer = client.get(address, {"complaint": one, "as": "html"})
    chart = read_back(answer, tmp_path)["data"]["chart"]
    assert [each["complaint"] for each in chart["complaints"]] == [one]
    answer = client.get(address, {"complaint": "stops on anything"})
    assert answer.status_code == 422
    assert "Choose one of the list" in answer.content.decode()


@pytest.mark.parametrize(
    ("address", "asked", "why"),
    [
        ("daily-check/", {"weeks": "0"}, "from 1 to 26"),
        ("daily-check/", {"weeks": "many"}, "from 1 to 26"),
        ("daily-check/", {"paper": "a0"}, "A4 or Letter"),
        ("daily-check/", {"as": "doc"}, "pdf or html"),
        ("commissioning/", {"cut": "99"}, "Choose one of the machine"),
    ],
)
def test_what_cannot_be_is_refused_and_what_was_typed_stays(
    whimbrel: Machine, browser_as: Client, address: str, asked: dict[str, str], why: str
) -> None:
    answer = browser_as(1).get(f"/machines/{whimbrel.uid}/reports/{address}", asked)
    assert answer.status_code == 422
    text = answer.content.decode()
    assert why in text
    if "weeks" in asked:
        assert f'value="{asked["weeks"]}"' in text


def test_there_is_no_other_report(whimbrel: Machine, browser_as: Client) -> None:
    assert browser_as(1).get(f"/machines/{whimbrel.uid}/reports/praise/").status_code == 404


def test_the_season_comes_for_the_days_asked_for(
    whimbrel: Machine, browser_as: Client, tmp_path: Path
) -> None:
    client = browser_as(1)
    asked = {"from": "2026-04-01", "to": "2026-10-31", "as": "pdf"}
    answer = client.get("/fleet/reports/season/", asked)
    name = 'attachment; filename="season-2026-04-01-2026-10-31.pdf"'
    assert answer.headers["Content-Disposition"] == name
    data = read_back(answer, tmp_path)["data"]
    assert (data["from"], data["to"]) == ("2026-04-01", "2026-10-31")
    assert [one["machine"] for one in data["machines"]] == ["Whimbrel"]


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ({"from": "yesterday"}, "is no day"),
        ({"from": "2026-05-01", "to": "2026-04-01"}, "before it begins"),
        ({"to": "2026-13-01"}, "is no day"),
    ],
)
def test_a_season_that_cannot_be_is_refused(
    whimbrel: Machine, browser_as: Client, asked: dict[str, str], why: str
) -> None:
    answer = browser_as(1).get("/fleet/reports/season/", asked)
    assert answer.status_code == 422
    assert why in answer.content.decode()
    assert next(iter(asked.values())) in answer.content.decode()


def test_a_training_record_is_of_whoever_is_signed_in(
    whimbrel: Machine, browser_as: Client, tmp_path: Path
) -> None:
    from tests.reports.paper.test_training import result
    from tripmargin.records.keeping.practices import On, Player, begin_practice
    from tripmargin.records.store.models import PracticeResult

    ida, robin = browser_as(1, "Ida"), browser_as(1, "Robin")
    who = Person.objects.get(name="Ida")
    practice = begin_practice("fault", 1, On(demo="whimbrel"), by=Player(who), uid=uuid4())
    kept = result(name="as she was called then").to_dict()
    PracticeResult(practice=practice, points=100.0, unsafe=0, kept=kept).save()
    found = read_back(ida.get("/practise/record/", {"as": "pdf"}), tmp_path)
    assert (found["data"]["name"], len(found["data"]["drills"])) == ("Ida", 1)
    assert "You have not ended a drill yet" in robin.get("/practise/record/").content.decode()


def test_the_ways_to_the_reports_are_on_the_pages(whimbrel: Machine, browser_as: Client) -> None:
    client = browser_as(1)
    file = client.get(f"/machines/{whimbrel.uid}/file/").content.decode()
    assert f"/machines/{whimbrel.uid}/reports/" in file
    assert "/fleet/reports/" in client.get("/fleet/").content.decode()
