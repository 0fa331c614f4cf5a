"""Reading everything as of one moment, and turning to another database for a while."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection, connections, transaction

from tripmargin.records.home import database
from tripmargin.records.store.models import Machine

BEFORE = "before"
"""The database that was in use before `turned_to`."""


@contextmanager
def snapshot() -> Iterator[None]:
    """Everything read inside is as it was at one moment, while others go on writing.

    PostgreSQL: REPEATABLE READ (its manual, "Transaction Isolation"). SQLite with a write-ahead
    log: a deferred transaction sees what was there at its first reading and holds no writer up
    (SQLite's pages "Isolation" and "Write-Ahead Logging").
    """
    if connection.in_atomic_block:
        raise RuntimeError("a snapshot is a transaction of its own")
    if connection.vendor == "postgresql":
        with transaction.atomic():
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
            yield
        return
    connection.ensure_connection()
    usual, connection.transaction_mode = connection.transaction_mode, "DEFERRED"
    try:
        with transaction.atomic():
            Machine.objects.exists()  # the first reading: from here on nothing changes
            yield
    finally:
        connection.transaction_mode = usual


@contextmanager
def turned_to(address: str) -> Iterator[None]:
    """Make another database the one in use; the earlier one is read as `BEFORE` meanwhile.

    For a program with one thread. Raises `RecordsError` where the address is none.
    """
    earlier = connections.databases["default"]
    _use({"default": database(address), BEFORE: earlier})
    try:
        yield
    finally:
        _use({"default": earlier})


def _use(databases: dict[str, dict[str, Any]]) -> None:
    connections.close_all()
    for alias in ("default", BEFORE):
        connections.databases.pop(alias, None)
        if hasattr(connections._connections, alias):
            del connections[alias]
    connections.databases.update(databases)
    connections.configure_settings(connections.databases)
