"""Records of its own for a page that shows `tripmargin log`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _records_of_the_page(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[None]:
    page = request.getfixturevalue("page") if "page" in request.fixturenames else None
    if page is None or "$ tripmargin log " not in page.read_text(encoding="utf-8"):
        yield
        return
    from tests.databases import set_django_up, using_database

    set_django_up()
    with using_database(f"sqlite:///{tmp_path}/records.sqlite3"):
        yield
