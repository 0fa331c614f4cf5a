"""Fixtures of the card: a browser without a network, and one card made once."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.web.browser.conftest import no_barrier, no_sideways
from tests.yard import person, sqlite_records, sqlite_with_tables
from tripmargin.machine import load_machine
from tripmargin.reports.card.page import card_page

# Playwright keeps a loop in this thread; the records are asked from it all the same.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

MADE = datetime(2026, 9, 1, 6, 30, tzinfo=UTC)
PHONE, SMALL = (360, 740), (320, 568)

__all__ = ["no_barrier", "no_sideways", "person", "sqlite_records", "sqlite_with_tables"]


@pytest.fixture(scope="session")
def dunlin_card(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The card of one demo machine, as a file."""
    path = tmp_path_factory.mktemp("card") / "card-dunlin.html"
    path.write_text(card_page(load_machine("dunlin"), made=MADE), "utf-8")
    return path
