"""What every answer carries, and that no text of a person becomes markup in one."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from html.parser import HTMLParser
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from tripmargin.machine.loading import demo_path
from tripmargin.records.keeping.invitations import owner_link
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Entry, FaultCase, Machine, Photo
from tripmargin.web.doors import people
from tripmargin.web.doors.headers import POLICY

Make = Callable[..., Any]
MARK = "qx7"
EVIL = f"'\"><{MARK} onload={MARK}()></title></script></textarea></style>{{{{ {MARK} }}}}"


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(PBKDF2PasswordHasher, "iterations", 100)


def photo() -> SimpleUploadedFile:
    made = io.BytesIO()
    Image.new("RGB", (40, 30), "white").save(made, "PNG")
    return SimpleUploadedFile(f"{EVIL}.png", made.getvalue())


class Markup(HTMLParser):
    """Looks for what a text of ours has become in a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if MARK in tag or any(MARK in name for name in names):
            self.found.append(f"<{tag} {attrs}>")
        own = ("onclick", "onload", "onerror", "style", "hx-on", "hx-vals")
        self.found += [f"<{tag} {name}>" for name in names if name in own or name[:2] == "on"]
        for name, value in attrs:
            leads = name in ("href", "src", "action", "xlink:href") and tag != "img"
            if leads and re.match(r"\s*(javascript|data|vbscript):", value or "", re.IGNORECASE):
                self.found.append(f"<{tag} {name}={value}>")


def markup_in(answer: Any) -> list[str]:
    reading = Markup()
    reading.feed(answer.content.decode())
    return reading.found


def test_no_text_of_a_person_becomes_markup(browser_as: Make, person: Make) -> None:
    person(f"<{MARK}>")
    client = browser_as(4, f"<{MARK} onload=x>")
    text = demo_path("dunlin").read_text(encoding="utf-8")
    add_demo_machine("dunlin", who_name=f"<{MARK}>")
    name = EVIL.replace('"', '\\"')[:90]
    text = (
        text.replace('"Dunlin"', f'"{name}"')
        + f"""
[[chain.pawls]]
name = "<{MARK}>"
clearance = "3 mm"
"""
    )
    text = text.replace('"QF-0311"', f'"<{MARK}>"\ndescription = "{name}"')
    added = client.post("/machines/add/", {"text": text, "note": EVIL})
    assert added.status_code == 302
    machine = Machine.objects.get(name__contains=MARK)
    page = f"/machines/{machine.uid}/"
    sent = {"v.text": EVIL, "note": EVIL, "uid": uuid4(), "photos": photo()}
    assert client.post(f"{page}log/new/note/", sent).status_code == 302
    entry = Entry.objects.get()
    case = FaultCase.objects.create(
        machine=machine, version=machine.versions.get(), begun_by_name=f"<{MARK}>"
    )
    sheet = SimpleUploadedFile(f"{EVIL}.toml", b"[machine]\nname = 'x'\n")
    assert client.post("/type-sheets/", {"file": sheet}).status_code == 302
    bad = {
        "v.text": "",
        "note": EVIL * 200,
        "at": EVIL,
        "zone": EVIL,
        f"v.{EVIL}": EVIL,
        "uid": EVIL,
    }
    start = {"units": "metric", "sheet": "", "pawls": "lower, upper", "machine.name": EVIL}
    answers = {
        **{
            address: client.get(address)
            for address in (
                "/", "/due/", "/fleet/", "/people/", "/people/changes/", "/you/", "/type-sheets/",
                "/machines/add/", page, f"{page}turned/", f"{page}because/", f"{page}reach/",
                f"{page}feed/?play=1", f"{page}file/", f"{page}compare/?before=1&after=1",
                f"{page}log/", f"{page}drift/", f"{page}wrong/", f"{page}log/new/adjustment/",
                f"{page}log/new/note/", f"/entries/{entry.uid}/", f"/entries/{entry.uid}/correct/",
                f"/entries/{entry.uid}/withdraw/", f"/cases/{case.uid}/", "/sign-in/",
                f"{page}log/?kept={EVIL}", f"/sign-in/?next=/{EVIL}", f"/nothing/{EVIL}",
                f"{page}turned/?piece={EVIL}&cut={EVIL}&suppression={EVIL}",
            )
        },
        "htmx": client.get(f"{page}turned/", {"piece": EVIL}, HTTP_HX_REQUEST="true"),
        "note": client.post(f"{page}log/new/note/", bad),
        "file": client.post("/machines/add/", {"text": EVIL, "note": EVIL}),
        "sheet": client.post("/type-sheets/", {"file": SimpleUploadedFile(EVIL, EVIL.encode())}),
        "guided": client.post("/machines/add/questions/", {"units": EVIL, "pawls": EVIL}),
        "questions": client.post("/machines/add/questions/file/", start | {"chain.supply": EVIL}),
        "photo": client.post(
            f"{page}log/new/note/",
            {"v.text": "a", "uid": uuid4(), "photos": SimpleUploadedFile(f"{EVIL}.png", b"<svg>")},
        ),
        "role": client.post(f"/people/{people.Person.objects.first().pk}/role/", {"role": EVIL}),
    }  # fmt: skip
    for address, answer in answers.items():
        assert answer.status_code in (200, 404, 422), (address, answer.status_code)
        assert markup_in(answer) == [], address
    assert sum(MARK in answer.content.decode() for answer in answers.values()) > 20


def test_the_check_for_markup_can_fail() -> None:
    from django.http import HttpResponse

    for text in (EVIL, f"<p on{MARK}=1>", "<a href=' javascript:x'>", "<svg onload=x>"):
        assert markup_in(HttpResponse(text)), text


def test_every_kind_of_answer_carries_the_policy(
    browser_as: Make, monkeypatch: pytest.MonkeyPatch
) -> None:
    owner, nobody = browser_as(4), browser_as(0)
    owner.raise_request_exception = False
    machine = add_demo_machine("dunlin", who_name="Ann")
    page = f"/machines/{machine.uid}/"
    sent = {"v.text": "a", "uid": uuid4(), "photos": photo()}
    owner.post(f"{page}log/new/note/", sent)
    held = Client(enforce_csrf_checks=True, HTTP_HOST="localhost")

    def broken(*_: Any, **__: Any) -> Any:
        raise RuntimeError("quernstone")

    kinds = {
        "page": (owner.get("/"), 200),
        "door": (nobody.get("/"), 302),
        "join": (nobody.get(f"/join/{owner_link().token}/"), 200),
        "void link": (nobody.get("/join/x/"), 404),
        "not there": (owner.get("/nothing/"), 404),
        "no such method": (owner.get("/sign-out/"), 405),
        "another name": (owner.get("/", HTTP_HOST="other.example"), 400),
        "forged": (held.post("/sign-in/", {"name": "a", "password": "b"}), 403),
        "not yours": (browser_as(1).get("/people/"), 403),
        "mistake": (owner.post("/machines/add/", {"note": "a"}), 422),
        "file": (owner.get(f"{page}file/1/"), 200),
        "too large": (owner.post("/sun/", {}, CONTENT_LENGTH=str(10**9)), 413),
        "part": (owner.get(f"{page}turned/", HTTP_HX_REQUEST="true"), 200),
        "door for a part": (nobody.get(f"{page}turned/", HTTP_HX_REQUEST="true"), 204),
        "data": (owner.get("/outbox/"), 200),
        "worker": (owner.get("/worker.js"), 200),
    }
    monkeypatch.setattr(people, "open_invitations", broken)
    kinds["broken"] = (owner.get("/people/"), 500)
    for kind, (answer, status) in kinds.items():
        assert answer.status_code == status, kind
        assert answer.headers["Content-Security-Policy"] == POLICY, kind
        assert answer.headers["X-Content-Type-Options"] == "nosniff", kind
        assert answer.headers["X-Frame-Options"] == "DENY", kind
        assert answer.headers["Referrer-Policy"] == "same-origin", kind
        assert answer.headers["Cache-Control"] in ("no-store", "no-cache"), kind
    assert b"quernstone" not in kinds["broken"][0].content
    assert b"Traceback" not in kinds["broken"][0].content
    shown = owner.get(f"/photos/{Photo.objects.get().uid}/")
    assert shown.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert shown.headers["Content-Type"] == "image/png"
    assert shown.headers["Cache-Control"] == "no-store"


def test_every_form_needs_its_token(person: Make, sqlite_records: str) -> None:
    """Whatever the address: no view is exempt."""
    from django.urls import get_resolver

    from tests.web.test_roles import patterns

    exempt = [
        each.name
        for each in patterns(get_resolver().url_patterns)
        if getattr(each.callback, "csrf_exempt", False)
    ]
    assert exempt == []
    client = Client(enforce_csrf_checks=True, HTTP_HOST="localhost")
    client.force_login(person("Ann"))
    machine = add_demo_machine("dunlin", who_name="Ann")
    for address in ("/sun/", "/sign-out/", "/people/invite/", f"/machines/{machine.uid}/put-away/"):
        assert client.post(address).status_code == 403, address
    assert client.get("/").status_code == 200


def test_cookies_are_out_of_reach_and_the_key_changes_at_signing_in(
    person: Make, sqlite_records: str
) -> None:
    person("Ann")
    client = Client(HTTP_HOST="localhost")
    client.post("/you/units/", {"units": "us"})  # kept for later: a session of nobody's
    before = client.cookies["tripmargin_session"].value
    client.post("/sign-in/", {"name": "Ann", "password": "a-long-enough-one"})
    cookie = client.cookies["tripmargin_session"]
    assert before != cookie.value
    assert cookie["httponly"] is True
    assert cookie["samesite"] == "Lax"
    stranger = Client(HTTP_HOST="localhost")
    stranger.cookies["tripmargin_session"] = before
    assert stranger.get("/").status_code == 302
