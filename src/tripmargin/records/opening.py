"""Opening the records: Django is set up, and the tables are brought to what this version reads."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.records.home import RecordsError


def open_records(*, settings: str = "tripmargin.records.settings") -> None:
    """Set Django up and bring the tables up to date; once a process, any number of times.

    Raises
    ------
    RecordsError
        If the database cannot be reached, or was written by a newer version.
    """
    import django
    from django.apps import apps

    if not apps.ready:
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", settings)
        django.setup()
    bring_up_to_date()


def bring_up_to_date() -> None:
    """Run the migrations that are missing.

    Raises
    ------
    RecordsError
        As in `open_records`.
    """
    from django.db import DatabaseError, connection
    from django.db.migrations.executor import MigrationExecutor

    try:
        executor = MigrationExecutor(connection)
        known = set(executor.loader.disk_migrations)
        newer = sorted(
            f"{app} {name}"
            for app, name in executor.loader.applied_migrations
            if app == "records" and (app, name) not in known
        )
        if newer:
            raise RecordsError(
                say(
                    "The records were written by a newer version of tripmargin ({newer}).\n "
                    " Use that version, or restore a back-up that this one has made.",
                    newer=", ".join(newer),
                )
            )
        _for_the_owner_only(connection)
        targets = executor.loader.graph.leaf_nodes()
        if executor.migration_plan(targets):
            _migrate(targets)
            from tripmargin.records.standing.refreshing import refresh_stale

            refresh_stale()  # else each page would work them out, again and again
    except DatabaseError as error:
        where = connection.settings_dict["NAME"]
        raise RecordsError(
            say("{where}: the records cannot be opened: {error}", where=where, error=error).rstrip()
        ) from error


def _for_the_owner_only(connection: Any) -> None:
    """Close the files of the records to everybody else on this computer: they hold password hashes.

    SQLite gives later logs of its own the mode of the first file.
    """
    name = str(connection.settings_dict["NAME"])
    for path in (Path(name), Path(f"{name}-wal"), Path(f"{name}-shm")):
        with suppress(OSError):  # not there, or somebody else's: he has to say who reads it
            if connection.vendor == "sqlite" and path.stat().st_mode & 0o077:
                path.chmod(0o600)


def _migrate(targets: list[tuple[str, str]]) -> None:
    """Migrate, one process at a time: several servers may start at once."""
    from django.db import connection
    from django.db.migrations.executor import MigrationExecutor

    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_lock(8415306912)")
            try:
                MigrationExecutor(connection).migrate(targets)
            finally:
                cursor.execute("SELECT pg_advisory_unlock(8415306912)")
        return
    import fcntl

    name = connection.settings_dict["NAME"]
    with Path(f"{name}.migrating").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        MigrationExecutor(connection).migrate(targets)
