"""Every address, tried by every role, by reading and by writing, against `url_table.py`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.urls import get_resolver, reverse

from tests.web.url_table import ANYBODY, URLS
from tripmargin.ground.errors import TripmarginError
from tripmargin.records.keeping.entries import NewEntry, newest_version, write_entry
from tripmargin.records.keeping.invitations import owner_link
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import FaultCase
from tripmargin.web.whats_wrong import keeper

Make = Callable[..., Any]


def patterns(found: Any) -> Iterator[Any]:
    """Every address of the app, whatever it is included by."""
    for each in found:
        if hasattr(each, "url_patterns"):
            yield from patterns(each.url_patterns)
        else:
            yield each


def test_every_address_stands_in_the_table_once() -> None:
    names = [each.name for each in patterns(get_resolver().url_patterns)]
    assert None not in names, "an address has no name"
    assert sorted(names) == sorted(URLS), "think about who may open it, and write it down"


@pytest.fixture
def world(sqlite_records: str, person: Make, monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """A machine with an entry and a case, a person, a link; problems take no time here."""

    def no_problem(machine: Any) -> Any:
        raise TripmarginError("Not worked out in this test.")

    monkeypatch.setattr(PBKDF2PasswordHasher, "iterations", 100)
    monkeypatch.setattr(keeper, "_keeper", lambda: keeper.Keeper(no_problem))
    machine = add_demo_machine("dunlin", who_name="Ann")
    writer = person("role 2", role=2)  # who may log corrects what he entered himself
    entry = write_entry(machine, NewEntry(kind="note", values={"text": "a"}), who=writer).entry
    case = FaultCase.objects.create(
        machine=machine, version=newest_version(machine), begun_by_name="Ann"
    )
    return {
        "machine": machine.uid,
        "entry": entry.uid,
        "case": case.uid,
        "person": person("Somebody", role=2).pk,
        "token": owner_link().token,
        "none": uuid4(),
    }


@pytest.mark.parametrize("method", ["get", "post"])
@pytest.mark.parametrize("role", range(5), ids=["nobody", "look", "log", "set", "own"])
def test_every_role_gets_as_far_as_the_table_says(
    world: dict[str, Any], browser_as: Make, role: int, method: str
) -> None:
    wrong = []
    for name, (reading, writing, parts) in URLS.items():
        needed = reading if method == "get" else writing
        address = reverse(name, kwargs={k: world.get(v, v) for k, v in parts.items()})
        client = browser_as(role, f"role {role}" if role else "")
        answer = getattr(client, method)(address)
        if answer.streaming:
            list(answer.streaming_content)  # a file that is taken along is shut at its end
        expected = what_is_expected(role, needed, reading, writing)
        if (seen := what_is_seen(answer)) not in expected:
            wrong.append(f"{method} {address} ({name}): {seen}, not {' or '.join(expected)}")
    assert wrong == []


def what_is_expected(
    role: int, needed: int | None, reading: int | None, writing: int | None
) -> tuple[str, ...]:
    """What this role is to see; a method that is not offered shuts nobody in or out besides."""
    if needed is None:
        lowest = min(each for each in (reading, writing) if each is not None)
        return ("no such method",) if role >= lowest else ("no such method", "door", "not yours")
    if role >= needed:
        return ("let in",)
    return ("door",) if role == ANYBODY else ("not yours",)


def what_is_seen(answer: Any) -> str:
    """The answer in one word."""
    if answer.status_code >= 500 and answer.status_code != 503:  # 503: come again in a moment
        return f"broken ({answer.status_code})"
    if answer.status_code == 405:
        return "no such method"
    if answer.status_code == 403:
        return "not yours"
    if answer.headers.get("Location", "").startswith("/sign-in/?next="):
        return "door"
    return "let in"
