"""Pages of what is due, whom to visit first and what drifts, without a browser."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from tests.records.standing_help import BARE, GOOD, NO_TRIP, new_machine, write
from tests.records.test_standing_drift import NOW, season
from tripmargin.records.standing.refreshing import refresh
from tripmargin.records.store.models import Entry, Machine

Client = Callable[..., Any]


def page(answer: Any) -> str:
    assert answer.status_code == 200
    text: str = answer.content.decode()
    assert " style=" not in text
    assert "<script>" not in text
    return text


def words(text: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", " ", text))


def with_season(machine: Machine, **planted: float) -> Machine:
    shift = timezone.now() - NOW
    Entry.objects.bulk_create(
        Entry(
            machine=machine, kind=row.kind, values=row.values,
            at=datetime.fromtimestamp(row.time, UTC) + shift,
        )
        for row in season(1, **planted).rows
    )  # fmt: skip
    refresh(machine)
    return machine


def test_due_is_by_urgency_with_the_form_that_mends_it(browser_as: Client) -> None:
    never = new_machine(name="Never")
    failed = new_machine(name="Failed")
    write(failed, "daily check", NO_TRIP, timezone.now() - timedelta(hours=1))
    text = page(browser_as(2).get("/due/"))
    order = [
        text.index(what)
        for what in (">Mend first<", ">Failed<", ">Before the next work<", ">Never<")
    ]
    assert order == sorted(order)
    assert f'href="/machines/{never.uid}/log/new/daily-check/"' in text
    assert f'href="/machines/{never.uid}/log/new/stop-time/"' in text
    assert "Engine off, key out" in text
    assert f'id="m-{never.uid}"' in text  # the list of machines points here
    for link in set(re.findall(r'href="(/machines/[^"]*/log/new/[^"]*)"', text)):
        assert browser_as(2).get(link).status_code == 200, link


def test_the_forms_are_not_offered_to_who_may_only_look(browser_as: Client) -> None:
    new_machine()
    text = page(browser_as(1).get("/due/"))
    assert "No daily check has been entered yet." in text
    assert "/log/new/" not in text


@pytest.mark.parametrize("path", ["/due/", "/fleet/"])
def test_pages_about_all_ask_as_often_for_3_machines_as_for_30(
    browser_as: Client, path: str
) -> None:
    client, asked = browser_as(2), []
    for many in (3, 27):
        for _ in range(many):
            new_machine()
        client.get(path)
        with CaptureQueriesContext(connection) as found:
            page(client.get(path))
        asked.append(len(found))
    assert asked[0] == asked[1]


def test_pages_of_no_machines_say_what_to_do(browser_as: Client) -> None:
    for path in ("/due/", "/fleet/"):
        assert "There are no machines yet." in words(page(browser_as(1).get(path)))


def test_the_fleet_is_ranked_and_says_why(browser_as: Client) -> None:
    new_machine(name="Never")
    failed = new_machine(name="Failed")
    write(failed, "daily check", NO_TRIP, timezone.now() - timedelta(hours=1))
    said = words(page(browser_as(1).get("/fleet/")))
    assert re.search(r"1 Failed not protected Mend first The daily check of .* failed", said)
    assert said.index("Failed") < said.index("Never")


def test_an_empty_log_says_what_to_enter_first(browser_as: Client) -> None:
    for text in ("", BARE):
        machine = new_machine(*([text] if text else []))
        said = words(page(browser_as(2).get(f"/machines/{machine.uid}/drift/")))
        assert "The log is empty" in said
        assert "Enter: daily check" in said


@pytest.mark.parametrize("sun", [False, True])
def test_drift_shows_signs_first_then_pictures_with_tables(browser_as: Client, sun: bool) -> None:
    machine = with_season(new_machine(), wear=8e-6)
    client = browser_as(2)
    if sun:
        client.cookies["tripmargin_sun"] = "1"
    text = page(client.get(f"/machines/{machine.uid}/drift/"))
    assert text.index("<h2>Signs") < text.index("sign soon") < text.index("<svg")
    figures = 3 + 1 + 2 + 1  # shares and rates; stop time; two pawls; travel
    assert text.count("<svg") == figures
    assert text.count("<details>") == figures
    assert text.count('width="360"') == figures  # a phone's, where nobody says how wide
    assert ("#000000" in text) == sun
    said = words(text)
    assert "The line through 12 values reaches the limit of 5 mm" in said
    assert "from 300 checks since" in said.lower()
    assert len(text) < 350_000


@pytest.mark.parametrize(
    ("screen", "drawn"), [("360", 360), ("320", 320), ("1280", 640), ("x", 360)]
)
def test_pictures_are_drawn_as_wide_as_they_are_shown(
    browser_as: Client, screen: str, drawn: int
) -> None:
    machine = with_season(new_machine())
    client = browser_as(1)
    client.cookies["tripmargin_width"] = screen
    text = page(client.get(f"/machines/{machine.uid}/drift/"))
    assert set(re.findall(r'<svg[^>]* width="(\d+)"', text)) == {str(drawn)}
    sizes = [float(size) for size in re.findall(r'font-size="([\d.]+)"', text)]
    assert min(sizes) >= 12


def test_a_log_of_one_day_is_charted_on_that_day(browser_as: Client) -> None:
    machine, day = new_machine(), timezone.now().replace(day=1, hour=12) - timedelta(days=3)
    for hours in (2, 0):
        values = {**GOOD, "hours_s": 3600.0 * (100 - hours)}
        write(machine, "daily check", values, day - timedelta(hours=hours))
    text = page(browser_as(1).get(f"/machines/{machine.uid}/drift/"))
    share = text.partition("<h2>Daily checks that tripped")[2].partition("</svg>")[0]
    assert f">{day:%m-%d}</text>" in share
    assert f"from {day:%Y-%m-%d} to {day:%Y-%m-%d}" in share
    assert f"<td>{day:%Y-%m-%d}</td>" in text


def test_inches_for_who_reads_them(browser_as: Client, person: Callable[..., Any]) -> None:
    machine = with_season(new_machine())
    person("Ann", role=2, us_units=True)
    said = words(page(browser_as(2, name="Ann").get(f"/machines/{machine.uid}/drift/")))
    assert " in (95 % interval" in said


def test_a_machine_that_is_not_there_answers_404(browser_as: Client) -> None:
    assert browser_as(4).get(f"/machines/{uuid4()}/drift/").status_code == 404


@pytest.mark.parametrize("path", ["/due/", "/fleet/", "/machines/{uid}/drift/"])
def test_nobody_sees_them_unasked(browser_as: Client, path: str) -> None:
    machine = new_machine()
    answer = browser_as(0).get(path.format(uid=machine.uid))
    assert answer.status_code == 302
    assert answer.headers["Location"].startswith("/sign-in/")


def test_a_log_of_odd_words_is_shown_harmlessly(browser_as: Client) -> None:
    machine = new_machine(BARE, name="<script>alert(1)</script>")
    now = timezone.now()
    write(machine, "part replaced", {"part": "<b>\N{WRENCH}"}, now - timedelta(hours=2))
    write(machine, "adjustment", {"gap_after_m/<i>": 0.02}, now - timedelta(hours=1))
    write(machine, "daily check", {**GOOD, "hours_s": 0.0}, now - timedelta(days=3))
    for path in ("/due/", "/fleet/", f"/machines/{machine.uid}/drift/"):
        text = page(browser_as(2).get(path))
        assert "<script>alert" not in text
        assert "<b>\N{WRENCH}" not in text
        assert "<i>" not in text
