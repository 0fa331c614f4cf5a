"""What the phone's outbox asks of the server, and what it may keep."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from contextlib import closing
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client as DjangoClient
from django.urls import reverse

from tests.web.test_log_forms import address, said
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry, Machine, Person
from tripmargin.web.log.offline import _WORKER

Client = Callable[..., Any]
JSON = {"HTTP_ACCEPT": "application/json"}


@pytest.fixture
def machine(sqlite_records: str) -> Machine:
    return add_demo_machine("whimbrel", who_name="Ann")


def test_a_script_is_answered_in_json(machine: Machine, browser_as: Client) -> None:
    client, sent = browser_as(2), said(v_tripped="yes")
    for _ in range(2):
        answer = client.post(address(machine, "daily-check"), sent, **JSON)
        assert answer.status_code == 200
        assert answer.json() == {
            "kept": f"/machines/{machine.uid}/log/?kept={sent['uid']}#e-{sent['uid']}"
        }
    assert Entry.objects.count() == 1
    answer = client.post(address(machine, "daily-check"), sent | {"v.tripped": "no"}, **JSON)
    assert answer.status_code == 422
    assert answer.json()["see"] == f"/entries/{sent['uid']}/"
    assert answer.json()["uid"] != sent["uid"]


def test_mistakes_are_named_by_their_field(machine: Machine, browser_as: Client) -> None:
    sent = said(v_stop_time_s="3,5", at="x")
    answer = browser_as(2).post(address(machine, "stop-time"), sent, **JSON)
    assert answer.status_code == 422
    assert set(answer.json()["troubles"]) == {"stop_time_s", "at"}
    assert answer.json()["uid"] == sent["uid"]


def test_nothing_is_sent_in_another_persons_name(
    machine: Machine, browser_as: Client, person: Client
) -> None:
    ann = person("Ann", role=2)
    client = browser_as(2, name="Bo")
    sent = said(v_tripped="yes", person=str(ann.pk))
    answer = client.post(address(machine, "daily-check"), sent, **JSON)
    assert (answer.status_code, answer.json()["another"]) == (409, True)
    assert client.post(address(machine, "daily-check"), sent).status_code == 409
    assert not Entry.objects.exists()
    assert browser_as(2, name="Ann").post(address(machine, "daily-check"), sent).status_code == 302
    assert Entry.objects.get().who == ann


def test_who_is_signed_in_and_a_token_that_is_taken(machine: Machine, browser_as: Client) -> None:
    assert browser_as(0).get("/outbox/").json() == {"person": None, "name": "", "token": ""}
    browser_as(2)
    client = DjangoClient(enforce_csrf_checks=True, HTTP_HOST="localhost")
    client.force_login(Person.objects.get(name="role 2"))
    sent = said(v_tripped="yes")
    assert client.post(address(machine, "daily-check"), sent, **JSON).status_code == 403
    told = client.get("/outbox/").json()
    assert told["name"] == "role 2"
    sent["csrfmiddlewaretoken"] = told["token"]
    assert client.post(address(machine, "daily-check"), sent, **JSON).status_code == 200
    assert client.get("/outbox/").headers["Cache-Control"] == "no-store"


def test_the_worker_may_serve_the_whole_site_and_keeps_files_that_are_there(
    browser_as: Client, sqlite_records: str
) -> None:
    answer = browser_as(0).get("/worker.js")
    assert answer.headers["Content-Type"] == "text/javascript"
    assert answer.headers["Cache-Control"] == "no-cache"
    assert "worker-src 'self'" in answer.headers["Content-Security-Policy"]
    kept = json.loads(re.findall(r"const KEPT = (.*);", answer.content.decode())[0])
    for name in kept:
        assert re.search(r"\.[0-9a-f]{12}\.", name), name
        with closing(browser_as(0).get(name)) as file:
            assert file.status_code == 200, name


def test_the_worker_knows_the_addresses_of_the_server(machine: Machine) -> None:
    text = _WORKER.read_text(encoding="utf-8")
    for name in ("sign-in", "sign-out", "offline"):
        assert f'"{reverse(name)}"' in text
    pattern = re.findall(r"const FORM = /(.*)/;", text)[0].replace(r"\/", "/")
    for kind in ("daily-check", "note"):
        assert re.fullmatch(pattern.strip("^$"), reverse("new-entry", args=[machine.uid, kind]))
    for other in (reverse("machine-log", args=[machine.uid]), f"/photos/{uuid4()}/", "/"):
        assert not re.fullmatch(pattern.strip("^$"), other)


def test_the_page_without_a_connection_names_nobody(browser_as: Client) -> None:
    page = browser_as(0).get("/offline/").content.decode()
    assert "What works meanwhile" in page
    assert "csrfmiddlewaretoken" in page  # of the sun mode alone
    assert "Sign out" not in page
