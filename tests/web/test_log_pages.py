"""A page of a long log costs what a page costs, however deep it lies."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from urllib.parse import urlencode

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tripmargin.records.store.models import Entry, Machine

LAST = datetime(2026, 5, 4, 7, 30, tzinfo=UTC)
ENTRIES = 400


@pytest.fixture
def machine(sqlite_records: str) -> Machine:
    """A machine with a long log, beside another one."""
    for name in ("Heron", "Stilt"):
        made = Machine.objects.create(name=name)
        Entry.objects.bulk_create(
            Entry(machine=made, kind="daily check", at=LAST - timedelta(days=day), who_name="Ann",
                  values={"tripped": True, "reset": True})
            for day in range(ENTRIES)
        )  # fmt: skip
    return Machine.objects.get(name="Stilt")


def key(day: int) -> str:
    return f"{(LAST - timedelta(days=day)).isoformat()}~{10**6}"


@pytest.mark.parametrize(
    ("asked", "index"),
    [
        ({}, "entry_of_machine"),
        ({"kind": "daily-check"}, "entry_of_kind"),
        ({"before": key(200)}, "entry_of_machine"),
        ({"before": key(ENTRIES - 5)}, "entry_of_machine"),
        ({"kind": "daily-check", "before": key(ENTRIES - 5)}, "entry_of_kind"),
    ],
    ids=["newest", "kind", "half way", "last", "last of a kind"],
)
def test_a_page_is_found_by_its_index_and_nothing_is_passed_over(
    browser_as: Callable[..., Any], machine: Machine, asked: dict[str, str], index: str
) -> None:
    client = browser_as(1)
    with CaptureQueriesContext(connection) as queries:
        answer = client.get(f"/machines/{machine.uid}/log/?{urlencode(asked)}")
    assert answer.status_code == 200
    [page] = [
        each["sql"] for each in queries
        if ' FROM "records_entry"' in each["sql"] and "ORDER BY" in each["sql"]
        and "LIMIT" in each["sql"]
    ]  # fmt: skip
    assert "OFFSET" not in page
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {page}".replace("%", "%%"))
        plan = [row[3] for row in cursor.fetchall()]
    # One search by the index, which hands out the rows in order: sorting would read them all.
    assert f"USING INDEX {index}" in plan[0], plan
    assert plan[0].startswith("SEARCH records_entry"), plan
    assert ("at<" in plan[0]) == ("before" in asked), plan
    assert not any("TEMP B-TREE" in step for step in plan), plan
