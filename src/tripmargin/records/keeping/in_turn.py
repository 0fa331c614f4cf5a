"""One writer of a process after the other, where the database lets in one at a time."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from threading import Lock

from django.db import connection, transaction

_LINE = Lock()


@contextmanager
def writing_in_turn() -> Iterator[None]:
    """A transaction that writes; on SQLite, the threads of a process stand in line for it.

    SQLite itself has no line: who finds another one writing sleeps and tries again, longer each
    time (sqlite3_busy_timeout, up to 100 ms a time), while newcomers go first. Under load the
    slowest writers waited ten times longer for that than for those before them. Processes among
    themselves still go by SQLite's way, and PostgreSQL needs none of this.

    Within a transaction that is under way nobody waits: it holds what the first in line wants.
    """
    alone = connection.vendor == "sqlite" and not connection.in_atomic_block
    with _LINE if alone else nullcontext(), transaction.atomic():
        yield
