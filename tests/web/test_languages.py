"""Pages in another language: chosen, asked for, and whole."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse

from tripmargin.records.keeping.invitations import invite

Make = Callable[..., Any]


def test_the_browsers_own_language_is_spoken_where_it_is_known(browser_as: Make, marked: str):
    client = browser_as(1)
    page = client.get("/", headers={"accept-language": f"fr, {marked}-AT;q=0.8, en;q=0.5"})
    assert page.headers["Content-Language"] == marked
    assert f'<html lang="{marked}"' in page.content.decode()
    assert "Accept-Language" in page.headers["Vary"]
    plain = client.get("/", headers={"accept-language": "fr, it;q=0.8"})
    assert plain.headers["Content-Language"] == "en"


def test_the_language_chosen_at_the_foot_stays(browser_as: Make, marked: str):
    client = browser_as(1)
    answer = client.post("/language/", {"language": marked, "next": "/due/"})
    assert answer.headers["Location"] == "/due/"
    assert client.get("/due/").headers["Content-Language"] == marked
    client.post("/language/", {"language": "en"})
    assert client.get("/due/", headers={"accept-language": marked}).headers[
        "Content-Language"
    ] == "en"  # fmt: skip


@pytest.mark.parametrize("sent", ["xx", "", "../../etc", "zz\n", "d/e", "<script>"])
def test_a_language_that_is_not_known_is_not_taken(browser_as: Make, marked: str, sent: str):
    client = browser_as(1)
    answer = client.post("/language/", {"language": sent, "next": "https://elsewhere.invalid/"})
    assert answer.headers["Location"] == reverse("machines")
    assert "tripmargin_language" not in answer.cookies
    client.cookies["tripmargin_language"] = "xx"
    assert client.get("/").headers["Content-Language"] == "en"


def test_the_door_follows_the_browser_and_can_be_asked_for_another_language(browser_as: Make):
    client = browser_as(0)
    door = client.get("/sign-in/", headers={"accept-language": "de-DE, de;q=0.9"})
    assert "<h1>Anmelden</h1>" in door.content.decode()
    # Whoever reads only German finds it above the boxes, under the name that it has for itself.
    page = client.get("/sign-in/?next=/due/", headers={"accept-language": "en"}).content.decode()
    assert page.index(">Deutsch</button>") < page.index("<h1>Sign in</h1>")
    answer = client.post("/language/", {"language": "de", "next": "/sign-in/?next=/due/"})
    again = client.get(answer.headers["Location"], headers={"accept-language": "en"})
    assert "<h1>Anmelden</h1>" in again.content.decode()
    refused = client.post("/sign-in/", {"name": "", "password": ""})
    assert refused.content.decode().count("Wird gebraucht.") == 2


def test_a_link_that_lets_somebody_in_offers_the_languages_too(browser_as: Make, person: Make):
    link = invite(role=2, by=person("Ann"), uid=uuid4()).token
    page = browser_as(0).get(reverse("join", args=[link])).content.decode()
    assert page.index(">Deutsch</button>") < page.index("<h1>")


def test_the_language_is_chosen_on_ones_own_page(browser_as: Make):
    client = browser_as(1)
    page = client.get("/you/").content.decode()
    section = page.partition('id="language"')[2].partition("<h2")[0]
    assert section.count("<button") == 2
    assert 'value="en" lang="en" aria-current="true"' in section
    client.post("/language/", {"language": "de", "next": "/you/"})
    assert '<h2 id="language">Sprache</h2>' in client.get("/you/").content.decode()


def test_a_choice_made_where_a_form_was_refused_comes_back_to_the_forms_page(browser_as: Make):
    client = browser_as(1)
    old = {"old": "", "password": "", "again": ""}
    sent = client.post("/you/password/", old, headers={"referer": "http://localhost/you/?a=1"})
    assert sent.status_code == 422
    assert 'name="next" value="/you/?a=1"' in sent.content.decode()
    for elsewhere in ("", "http://elsewhere.invalid/you/", "http://localhost"):
        sent = client.post("/you/password/", old, headers={"referer": elsewhere})
        assert 'name="next" value="/"' in sent.content.decode()
