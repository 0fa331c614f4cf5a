"""What is due, whom to visit first and what drifts, in a real browser."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from tests.records.standing_help import GOOD, NO_TRIP, new_machine, write
from tests.web.browser.conftest import BOTH, PHONE
from tests.web.browser.targets import too_small
from tripmargin.records.standing.refreshing import refresh
from tripmargin.records.store.models import Entry, Machine

Fixture = Callable[..., Any]
CHECKS, GAPS, STOPS, TRIPS = 30, 15, 10, 5


def planted(machine: Machine, now: datetime) -> Machine:
    """60 entries of 30 days; the lower pawl's gap as found grows by 0.1 mm every other day."""
    rows: list[tuple[str, int, dict[str, Any]]] = [
        ("daily check", CHECKS - k, GOOD | {"hours_s": 3600.0 * 5 * k}) for k in range(CHECKS)
    ]
    for k in range(GAPS):
        gaps = {"gap_before_m/lower": 3.2e-3 + 1e-4 * k, "gap_before_m/upper": 3.5e-3}
        rows.append(("adjustment", 29 - 2 * k, {**gaps, "feeler_m": 5e-5}))
    for k in range(STOPS):
        rows.append(("stop time", 29 - 3 * k, {"stop_time_s": 0.05, "sd_s": 5e-4}))
    for k in range(TRIPS):
        trip = {"found": "wire", "left_m": 0.15 + 0.002 * k, "cut_length_m": 0.008}
        rows.append(("trip", 28 - 6 * k, trip))
    Entry.objects.bulk_create(
        Entry(machine=machine, kind=kind, values=values, at=now - timedelta(days=days - 0.5))
        for kind, days, values in rows
    )
    assert machine.entries.count() == 60
    refresh(machine)
    return machine


@pytest.fixture
def yard(yard_server: str) -> Machine:
    """A machine that never was checked, one that failed, one with a log; the last is given."""
    now = timezone.now()
    new_machine(name="Never")
    write(new_machine(name="Failed"), "daily check", NO_TRIP, now - timedelta(hours=1))
    return planted(new_machine(name="Knot"), now)


@BOTH
def test_due_and_fleet_lead_to_what_mends(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, yard: Machine,
    size: tuple[int, int],
) -> None:  # fmt: skip
    page = page_as(2, size=size)
    page.goto("/due/")
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    page.get_by_role("link", name="Whom to visit first").click()
    expect(page.get_by_role("row")).to_have_count(1 + Machine.objects.count())
    first = page.get_by_role("row").nth(1)
    expect(first).to_contain_text("Failed")
    expect(first).to_contain_text("it did not trip")
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []
    page.get_by_role("link", name="Everything that is due").click()
    failed = page.get_by_role("listitem").filter(has_text="it did not trip").last
    failed.get_by_role("link", name="Enter: daily check").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Failed")
    assert page.url.endswith("/log/new/daily-check/")
    expect(page.get_by_role("button", name="Keep")).to_be_visible()


@BOTH
def test_drift_has_a_table_behind_every_picture(
    page_as: Fixture, no_barrier: Fixture, no_sideways: Fixture, yard: Machine,
    size: tuple[int, int],
) -> None:  # fmt: skip
    page = page_as(2, size=size)
    page.goto("/due/")  # any page says how wide the screen is
    page.goto(f"/machines/{yard.uid}/drift/")
    sign = page.locator(".sign").filter(has_text="gap of the lower pawl")
    rising = sign.filter(has_text="rises by 1.5 mm in 30 days")  # 0.1 mm every other day
    expect(rising).to_have_count(1)
    expect(page.locator(".sign").filter(has_text="upper pawl")).to_have_count(0)
    no_barrier(page)
    no_sideways(page)
    assert too_small(page) == []

    seen = [figure for figure in page.locator("figure").all() if figure.is_visible()]
    assert len(seen) == 3 + 1 + 2 + 1  # shares and rates; stop time; two pawls; travel
    told = {}
    for figure in seen:
        box = figure.locator("svg").bounding_box()
        assert box is not None
        assert box["width"] == pytest.approx(360 if size == PHONE else 640, abs=1)
        # Letters as they are seen: 12 px at least.
        heights = figure.locator("svg text").evaluate_all(
            "all => all.map(one => parseFloat(getComputedStyle(one).fontSize)"
            " * one.getScreenCTM().a)"
        )
        assert len(heights) > 5
        assert min(heights) >= 11.99
        behind = figure.locator("xpath=following-sibling::*[1]")
        behind.locator("summary").click()
        expect(behind.locator("table")).to_be_visible()
        region = behind.get_by_role("region").get_attribute("aria-label")
        told[str(region)] = behind.locator("tbody tr").count()
    assert told["Gap of the lower pawl as found, table"] == GAPS
    assert told["Stop time, table"] == STOPS
    assert told["Metal's travel, table"] == TRIPS
    assert min(told.values()) > 0
    no_barrier(page)
    no_sideways(page)
