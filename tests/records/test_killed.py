"""Processes that write are killed, and several write at a time: what was acknowledged is there."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
from contextlib import ExitStack, closing
from pathlib import Path

import pytest

from tests.records.machines import add_small_machines
from tests.records.writers import writer

WRITES, KILLS = 500, 20


@pytest.fixture
def yard(records: str) -> str:
    """The address of records with two machines."""
    add_small_machines()
    from django.db import connections

    connections.close_all()
    return records


def kept() -> list[int]:
    from tripmargin.records.store.models import Entry

    return [uid.int for uid in Entry.objects.values_list("uid", flat=True)]


def test_what_was_acknowledged_before_a_kill_is_there_once(yard: str, tmp_path: Path) -> None:
    # Each round sends again what was not acknowledged, and the last ten that were, as a phone does
    # that lost its connection.
    draws = random.Random(20)
    acknowledged: set[int] = set()
    with writer(tmp_path, yard) as process:
        for kill in range(KILLS):
            child = process.begin(max(0, len(acknowledged) - 10), WRITES)
            wanted = (kill + 1) * WRITES // (KILLS + 1) + draws.randint(-10, 10)
            while len(acknowledged) < wanted:
                acknowledged.add(int(process.next()))
            os.kill(child, signal.SIGKILL)
            acknowledged.update(process.until("ended"))
            there = kept()
            assert len(there) == len(set(there))
            assert acknowledged <= set(there)
            assert len(there) <= len(acknowledged) + 1  # at most the one that was under way
            assert len(there) < WRITES, "the kill came too late to mean anything"
        process.begin(0, WRITES)
        acknowledged.update(process.until("ended"))
    assert sorted(kept()) == sorted(acknowledged) == list(range(WRITES))
    if yard.startswith("sqlite"):
        with closing(sqlite3.connect(yard.removeprefix("sqlite:///"))) as file:
            assert file.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_two_processes_that_write_at_a_time_lose_nothing(yard: str, tmp_path: Path) -> None:
    with ExitStack() as stack:
        # The ids overlap by half: those that both write are kept once.
        both = [stack.enter_context(writer(tmp_path, yard)) for _ in range(2)]
        for one, first in zip(both, (0, 50), strict=True):
            one.begin(first, first + 100)
        said = [one.until("ended") for one in both]
    assert [len(one) for one in said] == [100, 100]
    assert sorted(kept()) == list(range(150))
