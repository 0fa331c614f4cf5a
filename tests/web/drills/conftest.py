"""Drills are played on the dunlin: its wiring is read once in a process, before the first test."""

from __future__ import annotations

import pytest

from tests.web.drills.playing import problem


@pytest.fixture(autouse=True)
def _wiring_is_read() -> None:
    problem()
