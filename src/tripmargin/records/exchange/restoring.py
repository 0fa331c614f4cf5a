"""Restoring a back-up into empty records: all of it, or nothing."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from django.apps import apps as installed
from django.core.management.color import no_style
from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, transaction
from django.db.migrations.executor import MigrationExecutor

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say
from tripmargin.records.exchange.back_up import back_up as write_back_up
from tripmargin.records.exchange.manifest import Manifest, Table, known_schemas, newest_schema
from tripmargin.records.exchange.opened import BackUp, opened, refuse
from tripmargin.records.exchange.row_sizes import TooLargeError, refuse_too_large
from tripmargin.records.exchange.rows import row_of, tables
from tripmargin.records.exchange.snapshots import turned_to
from tripmargin.records.home import RecordsError
from tripmargin.records.opening import bring_up_to_date
from tripmargin.records.standing.refreshing import refresh
from tripmargin.records.store.models import Machine

MOST_ROWS, MOST_BYTES = 1000, 8_000_000  # at a time


def restore(path: Path, *, before_commit: Callable[[], None] | None = None) -> Manifest:
    """Restore a back-up into the records in use, which must be empty.

    A back-up of an older version is brought to today's tables first, beside the records.

    Parameters
    ----------
    path : Path
    before_commit : callable, optional
        Called when all is written and nothing is certain yet; what it raises takes all back.

    Returns
    -------
    Manifest
        What was restored: its counts are those of the tables.

    Raises
    ------
    RecordsError
        If the records are not empty, the back-up is damaged or newer, a value of it is larger than
        a form or an upload takes, or the counts differ.
    """
    refuse_unless_empty()
    with opened(path) as found:
        schema = found.manifest.schema
        if schema not in known_schemas():
            refuse(
                path,
                say(
                    "a newer version of tripmargin made it ({program})",
                    program=found.manifest.program,
                ),
            )
        if schema == newest_schema():
            _fill(found, before_commit)
            return found.manifest
        with _brought_forward(found) as newer, opened(newer) as current:
            _fill(current, before_commit)
            return current.manifest


def counts(using: str = DEFAULT_DB_ALIAS) -> dict[str, int]:
    """Rows by table, of every table that is kept."""
    return {one._meta.model_name: one._base_manager.using(using).count() for one in tables()}


def refuse_unless_empty() -> None:
    """Raise `RecordsError` where anything is in the records."""
    there = {name: count for name, count in counts().items() if count}
    if not there:
        return
    said = ", ".join(f"{name} {count}" for name, count in there.items())
    raise RecordsError(
        say(
            "The records are not empty ({said}). Nothing was written.\n  A back-up is"
            " restored into empty records only, so that nothing is mixed or lost.\n  SQLite:"
            " add --into-empty, and the records that are here are moved aside and kept.\n "
            " PostgreSQL: make an empty database and name it in TRIPMARGIN_DATABASE.",
            said=said,
        )
    )


def _fill(back_up: BackUp, before_commit: Callable[[], None] | None) -> None:
    try:
        with transaction.atomic():
            refuse_unless_empty()
            _insert_all(back_up, installed)
            _set_sequences()
            seen = counts()
            if seen != back_up.manifest.counts:
                back_up.refuse(
                    say(
                        "the tables hold {seen} rows, not {counts}",
                        seen=seen,
                        counts=back_up.manifest.counts,
                    )
                )
            for machine in Machine.objects.order_by("pk"):
                refresh(machine)
            if before_commit is not None:
                before_commit()
    except DatabaseError as error:
        back_up.refuse(say("its rows do not hold together: {why}", why=str(error).splitlines()[0]))


def _insert_all(back_up: BackUp, apps: Any) -> None:
    models = {one._meta.model_name: one for one in tables(apps)}
    names = set(back_up.manifest.counts)
    if names != set(models):
        back_up.refuse(say("its tables are {tables}", tables=", ".join(sorted(names))))
    held = {table.name: table for table in back_up.manifest.tables}
    for name, model in models.items():
        _insert(back_up, held[name], model)


def _insert(back_up: BackUp, table: Table, model: Any) -> None:
    batch: list[Any] = []
    size = 0
    for number, line in enumerate(back_up.lines(table), 1):
        try:
            row = row_of(model, line)
            refuse_too_large(row)
            batch.append(row)
        except TooLargeError as error:
            refuse(
                back_up.path,
                say(
                    "it holds what no form or upload takes, in {file}, line {number}: {why}",
                    file=table.file,
                    number=number,
                    why=shortened(str(error), 300),
                ),
            )
        except (ValueError, TypeError, RecursionError) as error:
            back_up.refuse(
                say(
                    "{file}, line {number}: {why}",
                    file=table.file,
                    number=number,
                    why=shortened(str(error), 200),
                )
            )
        size += len(line)
        if len(batch) >= MOST_ROWS or size > MOST_BYTES:
            model._base_manager.bulk_create(batch)
            batch, size = [], 0
    model._base_manager.bulk_create(batch)


def _set_sequences() -> None:
    """The next row gets the next number: PostgreSQL counts apart from what the rows have."""
    statements = connection.ops.sequence_reset_sql(no_style(), tables())
    with connection.cursor() as cursor:
        for statement in statements:
            cursor.execute(statement)


@contextmanager
def _brought_forward(old: BackUp) -> Iterator[Path]:
    """The same back-up with today's tables: restored as it was made, migrated, and written anew."""
    with tempfile.TemporaryDirectory(prefix="tripmargin-") as folder:
        newer = Path(folder, "newer.zip")
        with turned_to(f"sqlite:///{folder}/older.sqlite3"):
            target = ("records", old.manifest.schema)
            executor = MigrationExecutor(connection)
            executor.migrate([target])
            apps = MigrationExecutor(connection).loader.project_state([target]).apps
            with transaction.atomic():
                _insert_all(old, apps)
            bring_up_to_date()
            write_back_up(newer)
        yield newer
