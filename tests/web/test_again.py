"""A form sent after the session had ended is not lost."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry

Client = Callable[..., Any]
TYPED = {"uid": "", "v.text": "  <b>seen</b> a loose nut \nunder the sieve", "note": ""}


def sent_too_late(browser_as: Client) -> tuple[Any, str]:
    machine = add_demo_machine("dunlin")
    path = f"/machines/{machine.uid}/log/new/note/"
    client = browser_as(0)
    answer = client.post(path, TYPED)
    assert (answer.status_code, answer.headers["Location"]) == (302, "/sign-in/?next=/again/")
    return client, path


def test_what_was_typed_is_shown_after_signing_in_and_sent_once_asked_for(
    browser_as: Client, person: Callable[..., Any]
) -> None:
    client, path = sent_too_late(browser_as)
    assert not Entry.objects.exists()
    person("Ann", role=2)
    said = {"name": "Ann", "password": "a-long-enough-one", "next": "/again/"}
    assert client.post("/sign-in/", said).headers["Location"] == "/again/"
    page = client.get("/again/").content.decode()
    assert f'action="{path}"' in page
    assert "&lt;b&gt;seen&lt;/b&gt; a loose nut" in page
    assert (
        client.post(path, TYPED | {"uid": "0b7a4f0e-5a5f-4c6e-9d8a-6a8f6f1f2b11"}).status_code
        == 302
    )
    assert Entry.objects.get().values["text"].startswith("<b>seen</b>")
    assert client.get("/again/").status_code == 302


def test_it_can_be_thrown_away_and_no_password_is_kept(
    browser_as: Client, person: Callable[..., Any]
) -> None:
    client, _ = sent_too_late(browser_as)
    typed = {"old": "secret one", "password": "secret two", "again": "secret two"}
    answer = client.post("/you/password/", typed)
    assert answer.headers["Location"] == "/sign-in/?next=/"
    assert "secret" not in str(dict(client.session))
    assert "a loose nut" in str(dict(client.session))  # what was kept before is not lost for that
    person("Ann", role=2)
    client.post("/sign-in/", {"name": "Ann", "password": "a-long-enough-one"})
    client.post("/again/")
    assert client.get("/again/").status_code == 302
    assert "typed" not in client.session
