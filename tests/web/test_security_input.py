"""What somebody may send on purpose: each gets an answer with words, never a broken page."""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import Any

import pytest
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from tripmargin.machine.loading import demo_path, load_machine
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Machine, Person
from tripmargin.web.whats_wrong.keeper import Keeper

Make = Callable[..., Any]
ODD = (
    "\0",
    "nan",
    "inf",
    "1e999",
    "-1",
    "9" * 30,
    "१२",
    "³",
    "9" * 5000,
    "<script>alert(1)</script>",
)


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(PBKDF2PasswordHasher, "iterations", 100)


@pytest.fixture
def owner(records: str, person: Make) -> Client:
    client = Client(HTTP_HOST="localhost", raise_request_exception=False)
    client.force_login(person("Ann"))
    return client


def test_odd_texts_in_every_address_and_form_break_nothing(owner: Client) -> None:
    machine = add_demo_machine("dunlin", who_name="Ann")
    page, me, broken = f"/machines/{machine.uid}/", Person.objects.get().pk, []
    start = {"units": "metric", "sheet": "", "pawls": "lower, upper"}

    def tried(method: str, address: str, said: dict[str, str]) -> None:
        answer = getattr(owner, method)(address, said)
        if answer.status_code >= 500:
            broken.append((method, address, said))

    for odd in ODD:
        for key in ("cut", "chain.supply", "piece", "suppression"):
            tried("get", f"{page}turned/", {key: odd})
        tried("get", f"{page}compare/", {"before": odd, "after": odd})
        tried("get", f"{page}log/", {"before": odd, "kept": odd})
        tried("get", f"{page}log/", {"before": f"2020-01-01T00:00:00+00:00~{odd}"})
        tried("get", "/people/changes/", {"before": odd})
        tried("get", "/sign-in/", {"next": odd})
        tried("post", "/sign-in/", {"name": odd, "password": odd, "next": odd})
        tried("post", "/sun/", {"next": odd})
        tried("post", f"{page}log/new/note/", {"v.text": odd, "at": odd, "zone": odd, "uid": odd})
        tried("post", f"{page}log/new/note/", {"v.text": odd, f"v.{odd[:99]}": odd, "note": odd})
        tried("post", f"{page}log/new/hours/", {"v.hours_s": odd, "clock": odd})
        tried("post", f"{page}wrong/", {"complaint": odd, "uid": odd})
        tried("post", f"/people/{me}/role/", {"role": odd})
        tried("post", f"/people/{me}/switch/", {"to": odd})
        tried("post", "/people/invite/", {"role": odd, "uid": odd})
        tried("post", "/machines/add/", {"text": odd, "note": odd})
        tried("post", f"{page}file/", {"text": odd, "note": odd})
        tried("post", "/machines/add/questions/", {"units": odd, "sheet": odd, "pawls": odd})
        tried("post", "/machines/add/questions/file/", {**start, "machine.name": odd})
        tried("post", "/machines/add/questions/add/", {"uid": odd, "seen": odd})
    for number in (0, 2**31, 2**63, 10**30):
        tried("get", f"/people/{number}/", {})
        tried("get", f"{page}file/{number}/", {})
        tried("post", f"/people/invitations/{number}/", {})
    tried("get", "/type-sheets/%00/", {})
    tried("get", "/join/%00/", {})
    assert broken == []


def test_after_signing_in_nobody_is_led_to_another_server_nor_to_a_page_of_no_name(
    owner: Client,
) -> None:
    elsewhere = (
        "https://other.example/", "//other.example", "\\\\other.example", "/\\other.example",
        "javascript:alert(1)", "http:/other.example", "nan", "people", " //other.example",
    )  # fmt: skip
    for wanted in elsewhere:
        answer = owner.post("/sun/", {"next": wanted})
        assert (answer.status_code, answer.headers["Location"]) == (302, "/"), wanted
    assert owner.post("/sun/", {"next": "/due/?x=1"}).headers["Location"] == "/due/?x=1"


def too_many(what: str) -> str:
    own = demo_path("dunlin").read_text(encoding="utf-8").replace('"Dunlin"', '"Heron"')
    if what == "feed.cut_lengths":
        cuts = ", ".join(f'"{4 + k / 40} mm"' for k in range(1000))
        return own.replace("[feed]\n", f"[feed]\ncut_lengths = [{cuts}]\n")
    return own + "".join(f'\n[[chain.pawls]]\nname = "p{k}"\n' for k in range(1000))


@pytest.mark.parametrize("what", ["feed.cut_lengths", "chain.pawls"])
def test_a_machine_that_would_keep_the_others_waiting_is_refused(
    browser_as: Make, what: str
) -> None:
    client = browser_as(3)
    add_demo_machine("dunlin", who_name="Ann")
    file = SimpleUploadedFile("mine.toml", too_many(what).encode())
    answer = client.post("/machines/add/", {"file": file, "note": "typed note"})
    said = answer.content.decode()
    assert answer.status_code == 422
    assert "too many for a server that others use" in said
    assert what in said
    assert "typed note" in said
    assert Machine.objects.count() == 1


@pytest.mark.parametrize("field", ["name", "description"])
def test_a_text_that_no_page_has_room_for_is_refused(browser_as: Make, field: str) -> None:
    """A name of 8000 letters took a picture two minutes to break into lines."""
    add_demo_machine("dunlin", who_name="Ann")
    text = demo_path("dunlin").read_text(encoding="utf-8").replace('name = "Dunlin"', "")
    text = text.replace("[machine]", f"[machine]\n{field} = '{'x' * 100_000}'")
    answer = browser_as(3).post("/machines/add/", {"text": text, "note": "typed note"})
    assert answer.status_code == 422
    assert "100000 letters" in answer.content.decode()
    assert Machine.objects.count() == 1


def test_a_form_with_a_password_is_not_kept_for_later(browser_as: Make, person: Make) -> None:
    person("Ann")
    client = browser_as(0)
    typed = {"old": "a-long-enough-one", "password": "quernstones-9", "again": "quernstones-9"}
    answer = client.post("/you/password/", typed)
    assert answer.status_code == 302
    assert not any(text in str(dict(client.session)) for text in typed.values())
    client.post("/sign-in/", {"name": "Ann", "password": "a-long-enough-one"})
    assert client.get("/again/").status_code == 302


def test_nobody_fills_the_disk_with_forms_for_later(browser_as: Make) -> None:
    from django.contrib.sessions.models import Session

    machine = add_demo_machine("dunlin", who_name="Ann")
    for _ in range(70):
        answer = browser_as(0).post(f"/machines/{machine.uid}/log/new/note/", {"v.text": "a"})
        assert answer.headers["Location"].startswith("/sign-in/?next=")
    assert Session.objects.count() == 60


def test_another_spelling_of_a_name_is_no_way_round_the_waiting(records: str, person: Make) -> None:
    """PostgreSQL finds Mike as M, dotless i, k, e too: the tries must be his."""
    person("Mike")
    client = Client(HTTP_HOST="localhost")
    names = ("Mike", "MIKE", "M\u0131ke", "\uff2dike", " mike ", "MiKe")
    for place, name in enumerate(names):
        said = {"name": name, "password": f"wrong {place}"}
        answer = client.post("/sign-in/", said, REMOTE_ADDR=f"192.168.4.{place}")
        assert answer.status_code == (422 if place < 5 else 429), name


def test_a_header_that_says_where_one_comes_from_is_no_way_round_the_waiting(
    sqlite_records: str,
) -> None:
    client = Client(HTTP_HOST="localhost")
    for place in range(21):
        answer = client.post(
            "/sign-in/", {"name": f"Somebody {place}", "password": "wrong"},
            HTTP_X_FORWARDED_FOR=f"192.168.4.{place}", HTTP_FORWARDED=f"for=192.168.4.{place}",
        )  # fmt: skip
        assert answer.status_code == (422 if place < 20 else 429)


def test_whoever_opens_every_machines_page_fills_no_memory() -> None:
    """A problem takes some 70 MB: those that are done go, though nobody asks any more."""
    machines = [load_machine(name) for name in ("dunlin", "curlew", "whimbrel", "sanderling")]
    may_go_on = threading.Event()

    def read(machine: Any) -> Any:
        may_go_on.wait(10)
        return object()

    keeper = Keeper(read, most=1)
    readings = [keeper.ask(machine) for machine in machines]  # all of them before the first is done
    may_go_on.set()
    assert all(reading.done.wait(10) for reading in readings)
    assert all(reading.problem is not None for reading in readings)  # whoever waits has it
    assert len(keeper._known) == 1


def test_a_name_too_long_for_a_page_is_refused_and_not_cut(browser_as: Make) -> None:
    client = browser_as(3)
    answer = client.post("/machines/add/", {"text": f"[machine]\nname = '{'x' * 101}'\n"})
    assert answer.status_code == 422
    assert "at most 100" in answer.content.decode()
    assert (
        client.post("/machines/add/", {"text": f"[machine]\nname = '{'x' * 100}'\n"}).status_code
        == 302
    )
