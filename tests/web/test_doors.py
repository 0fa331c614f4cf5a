"""Signing in and out, without a browser."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Client = Callable[..., Any]


def test_nobody_gets_further_than_the_door(browser_as: Client) -> None:
    answer = browser_as(0).get("/due/")
    assert (answer.status_code, answer.headers["Location"]) == (302, "/sign-in/?next=/due/")


def test_the_policy_allows_nothing_inline(browser_as: Client) -> None:
    answer = browser_as(1).get("/")
    assert answer.status_code == 200
    policy = answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert " style=" not in answer.content.decode()
    assert "onclick" not in answer.content.decode()


def test_signing_in_goes_on_to_a_page_of_this_server_only(
    browser_as: Client, person: Callable[..., Any]
) -> None:
    person("Ann", role=1)
    for wanted, got in (("/due/", "/due/"), ("https://elsewhere.example/", "/")):
        said = {"name": "ann", "password": "a-long-enough-one", "next": wanted}
        answer = browser_as(0).post("/sign-in/", said)
        assert (answer.status_code, answer.headers["Location"]) == (302, got)
