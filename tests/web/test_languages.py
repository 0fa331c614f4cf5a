"""Pages in another language: chosen, asked for, and whole."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.urls import reverse
from django.utils.translation import trans_real

from tests.marked_language import marked_language

Make = Callable[..., Any]


@pytest.fixture
def marked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """A language made for the test; Django forgets it afterwards."""
    with marked_language(tmp_path / "languages") as code:
        monkeypatch.setattr(settings, "LOCALE_PATHS", [str(tmp_path / "languages")])
        trans_real._translations.clear()
        yield code
    trans_real._translations.clear()


def test_the_browsers_own_language_is_spoken_where_it_is_known(browser_as: Make, marked: str):
    client = browser_as(1)
    page = client.get("/", headers={"accept-language": f"fr, {marked}-AT;q=0.8, en;q=0.5"})
    assert page.headers["Content-Language"] == marked
    assert f'<html lang="{marked}"' in page.content.decode()
    assert "Accept-Language" in page.headers["Vary"]
    plain = client.get("/", headers={"accept-language": "fr, it;q=0.8"})
    assert plain.headers["Content-Language"] == "en"


def test_the_language_chosen_at_the_foot_stays(browser_as: Make, marked: str):
    client = browser_as(1)
    answer = client.post("/language/", {"language": marked, "next": "/due/"})
    assert answer.headers["Location"] == "/due/"
    assert client.get("/due/").headers["Content-Language"] == marked
    client.post("/language/", {"language": "en"})
    assert client.get("/due/", headers={"accept-language": marked}).headers[
        "Content-Language"
    ] == "en"  # fmt: skip


@pytest.mark.parametrize("sent", ["xx", "", "../../etc", "zz\n", "d/e", "<script>"])
def test_a_language_that_is_not_known_is_not_taken(browser_as: Make, marked: str, sent: str):
    client = browser_as(1)
    answer = client.post("/language/", {"language": sent, "next": "https://elsewhere.invalid/"})
    assert answer.headers["Location"] == reverse("machines")
    assert "tripmargin_language" not in answer.cookies
    client.cookies["tripmargin_language"] = "xx"
    assert client.get("/").headers["Content-Language"] == "en"
