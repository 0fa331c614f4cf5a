"""How often, how much, and under which name."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client, RequestFactory

from tripmargin.web.doors.limits import LARGEST_REQUEST, in_words, limited
from tripmargin.web.doors.roles import LOG, needs

Make = Callable[..., Any]


@needs(LOG)
@limited("upload", times=3, within=timedelta(minutes=10))
def upload(request: Any) -> HttpResponse:
    return HttpResponse("taken")


@pytest.fixture
def send(sqlite_records: str, person: Make) -> Callable[..., Any]:
    people = {name: person(name, role=2) for name in ("Ann", "Bo")}

    def one(name: str, method: str = "POST") -> Any:
        request = RequestFactory().generic(method, "/somewhere/", HTTP_HOST="localhost")
        request.user = people[name]
        return upload(request)

    return one


def test_uploads_are_counted_by_person_and_only_when_they_write(send: Callable[..., Any]) -> None:
    assert [send("Ann").status_code for _ in range(3)] == [200] * 3
    answer = send("Ann")
    assert answer.status_code == 429
    assert 590 <= int(answer.headers["Retry-After"]) <= 600
    assert "Nothing was saved: 3 times in 10 minutes" in answer.content.decode()
    assert send("Ann", "GET").status_code == 200
    assert send("Bo").status_code == 200


def test_a_limited_view_still_says_which_role_it_needs() -> None:
    assert upload.role == LOG  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (0, "1 second"),
        (0.2, "1 second"),
        (119.5, "2 minutes"),
        (121, "3 minutes"),
        (900, "15 minutes"),
    ],
)
def test_how_long_is_said_in_one_unit_and_never_too_short(seconds: float, said: str) -> None:
    assert in_words(timedelta(seconds=seconds)) == said


def test_too_large_a_request_is_refused_with_a_page(browser_as: Make) -> None:
    client = browser_as(1)
    answer = client.post("/you/units/", {"units": "us", "more": "x" * LARGEST_REQUEST})
    assert answer.status_code == 413
    assert "at most 50 MB" in answer.content.decode()
    answer = client.post("/you/units/", {"units": "us", "more": "x" * 2_100_000})
    assert answer.status_code == 413
    assert "more than 2 MB of text" in answer.content.decode()


def test_too_many_fields_are_refused_with_a_page(browser_as: Make) -> None:
    answer = browser_as(1).post("/you/units/", {f"field{k}": "x" for k in range(600)})
    assert answer.status_code == 400
    assert "At most 500 are taken" in answer.content.decode()


@pytest.mark.parametrize(
    "host",
    ["evil.example", "localhost:80@evil.example", "localhost evil", "", "127.0.0.1.evil.example"],
)
@pytest.mark.parametrize("path", ["/sign-in/", "/nowhere/"])
def test_a_foreign_host_is_refused(sqlite_records: str, host: str, path: str) -> None:
    answer = Client().get(path, HTTP_HOST=host, SERVER_NAME="evil.example")
    assert answer.status_code == 400
    assert "Not under this name" in answer.content.decode()
    assert "evil" not in answer.content.decode()


def test_every_answer_carries_the_headers(browser_as: Make) -> None:
    client = browser_as(1)
    for path in ("/", "/nowhere/", "/people/"):
        headers = client.get(path).headers
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["X-Frame-Options"] == "DENY"
        assert headers["Cache-Control"] == "no-store"
        assert headers["Referrer-Policy"] == "same-origin"
        assert "frame-ancestors 'none'" in headers["Content-Security-Policy"]
