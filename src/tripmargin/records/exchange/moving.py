"""Moving the records to another database, and restoring beside those that are there."""

from __future__ import annotations

import sqlite3
import tempfile
from contextlib import closing, suppress
from datetime import datetime
from pathlib import Path

from django.db import connection, connections

from tripmargin.ground.languages import say
from tripmargin.records.exchange.back_up import back_up
from tripmargin.records.exchange.files import sync_folder
from tripmargin.records.exchange.manifest import Manifest
from tripmargin.records.exchange.restoring import counts, restore
from tripmargin.records.exchange.snapshots import BEFORE, turned_to
from tripmargin.records.home import RecordsError
from tripmargin.records.opening import bring_up_to_date


def move_to(address: str) -> Manifest:
    """Copy everything into an empty database, and compare the counts table by table.

    What was moved stays where it was.

    Parameters
    ----------
    address : str
        As `TRIPMARGIN_DATABASE` has it.

    Raises
    ------
    RecordsError
        If that database is not empty or cannot be reached, or something was written meanwhile.
        Nothing is in it then.
    """

    def compare() -> None:
        here, there = counts(BEFORE), counts()
        changed = [
            say("{name}: {here}, moved {there}", name=name, here=here[name], there=there[name])
            for name in here
            if here[name] != there[name]
        ]
        if changed:
            raise RecordsError(
                say(
                    "Somebody wrote while the records were moved ({changed}). Nothing was"
                    " moved.\n  Stop the server, and move them again.",
                    changed="; ".join(changed),
                )
            )

    with tempfile.TemporaryDirectory(prefix="tripmargin-") as folder:
        path = Path(folder, "moving.zip")
        back_up(path)
        with turned_to(address):
            bring_up_to_date()
            return restore(path, before_commit=compare)


def restore_into_empty(path: Path) -> tuple[Manifest, Path]:
    """Restore into a new SQLite file; the one that was there is moved aside and kept.

    Returns
    -------
    Manifest
        What was restored.
    Path
        Where the earlier records lie now.

    Raises
    ------
    RecordsError
        As in `restore`; if the records are on PostgreSQL, or another program has them open.
    """
    if connection.vendor != "sqlite":
        raise RecordsError(
            "--into-empty is for SQLite. Nothing was written.\n"
            "  Make an empty database and name it in TRIPMARGIN_DATABASE."
        )
    here = Path(connection.settings_dict["NAME"])
    aside = here.with_name(f"{here.name}.before-{datetime.now():%Y%m%d-%H%M%S}")
    new = here.with_name(f"{here.name}.restoring")
    _forget(new)
    try:
        with turned_to(f"sqlite:///{new}"):
            bring_up_to_date()
            manifest = restore(path)
        _into_one_file(new)
        connections.close_all()
        _into_one_file(here)
        if aside.exists():
            raise RecordsError(say("{aside} is there already. Nothing was changed.", aside=aside))
        here.rename(aside)
        new.rename(here)
    finally:
        _forget(new)
    sync_folder(here.parent)
    return manifest, aside


def _into_one_file(path: Path) -> None:
    """Bring the write-ahead log into the file itself; refuse where another program has it open.

    A database leaves write-ahead logging only when nobody else has it open (SQLite, "Write-Ahead
    Logging"). The next opening turns it on again.
    """
    try:
        with closing(sqlite3.connect(path, timeout=2.0)) as file:
            (mode,) = file.execute("PRAGMA journal_mode=DELETE").fetchone()
    except sqlite3.OperationalError as error:
        mode = str(error)
    if mode != "delete":
        raise RecordsError(
            say(
                "{path}: another program has the records open. Nothing was changed.\n  Stop"
                " the server, then restore again.",
                path=path,
            )
        )


def _forget(path: Path) -> None:
    """Take away what a restore of ours left half done."""
    for ending in ("", "-wal", "-shm", "-journal", ".migrating"):
        with suppress(FileNotFoundError):
            path.with_name(path.name + ending).unlink()
