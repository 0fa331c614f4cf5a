"""Fixtures of the page that plays a stop: a browser without a network, and pages made once."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.reference import lacking
from tests.web.browser.conftest import no_barrier, no_sideways
from tripmargin.machine import load_machine
from tripmargin.reports.how.page import how_page
from tripmargin.sensing import Piece

PHONE, SMALL, PROJECTOR = (360, 740), (320, 568), (1280, 800)

__all__ = ["no_barrier", "no_sideways"]


@pytest.fixture(scope="module")
def browser(chromium: str) -> Iterator[Any]:
    """The system's Chromium."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        lacking("Python package playwright")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="session")
def whimbrel_page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of one demo machine at its longest cut, as a file."""
    path = tmp_path_factory.mktemp("how") / "how-whimbrel.html"
    text = how_page(load_machine("whimbrel"), cut_length=0.028, piece=Piece.ball(0.02))
    path.write_text(text, "utf-8")
    return path


@pytest.fixture
def opened(browser: Any, whimbrel_page: Path) -> Iterator[Callable[..., Any]]:
    """A page without a network; what it asks for and says aloud is noted."""
    contexts = []

    def open_on(size: tuple[int, int] = PROJECTOR, path: Path = whimbrel_page, **more: Any) -> Any:
        width, height = size
        context = browser.new_context(
            offline=True, viewport={"width": width, "height": height}, **more
        )
        contexts.append(context)
        page = context.new_page()
        page.asked, page.aloud = [], []
        page.on("request", lambda one: page.asked.append(one.url))
        page.on("console", lambda one: page.aloud.append(one.text))
        page.on("pageerror", lambda one: page.aloud.append(str(one)))
        page.goto(path.as_uri())
        return page

    yield open_on
    for context in contexts:
        context.close()
