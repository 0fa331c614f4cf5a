"""A full disk, or another writer that does not let go: said in words, and nothing lost."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.db import OperationalError, connection

from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry

Client = Callable[..., Any]


def note(machine: Any) -> tuple[str, dict[str, str]]:
    path = f"/machines/{machine.uid}/log/new/note/"
    return path, {"uid": str(uuid4()), "v.text": "typed " * 300}


def test_a_full_disk_is_said_and_the_same_entry_goes_in_once_there_is_room(
    browser_as: Client,
) -> None:
    client, (path, said) = browser_as(2), note(add_demo_machine("dunlin"))
    with connection.cursor() as cursor:  # SQLite itself refuses to grow: its own word for full
        cursor.execute("PRAGMA page_count")
        cursor.execute(f"PRAGMA max_page_count = {cursor.fetchone()[0]}")
    answers = [client.post(path, said | {"uid": str(uuid4())}) for _ in range(20)]
    full = [one for one in answers if one.status_code == 503]
    assert full
    assert {one.status_code for one in answers} <= {302, 503}
    assert "The disk is full: make room on it" in full[0].content.decode()
    assert "Nothing was saved" in full[0].content.decode()
    assert Entry.objects.count() == len(answers) - len(full)
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA max_page_count = 1000000")
    assert client.post(path, said).status_code == 302
    assert Entry.objects.filter(uid=said["uid"]).count() == 1


def test_a_lock_that_is_not_let_go_is_said(
    browser_as: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    client, (path, said) = browser_as(2), note(add_demo_machine("dunlin"))

    def locked(*_: Any, **__: Any) -> None:
        raise OperationalError("database is locked")

    with monkeypatch.context() as patch:
        patch.setattr("tripmargin.records.keeping.entries.newest_version", locked)
        answer = client.post(path, said)
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "30")
    assert "Another program writes" in answer.content.decode()
    assert client.post(path, said).status_code == 302
