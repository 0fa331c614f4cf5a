"""Fixtures for the web app."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.marked_language import marked_language
from tests.yard import (
    browser_as,
    person,
    postgres,
    records,
    sqlite_records,
    sqlite_with_tables,
)

__all__ = ["browser_as", "person", "postgres", "records", "sqlite_records", "sqlite_with_tables"]


@pytest.fixture
def marked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A language made for the test, every sentence marked; Django forgets it afterwards."""
    from django.conf import settings
    from django.utils.translation import trans_real

    with marked_language(tmp_path / "languages") as code:
        monkeypatch.setattr(settings, "LOCALE_PATHS", [str(tmp_path / "languages")])
        trans_real._translations.clear()
        yield code
    trans_real._translations.clear()
