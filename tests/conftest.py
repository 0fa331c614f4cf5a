"""Fixtures and profiles that every test may use."""

from __future__ import annotations

import functools
import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

from tests.reference import ROOT, lacking, reference_path, under_ci
from tripmargin.faultfinding.suspects.kept import keep_in

settings.register_profile("here", deadline=None, max_examples=50)
settings.register_profile(
    "ci",
    deadline=None,
    derandomize=True,
    database=None,
    max_examples=100,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("ci" if under_ci() else "here")


@pytest.fixture(scope="session", autouse=True)
def _kept(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep the machines that were read in a folder of this run; all its processes share it."""
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "kept"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TRIPMARGIN_CACHE", str(folder))
        keep_in(folder)
        yield
        keep_in(None)


@pytest.fixture(scope="session", autouse=True)
def _english() -> Iterator[None]:
    """The terminal's language is English, whatever it is set to where the tests run.

    The command line speaks the terminal's, and the tests quote what is said. Those of another
    language ask for it themselves.
    """
    with pytest.MonkeyPatch.context() as patch:
        for name in ("LC_ALL", "LC_MESSAGES", "LANGUAGE", "TRIPMARGIN_LANGUAGE"):
            patch.delenv(name, raising=False)
        patch.setenv("LANG", "C.UTF-8")
        yield


@pytest.fixture(scope="session")
def project_root() -> Path:
    """Return the folder that holds pyproject.toml."""
    return ROOT


@pytest.fixture(scope="session")
def reference_folder() -> Path:
    """Return the folder of reference cases; skip loudly where absent, fail under CI=true."""
    return reference_path()


@pytest.fixture(scope="session")
def ngspice() -> str:
    """Return the path of the circuit simulator; skip loudly where absent, fail under CI=true."""
    return program("ngspice")


@pytest.fixture(scope="session")
def chromium() -> str:
    """Return the path of the browser; skip loudly where absent, fail under CI=true."""
    return program("chromium")


@pytest.fixture(scope="session")
def driver() -> Iterator[Any]:
    """Playwright, once in each process: it refuses to start a second time beside itself."""
    try:
        from playwright.sync_api import Locator, sync_playwright
    except ImportError:
        lacking("Python package playwright")
    with sync_playwright() as playwright, pytest.MonkeyPatch.context() as patch:
        patch.setattr(Locator, "click", loaded_after(Locator.click))
        yield playwright


def loaded_after(click: Callable[..., None]) -> Callable[..., None]:
    """Return from a click when the page that it opened is there.

    Playwright returns when the next page has begun: a look at it then finds no document yet.
    """

    @functools.wraps(click)
    def settled(self: Any, **options: Any) -> None:
        click(self, **options)
        self.page.wait_for_load_state()

    return settled


def program(name: str) -> str:
    found = shutil.which(name)
    if found is None:
        lacking(f"program {name} (`make test` installs it where it may)")
    assert found is not None
    return found
