"""Databases for tests: SQLite and a real PostgreSQL, each test with one of its own."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.reference import lacking

_AS = "nobody"  # initdb refuses root


def set_django_up() -> None:
    """Set Django up for this process, with the web app's settings and a folder of its own."""
    from django.apps import apps

    if not apps.ready:
        folder = tempfile.mkdtemp(prefix="tripmargin-home-")
        os.environ["TRIPMARGIN_HOME"] = folder
        os.environ.pop("TRIPMARGIN_DATABASE", None)
        # Playwright keeps an event loop running in the tests' thread; nothing here is awaited.
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
        os.environ["DJANGO_SETTINGS_MODULE"] = "tripmargin.web.settings"
        import django

        django.setup()
        from django.contrib.auth.hashers import PBKDF2PasswordHasher
        from django.core.management import call_command

        PBKDF2PasswordHasher.iterations = 100  # people by the dozen, and no secret among them

        call_command("collectstatic", interactive=False, verbosity=0)


@contextmanager
def using_database(address: str) -> Iterator[str]:
    """Make this database the default one of the process while it is in use."""
    from django.db import connections

    from tripmargin.records.home import database

    def turn_to(settings: dict[str, object]) -> None:
        connections.close_all()
        connections.databases["default"] = settings
        connections.configure_settings(connections.databases)
        if hasattr(connections._connections, "default"):
            del connections["default"]

    before = connections.databases["default"]
    turn_to(database(address))
    try:
        yield address
    finally:
        turn_to(before)


class Postgres:
    """A PostgreSQL of this process's own, on a socket in a folder of its own."""

    def __init__(self) -> None:
        programs = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
        found = shutil.which("initdb") or (str(programs[-1]) if programs else None)
        if found is None:
            lacking("program initdb (Debian: apt-get install postgresql)")
        self.bin = Path(str(found)).parent
        self.folder = Path(tempfile.mkdtemp(prefix="tripmargin-pg-", dir="/tmp"))
        self.user = {"user": _AS} if os.geteuid() == 0 else {}
        if self.user:
            shutil.chown(self.folder, _AS)
        self.data = self.folder / "data"
        self._run("initdb", "-D", self.data, "-U", "yard", "-A", "trust", "-E", "UTF8", "--no-sync")
        options = f"-k {self.folder} -c listen_addresses= -c fsync=off"
        self._run(
            "pg_ctl", "-D", self.data, "-w", "-o", options, "-l", self.folder / "log", "start"
        )
        self._template: str | None = None

    def _run(self, program: str, *arguments: object) -> None:
        subprocess.run(
            [str(self.bin / program), *map(str, arguments)], check=True, cwd=self.folder,
            stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, **self.user,  # type: ignore[call-overload]
        )  # fmt: skip

    def address(self, name: str) -> str:
        return f"postgresql://yard@/{name}?host={self.folder}"

    def execute(self, statement: str) -> None:
        import psycopg

        with psycopg.connect(self.address("postgres"), autocommit=True) as connection:
            connection.execute(statement)  # type: ignore[arg-type]

    def new(self, *, empty: bool = False) -> str:
        """The address of a fresh database, with our tables unless it is to be empty."""
        name = f"d{uuid.uuid4().hex[:12]}"
        if empty:
            self.execute(f"CREATE DATABASE {name}")
            return self.address(name)
        if self._template is None:
            from tripmargin.records.opening import bring_up_to_date

            self.execute("CREATE DATABASE with_tables")
            with using_database(self.address("with_tables")):
                bring_up_to_date()
            self._template = "with_tables"
        self.execute(f"CREATE DATABASE {name} TEMPLATE {self._template}")
        return self.address(name)

    def stop(self) -> None:
        self._run("pg_ctl", "-D", self.data, "-m", "immediate", "stop")
        shutil.rmtree(self.folder, ignore_errors=True)
