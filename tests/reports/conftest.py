"""Fixtures of pages that are one file: a browser without a network, and what a page says aloud."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(scope="module")
def browser(driver: Any, chromium: str) -> Iterator[Any]:
    """The system's Chromium."""
    browser = driver.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
    yield browser
    browser.close()


@pytest.fixture
def open_file(browser: Any) -> Iterator[Callable[..., Any]]:
    """Open a file without a network; what it asks for and says aloud is noted on the page."""
    contexts = []

    def open_on(path: Path, size: tuple[int, int], **more: Any) -> Any:
        width, height = size
        viewport = {"width": width, "height": height}
        context = browser.new_context(offline=True, viewport=viewport, **more)
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
