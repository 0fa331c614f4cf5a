"""Databases with two small machines and no entries, quickly made."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from pathlib import Path
from typing import Protocol
from uuid import uuid4

from tests.databases import Postgres, using_database
from tests.machine.files import SMALL

NAMES = ("Knot", '=Tern, "grey"; +1')


def add_small_machines() -> None:
    from tripmargin.records.keeping.machines import add_machine, read_machine_file

    for name in NAMES:
        quoted = name.replace('"', '\\"')
        content = SMALL.replace('name = "Knot"', f'name = "{quoted}"').encode()
        text, loaded = read_machine_file(content, "knot.toml")
        add_machine(text, loaded, who_name="Ann", note="=1+1")


class Maker(Protocol):
    """Gives the address of a fresh database for a while, with the two machines or without."""

    def __call__(self, *, machines: bool = True) -> AbstractContextManager[str]: ...


class SqliteMaker:
    """A maker of SQLite files."""

    def __init__(self, empty: Path, folder: Path) -> None:
        self.empty, self.folder = empty, folder
        self.full = folder / "full.sqlite3"
        shutil.copy(empty, self.full)
        with using_database(f"sqlite:///{self.full}"):
            add_small_machines()
            _leave_write_ahead_log()

    @contextmanager
    def __call__(self, *, machines: bool = True) -> Iterator[str]:
        path = self.folder / f"{uuid4().hex}.sqlite3"
        shutil.copy(self.full if machines else self.empty, path)
        yield f"sqlite:///{path}"


class PostgresMaker:
    """A maker of databases on a real PostgreSQL."""

    def __init__(self, server: Postgres) -> None:
        self.server = server
        self.full, self.empty = server.new(), server.new()
        with using_database(self.full):
            add_small_machines()

    @contextmanager
    def __call__(self, *, machines: bool = True) -> Iterator[str]:
        name = f"m{uuid4().hex[:12]}"
        template = (self.full if machines else self.empty).partition("@/")[2].partition("?")[0]
        self.server.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
        yield self.server.address(name)
        self.server.execute(f"DROP DATABASE {name} WITH (FORCE)")


def _leave_write_ahead_log() -> None:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
