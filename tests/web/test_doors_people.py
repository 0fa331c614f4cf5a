"""The people of the workshop: coming in by a link, roles, being shut out, oneself."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.conf import settings
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from tripmargin.records.keeping.audit import note_change
from tripmargin.records.keeping.invitations import owner_link
from tripmargin.records.store.models import AuditLine, Invitation, Person

RIGHT, NEW = "a-long-enough-one", "three plain words"
Make = Callable[..., Any]


def twice(password: str, **more: str) -> dict[str, str]:
    return {"password": password, "again": password, **more}


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hash passwords fast, the work being no matter here."""
    monkeypatch.setattr(PBKDF2PasswordHasher, "iterations", 100)


def troubles(answer: Any) -> dict[str, str]:
    """Field to what is said beside it."""
    return dict(re.findall(r'id="id_(\w+)_error">([^<]*)<', answer.content.decode()))


@pytest.fixture
def owner(browser_as: Make) -> Any:
    return browser_as(4, "Ann")


@pytest.fixture
def bo(owner: Any, person: Make) -> Any:
    return person("Bo", role=2)


def signed_in(name: str) -> Client:
    client = Client(HTTP_HOST="localhost")
    client.post("/sign-in/", {"name": name, "password": RIGHT})
    assert client.get("/you/").status_code == 200
    return client


def test_the_first_link_makes_the_owner_and_signs_in(sqlite_records: str) -> None:
    client, token = Client(HTTP_HOST="localhost"), owner_link().token
    for _ in range(2):  # a look does not use it up
        page = client.get(f"/join/{token}/").content.decode()
        assert "Your role will be <strong>own</strong>" in page
    answer = client.post(f"/join/{token}/", twice("short", name="Ann"))
    assert answer.status_code == 422
    assert "at least 10" in answer.content.decode()
    assert 'value="Ann"' in answer.content.decode()
    assert client.post(f"/join/{token}/", twice(NEW, name="Ann")).headers["Location"] == "/"
    assert client.get("/people/").status_code == 200
    again = Client(HTTP_HOST="localhost").get(f"/join/{token}/")
    assert again.status_code == 404
    assert "This link is void" in again.content.decode()


def test_passwords_that_differ_are_said_beside_the_field(sqlite_records: str) -> None:
    token = owner_link().token
    said = {"name": "Ann", "password": NEW, "again": NEW + "s"}
    answer = Client(HTTP_HOST="localhost").post(f"/join/{token}/", said)
    assert answer.status_code == 422
    assert troubles(answer) == {"again": "The two are not the same. Type both anew."}
    assert not Person.objects.exists()


def test_a_link_that_was_never_made_looks_as_one_that_was_used(sqlite_records: str) -> None:
    client, used = Client(HTTP_HOST="localhost"), owner_link().token
    client.post(f"/join/{used}/", twice(NEW, name="Ann"))
    client.logout()
    answers = [client.get(f"/join/{token}/") for token in (used, "never-made", "x" * 3000)]
    assert [answer.status_code for answer in answers] == [404] * 3


def test_an_owner_invites_by_a_link_that_is_shown_once(owner: Any) -> None:
    page = owner.get("/people/invite/").content.decode()
    uid = re.search(r'name="uid" value="([^"]+)"', page)
    assert uid is not None
    said = {"role": "2", "uid": uid[1]}
    first, second = (owner.post("/people/invite/", said).content.decode() for _ in range(2))
    links = [re.search(r"http://localhost(/join/[^/]+/)", each) for each in (first, second)]
    assert links[0] is not None
    assert links[1] is not None
    assert links[0][1] == links[1][1]  # sent twice by a bad connection: one link
    assert first.count("<svg") == 1
    assert Invitation.objects.count() == 1
    assert links[0][1] not in owner.get("/people/").content.decode()
    new = Client(HTTP_HOST="localhost")
    assert new.post(links[0][1], twice(NEW, name="Cy")).status_code == 302
    assert Person.objects.get(name="Cy").role == 2


def test_a_link_reaches_phones_though_its_maker_sits_at_the_server(
    owner: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(settings, "YARD_ADDRESS", "http://192.168.4.7:8765")
    page = owner.post("/people/invite/", {"role": "1", "uid": str(uuid4())}).content.decode()
    assert "http://192.168.4.7:8765/join/" in page
    assert "on this computer only" not in page
    monkeypatch.setattr(settings, "YARD_ADDRESS", "")
    page = owner.post("/people/invite/", {"role": "1", "uid": str(uuid4())}).content.decode()
    assert "on this computer only" in page


@pytest.mark.parametrize("role", ["", "5", "0", "-1", "own", "²", "9" * 40])
def test_no_other_role_than_the_four_is_taken(owner: Any, bo: Any, role: str) -> None:
    assert owner.post("/people/invite/", {"role": role}).status_code == 422
    assert owner.post(f"/people/{bo.pk}/role/", {"role": role}).status_code == 422
    bo.refresh_from_db()
    assert bo.role == 2


def test_a_link_taken_back_lets_nobody_in(owner: Any) -> None:
    page = owner.post("/people/invite/", {"role": "3", "uid": str(uuid4())}).content.decode()
    link = re.search(r"http://localhost(/join/[^/]+/)", page)
    assert link is not None
    assert "Take it back" in owner.get("/people/").content.decode()
    owner.post(f"/people/invitations/{Invitation.objects.get().pk}/")
    assert "Take it back" not in owner.get("/people/").content.decode()
    assert Client(HTTP_HOST="localhost").get(link[1]).status_code == 404


def test_a_role_counts_from_the_next_page_on(owner: Any, bo: Any) -> None:
    his = signed_in("Bo")
    assert his.get("/people/").status_code == 403
    owner.post(f"/people/{bo.pk}/role/", {"role": "4"})
    assert his.get("/people/").status_code == 200
    owner.post(f"/people/{bo.pk}/role/", {"role": "1"})
    assert his.get("/people/").status_code == 403


def test_who_is_switched_off_is_out_at_once_and_stays_out(owner: Any, bo: Any) -> None:
    his = signed_in("Bo")
    owner.post(f"/people/{bo.pk}/switch/", {"to": "off"})
    assert his.get("/you/").status_code == 302
    assert his.post("/sign-in/", {"name": "Bo", "password": RIGHT}).status_code == 422
    owner.post(f"/people/{bo.pk}/switch/", {"to": "on"})
    assert his.get("/you/").status_code == 302  # the old session does not come back
    signed_in("Bo")


def test_an_owner_signs_somebody_out_everywhere(owner: Any, bo: Any) -> None:
    phones = [signed_in("Bo") for _ in range(2)]
    owner.post(f"/people/{bo.pk}/sign-out/")
    assert [phone.get("/you/").status_code for phone in phones] == [302, 302]
    assert owner.get("/people/").status_code == 200


def test_a_new_password_by_link_ends_the_sessions(owner: Any, bo: Any) -> None:
    his = signed_in("Bo")
    page = owner.post(f"/people/{bo.pk}/password-link/", {"uid": str(uuid4())}).content.decode()
    link = re.search(r"http://localhost(/join/[^/]+/)", page)
    assert link is not None
    assert his.get("/you/").status_code == 200  # until it is used
    other = Client(HTTP_HOST="localhost")
    assert "A new password for Bo" in other.get(link[1]).content.decode()
    assert other.post(link[1], twice(NEW)).status_code == 302
    assert his.get("/you/").status_code == 302
    assert other.get("/you/").status_code == 200


def test_the_last_owner_is_told_why_not(owner: Any) -> None:
    ann = Person.objects.get(name="Ann")
    for path, said in (("role", {"role": "3"}), ("switch", {"to": "off"})):
        answer = owner.post(f"/people/{ann.pk}/{path}/", said)
        assert answer.status_code == 422
        assert "Ann is the last owner" in answer.content.decode()
    assert owner.get("/people/").status_code == 200


def test_people_who_are_not_there_are_not_found(owner: Any) -> None:
    for pk in (999, 10**25):
        assert owner.get(f"/people/{pk}/").status_code == 404
        assert owner.post(f"/people/{pk}/role/", {"role": "1"}).status_code == 404
        assert owner.post(f"/people/invitations/{pk}/").status_code == 404


def test_ones_own_password_needs_the_old_one_and_ends_other_sessions(
    sqlite_records: str, person: Make
) -> None:
    person("Ann", role=1)
    here, there = signed_in("Ann"), signed_in("Ann")
    wrong = here.post("/you/password/", twice(NEW, old="not this one"))
    assert wrong.status_code == 422
    assert troubles(wrong) == {"old": "This is not your password."}
    weak = here.post("/you/password/", twice("password123", old=RIGHT))
    assert "too common" in weak.content.decode()
    assert there.get("/you/").status_code == 200
    assert here.post("/you/password/", twice(NEW, old=RIGHT)).status_code == 302
    assert here.get("/you/").status_code == 200
    assert there.get("/you/").status_code == 302


def test_guessing_the_old_password_is_slowed_down(browser_as: Make) -> None:
    client = browser_as(1, "Ann")
    for _ in range(5):
        client.post("/you/password/", twice(NEW, old="not this one"))
    answer = client.post("/you/password/", twice(NEW, old=RIGHT))
    assert "Too many tries" in troubles(answer)["old"]
    assert Person.objects.get(name="Ann").check_password(RIGHT)


def test_signing_out_everywhere_ends_all_of_ones_own(sqlite_records: str, person: Make) -> None:
    person("Ann", role=1)
    here, there = signed_in("Ann"), signed_in("Ann")
    assert here.post("/you/sign-out-everywhere/").headers["Location"] == "/sign-in/"
    assert [each.get("/you/").status_code for each in (here, there)] == [302, 302]


def test_units_are_kept(browser_as: Make) -> None:
    client = browser_as(1, "Ann")
    client.post("/you/units/", {"units": "us"})
    assert Person.objects.get(name="Ann").us_units
    client.post("/you/units/", {"units": "metric"})
    assert not Person.objects.get(name="Ann").us_units


def test_the_changes_are_paged_newest_first(owner: Any) -> None:
    for k in range(120):
        note_change("numbered", f"no {k}")
    seen: list[str] = []
    address: str | None = "/people/changes/"
    while address:
        page = owner.get(address).content.decode()
        seen += re.findall(r"no (\d+)", page)
        older = re.search(r'href="(\?before=\d+)"', page)
        address = f"/people/changes/{older[1]}" if older else None
    assert seen == [str(k) for k in reversed(range(120))]
    for strange in ("x", "-1", "9" * 30, "²"):
        assert owner.get("/people/changes/", {"before": strange}).status_code == 200


def test_what_others_typed_is_no_page_of_ours(owner: Any) -> None:
    bad = '<script>alert("x")</script>'
    Client(HTTP_HOST="localhost").post("/sign-in/", {"name": bad, "password": "x"})
    page = owner.get("/people/changes/").content.decode()
    assert "&lt;script&gt;alert" in page
    assert bad not in page
    assert AuditLine.objects.filter(about=bad).exists()


def test_the_list_asks_the_database_as_often_for_many_people(owner: Any, person: Make) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as found:
            owner.get("/people/")
        return len(found)

    few = queries()
    Person.objects.bulk_create(Person(name=f"person {k}") for k in range(30))
    assert queries() == few
