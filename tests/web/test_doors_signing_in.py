"""Signing in, and how guessing is slowed down."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.test import Client

from tripmargin.records.keeping import limits
from tripmargin.records.store.models import AuditLine
from tripmargin.web.doors.signing_in import NO_FIT

RIGHT = "a-long-enough-one"
Make = Callable[..., Any]


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hash passwords fast, the work being no matter here."""
    monkeypatch.setattr(PBKDF2PasswordHasher, "iterations", 100)


@pytest.fixture
def ann(sqlite_records: str, person: Make) -> Any:
    return person("Ann", role=1)


def try_as(name: str, password: str, client: Client | None = None, **more: str) -> Any:
    client = client or Client(HTTP_HOST="localhost")
    return client.post("/sign-in/", {"name": name, "password": password, **more})


def test_a_wrong_password_and_an_unknown_name_get_the_same_answer(ann: Any) -> None:
    answers = []
    for name in ("Ann", "Nob"):
        answer = try_as(name, "not this one")
        assert answer.status_code == 422
        assert NO_FIT in answer.content.decode()
        assert f'value="{name}"' in answer.content.decode()  # what was typed stays
        assert "not this one" not in answer.content.decode()
        answers.append(without_tokens(answer.content.decode().replace(name, "NAME")))
    assert answers[0] == answers[1]


def without_tokens(page: str) -> str:
    return re.sub(r'(csrfmiddlewaretoken" value=|X-CSRFToken": )"[^"]+"', "", page)


def test_an_unknown_name_and_one_switched_off_cost_the_same_work(
    ann: Any, person: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    person("Off", role=1, is_active=False)
    hashed = []
    whole = PBKDF2PasswordHasher.encode
    monkeypatch.setattr(
        PBKDF2PasswordHasher, "encode",
        lambda self, *a, **k: hashed.append(1) or whole(self, *a, **k),
    )  # fmt: skip
    counts = []
    for name in ("Ann", "Nob", "Off"):
        hashed.clear()
        assert try_as(name, "not this one").status_code == 422
        counts.append(len(hashed))
    assert counts == [1, 1, 1]


def test_after_five_tries_one_waits_and_is_told_how_long(ann: Any) -> None:
    for _ in range(5):
        assert try_as("Ann", "not this one").status_code == 422
    answer = try_as("ANN", RIGHT)  # right, and too early: no other answer than a wrong one gets
    assert answer.status_code == 429
    assert "Too many tries. Wait 30 seconds, then try again." in answer.content.decode()
    assert 28 <= int(answer.headers["Retry-After"]) <= 30
    assert try_as("Ann", "not this one").status_code == 429
    limits.forget_tries("Ann")
    assert try_as("Ann", RIGHT).status_code == 302


def test_an_unknown_name_waits_as_a_known_one(ann: Any) -> None:
    codes = [try_as("Nob", "not this one").status_code for _ in range(6)]
    assert codes == [422] * 5 + [429]


def test_the_right_password_clears_the_tries(ann: Any) -> None:
    for _ in range(3):
        for _ in range(4):
            try_as("Ann", "not this one")
        assert try_as("Ann", RIGHT).status_code == 302


def test_signing_in_gives_a_new_session_key_of_fourteen_days(ann: Any) -> None:
    client = Client(HTTP_HOST="localhost")
    session = client.session
    session["before"] = 1
    session.save()
    client.cookies[settings.SESSION_COOKIE_NAME] = session.session_key
    answer = try_as("Ann", RIGHT, client)
    cookie = answer.cookies[settings.SESSION_COOKIE_NAME]
    assert cookie.value != session.session_key
    assert (cookie["max-age"], cookie["samesite"], cookie["httponly"]) == (14 * 86400, "Lax", True)
    old = Client(HTTP_HOST="localhost")
    old.cookies[settings.SESSION_COOKIE_NAME] = session.session_key
    assert old.get("/you/").status_code == 302


def test_signing_in_and_being_refused_leave_a_line_each(ann: Any) -> None:
    try_as("mallory", "not this one")
    try_as("ann", RIGHT)
    said = list(AuditLine.objects.order_by("pk").values_list("what", "about", "address"))
    assert said == [
        ("sign-in refused", "mallory", "127.0.0.1"),
        ("signed in", "Ann", "127.0.0.1"),
    ]
    assert "not this one" not in str(list(AuditLine.objects.values()))


@pytest.mark.parametrize("name", ["", "x" * 5000, "😀", "<script>alert(1)</script>", "a\x00b"])
def test_strange_names_are_answered_beside_the_field_or_as_unknown(ann: Any, name: str) -> None:
    answer = try_as(name, "not this one")
    assert answer.status_code == 422
    assert "<script>alert" not in answer.content.decode()


@pytest.mark.parametrize(
    "wanted",
    ["//elsewhere.example", "https:elsewhere.example", "javascript:alert(1)", "\\\\elsewhere",
     "http:///elsewhere.example", "https://localhost@elsewhere.example/"],
)  # fmt: skip
def test_the_way_on_leads_to_no_other_server(ann: Any, wanted: str) -> None:
    assert try_as("Ann", RIGHT, next=wanted).headers["Location"] == "/"


def test_a_form_from_elsewhere_is_refused(ann: Any) -> None:
    client = Client(enforce_csrf_checks=True, HTTP_HOST="localhost")
    answer = try_as("Ann", RIGHT, client)
    assert answer.status_code == 403
    assert "The form was too old" in answer.content.decode()


def test_the_door_says_when_there_is_no_owner_yet(sqlite_records: str, person: Make) -> None:
    client = Client(HTTP_HOST="localhost")
    assert "has no owner yet" in client.get("/sign-in/").content.decode()
    person("Ann", role=4)
    assert "has no owner yet" not in client.get("/sign-in/").content.decode()
