"""People, their links and the limits on them, on SQLite and on PostgreSQL."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.db import IntegrityError, connection, transaction
from django.utils import timezone

from tripmargin.records.keeping import invitations, limits, people
from tripmargin.records.keeping.invitations import LinkError, accept, invite, owner_link
from tripmargin.records.keeping.people import LastOwnerError, PersonError, cleaned_name
from tripmargin.records.store.models import AuditLine, Invitation, Person, Role, SignInAttempt

GOOD = "three plain words"
Make = Callable[..., Person]


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Hash passwords fast, the work being no matter here."""
    monkeypatch.setattr(PBKDF2PasswordHasher, "iterations", 100)


@pytest.fixture
def owner(records: str, person: Make) -> Person:
    return person("Ann", role=4)


def side_by_side(*works: Callable[[], Any]) -> list[Any]:
    """What each gives, or its error, when all begin at the same moment."""
    together, got = threading.Barrier(len(works)), [None] * len(works)

    def run(place: int, work: Callable[[], Any]) -> None:
        together.wait()
        try:
            got[place] = work()
        except Exception as error:
            got[place] = error  # type: ignore[call-overload]
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=each) for each in enumerate(works)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    return got


def test_the_first_link_makes_an_owner_once(records: str) -> None:
    assert not people.has_owner()
    link = owner_link()
    made = accept(link.token, name=" Ann  Miller ", password=GOOD, address="192.0.2.1")
    assert (made.name, made.role, made.check_password(GOOD)) == ("Ann Miller", Role.OWN, True)
    assert people.has_owner()
    with pytest.raises(LinkError, match="was used"):
        accept(link.token, name="Bo", password=GOOD)
    assert Person.objects.count() == 1


def test_only_a_hash_of_a_link_is_kept(records: str) -> None:
    link = owner_link()
    kept = Invitation.objects.get()
    assert kept.token_hash == hashlib.sha256(link.token.encode()).hexdigest()
    # OWASP ASVS asks 128 bits of a token (from memory); 43 letters of base64 hold 256
    assert len(link.token) >= 43
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM records_invitation")
        assert link.token not in str(cursor.fetchall())


def test_a_newer_owners_link_voids_the_older(records: str) -> None:
    older, newer = owner_link(), owner_link()
    with pytest.raises(LinkError):
        accept(older.token, name="Ann", password=GOOD)
    assert accept(newer.token, name="Ann", password=GOOD).role == Role.OWN


def test_a_link_is_void_after_its_time(records: str) -> None:
    link = owner_link()
    Invitation.objects.update(expires_at=timezone.now() - timedelta(seconds=1))
    with pytest.raises(LinkError):
        accept(link.token, name="Ann", password=GOOD)
    assert not Person.objects.exists()


def test_two_who_use_a_link_at_once_make_one_person(records: str) -> None:
    token = owner_link().token
    got = side_by_side(
        *(lambda n=name: accept(token, name=n, password=GOOD) for name in ("Ann", "Bo", "Cy", "Di"))
    )
    assert sum(isinstance(each, Person) for each in got) == 1
    assert sum(isinstance(each, LinkError) for each in got) == 3
    assert Person.objects.count() == 1


def test_what_is_wrong_leaves_the_link_good_and_says_each_field(owner: Person) -> None:
    token = invite(role=2, by=owner, uid=uuid4()).token
    with pytest.raises(PersonError) as caught:
        accept(token, name="ANN", password="short")
    assert set(caught.value.wrong) == {"name", "password"}
    assert "There is a “ANN” already" in str(caught.value)
    assert "at least 10" in str(caught.value)
    assert accept(token, name="Bo", password=GOOD).role == Role.LOG


@pytest.mark.parametrize(
    ("password", "said"),
    [
        ("password123", "too common"),
        ("8415306912", "entirely numeric"),
        ("annmillerann", "similar to the name"),
        ("x" * 201, "at most 200"),
    ],
)
def test_a_password_that_can_be_guessed_is_refused(
    sqlite_records: str, password: str, said: str
) -> None:
    with pytest.raises(PersonError, match=said):
        accept(owner_link().token, name="annmiller", password=password)


@pytest.mark.parametrize(
    "name",
    [
        "", "   ", "a\x00b", "An\u202en", "x" * 61, "\u200d", "\ufe0f",
        "An\u200dn", "Ann\u200d", "An\u200bn", "An\u2060n", "\ufeffAnn", "Ann\u3164", "\u2800Ann",
        "Ann\ufe0f", "An\u034fn", "An\ue000n", "\U0001f477\u200d", "Ann\U000e0101",
    ],
)  # fmt: skip
def test_names_that_nobody_could_type_again_are_refused(name: str) -> None:
    with pytest.raises(PersonError):
        cleaned_name(name)


@pytest.mark.parametrize(
    "name", ["Jörg", "Åsa Öström", "\U0001f477\u200d\u2642\ufe0f", "Иван", "Νίκος"]
)
def test_names_of_any_one_script_are_taken(name: str) -> None:
    assert cleaned_name(name) == name


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("\u0410nn", "Latin and Cyrillic"),  # the capital is Cyrillic
        ("B\u03bf", "Latin and Greek"),  # an omicron
        ("Ann \u0418\u0432\u0430\u043d", "Latin and Cyrillic"),
        ("\u0391\u0418", "Greek and Cyrillic"),
    ],
)
def test_a_name_that_could_be_taken_for_another_is_refused(
    sqlite_records: str, name: str, said: str
) -> None:
    with pytest.raises(PersonError, match=said):
        accept(owner_link().token, name=name, password=GOOD)


@pytest.mark.parametrize(
    ("name", "again"),
    [("Ann", "aNN"), ("Jörg", "JÖRG"), ("Jörg", "jo\u0308rg"), ("Straße", "STRASSE"),
     ("Øyvind", "ØYVIND"), ("ΝΊΚΟΣ", "Νίκος"), ("Ann", "\uff21nn")],
)  # fmt: skip
def test_a_name_in_other_capitals_is_the_same_person_on_both_databases(
    records: str, person: Make, name: str, again: str
) -> None:
    first = person(name, role=4)
    assert people.name_taken(again)
    with pytest.raises(IntegrityError), transaction.atomic():
        person(again)
    with pytest.raises(PersonError, match="already"):
        accept(owner_link().token, name=again, password=GOOD)
    assert Person.objects.get_by_natural_key(again) == first


def test_a_dotless_i_is_somebody_else(records: str, person: Make) -> None:
    mike, other = person("Mike"), person("M\u0131ke")
    assert Person.objects.get_by_natural_key("MIKE") == mike
    assert Person.objects.get_by_natural_key("m\u0131ke") == other


def test_a_form_sent_twice_makes_one_link(owner: Person) -> None:
    uid = uuid4()
    first, second = (invite(role=2, by=owner, uid=uid) for _ in range(2))
    assert (first.token, first.invitation) == (second.token, second.invitation)
    assert Invitation.objects.count() == 1
    assert invite(role=2, by=owner, uid=uuid4()).token != first.token
    accept(first.token, name="Bo", password=GOOD)
    with pytest.raises(LinkError):
        invite(role=2, by=owner, uid=uid)


def test_a_link_for_a_new_password_keeps_role_and_name(owner: Person, person: Make) -> None:
    bo = person("Bo", role=2)
    older = invite(role=bo.role, by=owner, person=bo, uid=uuid4())
    newer = invite(role=bo.role, by=owner, person=bo, uid=uuid4())
    before = bo.get_session_auth_hash()
    with pytest.raises(LinkError):
        accept(older.token, password=GOOD)
    same = accept(newer.token, name="Mallory", password=GOOD)
    assert (same.pk, same.name, same.role) == (bo.pk, "Bo", 2)
    assert same.get_session_auth_hash() != before  # all sessions end


def test_the_last_owner_stays_one(owner: Person, person: Make) -> None:
    person("Bo", role=3)
    person("Cy", role=4, is_active=False)  # switched off: no owner to count on
    with pytest.raises(LastOwnerError, match="Ann is the last owner"):
        people.change_role(owner, Role.SET, by=owner)
    with pytest.raises(LastOwnerError):
        people.switch_off(owner, by=owner)
    owner.refresh_from_db()
    assert owner.may(Role.OWN)


def test_two_owners_who_demote_each_other_at_once_leave_one(owner: Person, person: Make) -> None:
    other = person("Bo", role=4)
    got = side_by_side(
        lambda: people.change_role(owner, Role.LOOK, by=other),
        lambda: people.switch_off(other, by=owner),
    )
    assert sorted(type(each).__name__ for each in got) == ["LastOwnerError", "NoneType"]
    assert Person.objects.filter(role=4, is_active=True).count() == 1


def test_who_is_switched_off_has_no_link_left(owner: Person, person: Make) -> None:
    bo = person("Bo", role=4)
    made_by_him = invite(role=4, by=bo, uid=uuid4())
    for_him = invite(role=4, by=owner, person=bo, uid=uuid4())
    people.switch_off(bo, by=owner)
    for link in (made_by_him, for_him):
        with pytest.raises(LinkError):
            accept(link.token, name="Cy", password=GOOD)


def test_links_of_a_former_owner_are_void(owner: Person, person: Make) -> None:
    bo = person("Bo", role=4)
    link = invite(role=4, by=bo, uid=uuid4())
    people.change_role(bo, Role.SET, by=owner)
    with pytest.raises(LinkError):
        accept(link.token, name="Cy", password=GOOD)


def test_every_change_leaves_a_line(owner: Person, person: Make) -> None:
    bo = person("Bo", role=1)
    at = "192.0.2.7"
    people.change_role(bo, Role.LOG, by=owner, address=at)
    people.change_role(bo, Role.LOG, by=owner, address=at)  # as it is: no line
    people.switch_off(bo, by=owner, address=at)
    people.switch_on(bo, by=owner, address=at)
    people.end_sessions(bo, by=owner, address=at)
    people.change_password(bo, GOOD, by=bo, address=at)
    link = invite(role=1, by=owner, uid=uuid4(), address=at)
    invitations.take_back(link.invitation, by=owner, address=at)
    said = list(AuditLine.objects.order_by("pk").values_list("what", "about", "who_name"))
    assert said == [
        ("role changed", "Bo", "Ann"),
        ("switched off", "Bo", "Ann"),
        ("switched on", "Bo", "Ann"),
        ("signed out everywhere", "Bo", "Ann"),
        ("password changed", "Bo", "Bo"),
        ("invited", "", "Ann"),
        ("invitation taken back", "", "Ann"),
    ]
    assert set(AuditLine.objects.values_list("address", flat=True)) == {at}
    assert AuditLine.objects.first().detail == {"before": "look", "after": "log"}


def test_tries_wait_longer_and_longer_by_name(records: str) -> None:
    for k in range(5):
        assert limits.try_to_sign_in("Ann", f"192.0.2.{k}") is None
    wait = limits.try_to_sign_in(" aNN", "192.0.2.9")
    assert wait is not None
    assert timedelta(seconds=29) < wait <= timedelta(seconds=30)
    assert SignInAttempt.objects.count() == 5  # one that waits is not counted
    assert limits.try_to_sign_in("Bo", "192.0.2.9") is None
    back(timedelta(seconds=31))
    assert limits.try_to_sign_in("Ann", "192.0.2.9") is None
    again = limits.try_to_sign_in("Ann", "192.0.2.9")
    assert again is not None
    assert timedelta(seconds=59) < again <= timedelta(seconds=60)
    limits.forget_tries("Ann")
    assert limits.try_to_sign_in("Ann", "192.0.2.9") is None


def test_tries_wait_by_address_whatever_the_name(records: str) -> None:
    for k in range(20):
        assert limits.try_to_sign_in(f"name {k}", "192.0.2.1") is None
    assert limits.try_to_sign_in("another", "192.0.2.1") is not None
    assert limits.try_to_sign_in("another", "192.0.2.2") is None


def test_nobody_waits_longer_than_a_quarter_of_an_hour(sqlite_records: str) -> None:
    now = timezone.now()
    SignInAttempt.objects.bulk_create(
        SignInAttempt(name="ann", address="192.0.2.1", at=now) for _ in range(40)
    )
    wait = limits.try_to_sign_in("ann", "192.0.2.1")
    assert wait is not None
    assert wait <= timedelta(minutes=15)
    back(timedelta(hours=1, seconds=1))
    assert limits.try_to_sign_in("ann", "192.0.2.1") is None


def test_many_tries_at_once_are_counted_as_well(records: str) -> None:
    got = side_by_side(*[lambda: limits.try_to_sign_in("Ann", "192.0.2.1")] * 12)
    assert [each for each in got if isinstance(each, Exception)] == []
    assert got.count(None) == 5


def test_turns_are_counted_by_person_and_by_what(records: str) -> None:
    def turn(by: str = "person 1", what: str = "upload") -> timedelta | None:
        return limits.take_turn(what, by, times=3, within=timedelta(minutes=10))

    assert [turn() for _ in range(3)] == [None] * 3
    wait = turn()
    assert wait is not None
    assert timedelta(minutes=9) < wait <= timedelta(minutes=10)
    assert turn(by="person 2") is None
    assert turn(what="another") is None
    from tripmargin.records.store.models import LimitedAct

    LimitedAct.objects.update(at=timezone.now() - timedelta(minutes=10, seconds=1))
    assert turn() is None


def back(by: timedelta) -> None:
    """Move every try that much into the past."""
    for each in SignInAttempt.objects.all():
        SignInAttempt.objects.filter(pk=each.pk).update(at=each.at - by)
