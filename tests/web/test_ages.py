"""Ages on pages: told alike wherever they stand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from tripmargin.records.standing.stamps import how_long
from tripmargin.web.templatetags.tripmargin import ago

NOW = datetime(2026, 11, 29, 12, tzinfo=UTC)


@pytest.mark.parametrize(
    ("gone", "said"),
    [
        (timedelta(days=118, hours=20), "118 d ago"),  # not over yet: not 119
        (timedelta(days=2), "2 d ago"),
        (timedelta(days=1, hours=6, minutes=50), "30 h ago"),
        (timedelta(minutes=119, seconds=50), "119 min ago"),
        (timedelta(seconds=110), "1 min ago"),
    ],
)
def test_two_ages_of_one_moment_are_the_same(gone: timedelta, said: str) -> None:
    assert ago(NOW - gone, NOW) == said == f"{how_long(gone)} ago"


def test_years_are_whole_ones_too() -> None:
    assert ago(NOW - timedelta(days=1000), NOW) == "2 years ago"
    assert ago(None, NOW) == "never"
    assert ago(NOW - timedelta(seconds=5), NOW) == "just now"
