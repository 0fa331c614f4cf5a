"""Fixtures of the records and of the web app; their conftest files take them in."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.databases import Postgres, set_django_up, using_database

set_django_up()


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """A real PostgreSQL; skip loudly where there is none, fail under CI=true."""
    server = Postgres()
    yield server
    server.stop()


@pytest.fixture(scope="session")
def sqlite_with_tables(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file with our tables and nothing in them, to be copied."""
    from tripmargin.records.opening import bring_up_to_date

    path = tmp_path_factory.mktemp("records") / "empty.sqlite3"
    with using_database(f"sqlite:///{path}"):
        bring_up_to_date()
    return path


@pytest.fixture(params=["sqlite", "postgresql"])
def records(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """Fresh records, once on SQLite and once on a real PostgreSQL; the address of the database."""
    if request.param == "postgresql":
        address = request.getfixturevalue("postgres").new()
    else:
        address = _copied(request.getfixturevalue("sqlite_with_tables"), tmp_path)
    with using_database(address):
        yield address


@pytest.fixture
def sqlite_records(sqlite_with_tables: Path, tmp_path: Path) -> Iterator[str]:
    """Fresh records on SQLite, for what does not hang on the database."""
    with using_database(_copied(sqlite_with_tables, tmp_path)) as address:
        yield address


def _copied(empty: Path, folder: Path) -> str:
    path = folder / "records.sqlite3"
    shutil.copy(empty, path)
    return f"sqlite:///{path}"


@pytest.fixture
def person() -> Callable[..., Any]:
    """Make a person: `person("Ann", role=3)`; the password is "a-long-enough-one"."""
    from tripmargin.records.store.models import Person

    def make(name: str = "Ann", role: int = 4, **more: Any) -> Any:
        return Person.objects.create_user(name, "a-long-enough-one", role=role, **more)

    return make


@pytest.fixture
def browser_as(sqlite_records: str, person: Callable[..., Any]) -> Callable[..., Any]:
    """A client without a browser, signed in with a role: `browser_as(2).get("/")`; 0: nobody."""
    from django.test import Client

    from tripmargin.records.store.models import Person

    def make(role: int = 4, name: str = "") -> Any:
        client = Client(enforce_csrf_checks=False, HTTP_HOST="localhost")
        if role:
            called = name or f"role {role}"
            found = Person.objects.filter(name=called).first()
            client.force_login(found or person(called, role=role))
        return client

    return make
