"""Fixtures of the page that plays a stop: a browser without a network, and pages made once."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.web.browser.conftest import no_barrier, no_sideways
from tripmargin.machine import load_machine
from tripmargin.reports.how.page import how_page
from tripmargin.sensing import Piece

PHONE, SMALL, PROJECTOR = (360, 740), (320, 568), (1280, 800)

__all__ = ["no_barrier", "no_sideways"]


@pytest.fixture(scope="session")
def whimbrel_page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The page of one demo machine at its longest cut, as a file."""
    path = tmp_path_factory.mktemp("how") / "how-whimbrel.html"
    text = how_page(load_machine("whimbrel"), cut_length=0.028, piece=Piece.ball(0.02))
    path.write_text(text, "utf-8")
    return path


@pytest.fixture
def opened(open_file: Callable[..., Any], whimbrel_page: Path) -> Callable[..., Any]:
    """A page without a network, that of Whimbrel on a projector unless told otherwise."""

    def open_on(size: tuple[int, int] = PROJECTOR, path: Path = whimbrel_page, **more: Any) -> Any:
        return open_file(path, size, **more)

    return open_on
