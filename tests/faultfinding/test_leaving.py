"""A machine that was left stands at rest for whoever comes back."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from tripmargin.faultfinding import Entry
from tripmargin.faultfinding.cases.leaving import Leaving

AT = datetime.fromisoformat("2026-05-04T07:30:00+02:00")
HALF_AN_HOUR = timedelta(minutes=30)


def entries(*minutes: float) -> list[Entry]:
    times = [(AT + timedelta(minutes=each)).isoformat() for each in minutes]
    return [Entry(n, at, "finding") for n, at in enumerate(times, 1)]


def test_a_gap_between_two_entries_or_behind_the_last_means_left() -> None:
    leaving = Leaving(rest_after=HALF_AN_HOUR, opened=AT + timedelta(minutes=90))
    told = [leaving.after(entries(0, 10, 41, 61), count) for count in (1, 2, 3, 4)]
    assert told == [False, True, False, False]
    assert leaving.after(entries(0, 10), 2)


def test_without_a_limit_only_what_was_said_to_be_left_was() -> None:
    leaving = Leaving(at=(1, 2), opened=AT + timedelta(days=9))
    assert [leaving.after(entries(0, 1, 2), count) for count in (1, 2, 3)] == [False, True, False]


@pytest.mark.parametrize("at", ["", "yesterday", "2026-05-04T07:30:00", "2026-05-04"])
def test_where_nobody_knows_when_the_machine_is_taken_to_be_at_rest(at: str) -> None:
    assert Leaving(rest_after=HALF_AN_HOUR, opened=AT).after([Entry(1, at, "finding")], 1)
