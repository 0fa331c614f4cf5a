"""Every page of doors, machines, standing and what is wrong, read in a language that marks."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from html import unescape
from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse

from tests.marked_language import unmarked
from tripmargin.faultfinding import HAND_OVER
from tripmargin.records.keeping.cases import By, begin_case
from tripmargin.records.keeping.entries import NewEntry, newest_version, write_entry
from tripmargin.records.keeping.invitations import invite
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import Machine, Person, TypeSheet
from tripmargin.web.whats_wrong.keeper import problem_of

Make = Callable[..., Any]
LANGUAGE = "tripmargin_language"

# What is data on these pages: names, units, and what stands in a machine's file.
UNITS = {"mm", "ms", "min", "ohm", "deg", "rpm", "rev/s", "UTC", "MB"}
NAMES = {"tripmargin", "trip", "margin", "English", "Marked", "role 4", "Kim"}
MACHINES = {"Dunlin", "Curlew", "Whimbrel", "Sanderling"}


@pytest.fixture
def reader(browser_as: Make, person: Make, marked: str) -> Any:
    """An owner who reads the marked language, among a machine, its log and somebody else."""
    client = browser_as(4)
    client.cookies[LANGUAGE] = marked
    owner = Person.objects.get(name="role 4")
    person("Kim", role=2)
    machine = add_demo_machine("dunlin", who=owner)
    for kind, values in (
        ("daily check", {"tripped": True, "reset": True}),
        ("stop time", {"stop_time_s": 0.071}),
        ("note", {"text": "Kim"}),
    ):
        write_entry(machine, NewEntry(kind=kind, values=values), who=owner)
    return client


def left_on(client: Any, address: str, data: set[str]) -> list[str]:
    """What stands on a page that no catalogue was asked for."""
    answer = client.get(address)
    assert answer.status_code == 200, (address, answer.status_code)
    return left_in(answer, data)


def left_in(answer: Any, data: set[str]) -> list[str]:
    """The same of a page that was answered."""
    return unmarked(answer.content.decode(), UNITS | NAMES | MACHINES | data)


def test_pages_of_the_yard_say_all_through_catalogues(reader: Any):
    pages = (
        "machines", "machines-away", "machine-add", "machine-guided", "type-sheets", "due",
        "fleet", "you", "people", "changes", "invite",
    )  # fmt: skip
    sheets = {sheet.name for sheet in TypeSheet.objects.all()}
    left = {page: left_on(reader, reverse(page), sheets) for page in pages}
    assert {page: found for page, found in left.items() if found} == {}


def test_pages_of_a_machine_say_all_through_catalogues(reader: Any):
    pages = (
        "machine", "machine-turned", "machine-because", "machine-reach", "machine-piece-reach",
        "machine-feed", "machine-keep", "machine-file", "machine-drift", "machine-wrong",
    )  # fmt: skip
    machine = Machine.objects.get()
    sheets = {sheet.name for sheet in TypeSheet.objects.all()}
    left = {page: left_on(reader, reverse(page, args=[machine.uid]), sheets) for page in pages}
    assert {page: found for page, found in left.items() if found} == {}


def test_forms_with_a_mistake_say_it_through_catalogues(reader: Any):
    machine = Machine.objects.get()
    data = {"machine.toml", "chain.supply", *(sheet.name for sheet in TypeSheet.objects.all())}
    kim = Person.objects.get(name="Kim")
    forms: dict[str, tuple[str, list[Any], dict[str, str]]] = {
        "a role that is none": ("invite", [], {"role": "9"}),
        "neither on nor off": ("person-switch", [kim.pk], {"to": "?"}),
        "no password": ("you-password", [], {"old": "", "password": "a", "again": "b"}),
        "no file": ("machine-add", [], {"note": "Kim"}),
        "no machine file": ("machine-add", [], {"text": "x = ["}),
        "another machine's": ("machine-file", [machine.uid], {"text": _OTHER}),
        "no sheet": ("type-sheets", [], {"note": "Kim"}),
        "too many pawls": ("machine-guided", [], {"units": "us", "pawls": "a,b,c,d,e,f,g,h,i"}),
        "no answer why": ("machine-keep", [machine.uid], {"turned": "chain.supply=11"}),
        "nobody's link": ("join", ["none"], {}),
        "no such page": ("machine", [uuid4()], {}),
    }
    left = {}
    for what, (name, args, sent) in forms.items():
        address = reverse(name, args=args)
        gets = name in ("join", "machine")
        answer = reader.get(address) if gets else reader.post(address, sent)
        assert answer.status_code in (404, 422), (what, answer.status_code)
        if found := left_in(answer, data):
            left[what] = found
    assert left == {}


_OTHER = '[machine]\nname = "Curlew"\n'


def test_people_and_their_links_say_all_through_catalogues(reader: Any, marked: str):
    owner, kim = Person.objects.get(name="role 4"), Person.objects.get(name="Kim")
    token = {"localhost", "http", "join", "serve", "lan"}
    link = reader.post(reverse("invite"), {"role": "2", "uid": str(uuid4())})
    left = {
        "link": left_in(link, {_address_in(link)} | token),
        "person": left_on(reader, reverse("person", args=[kim.pk]), set()),
        "people": left_on(reader, reverse("people"), set()),
        "changes": left_on(reader, reverse("changes"), set()),
    }
    new = invite(role=4, by=owner, uid=uuid4())
    left["join"] = left_on(reader, reverse("join", args=[new.token]), set())
    assert {page: found for page, found in left.items() if found} == {}


def _address_in(answer: Any) -> str:
    text = answer.content.decode()
    return str(text.partition('class="address">')[2].partition("<")[0])


def test_questions_about_a_machine_say_all_through_catalogues(reader: Any):
    machine, left = Machine.objects.get(), {}
    questions = reader.get(reverse("machine-questions", args=[machine.uid]), follow=True)
    # What the file says stands in the boxes, and beside them as it is written there.
    written = set(_in_file(machine))
    left["questions"] = left_in(questions, written)
    name = {"field": "feed.slip"}
    about = {"about": str(machine.uid), "units": "metric", "pawls": "lower, upper"}
    sheet = {"sheet": reader.session["guided_machine"]["sheet"]}
    for typed in ("4 % +- 1 %", "lots"):
        address = f"{reverse('machine-guided-check')}?field={name['field']}"
        answer = reader.post(address, {**about, **sheet, "feed.slip": typed})
        left[typed] = left_in(answer, {"lots"})
    sent = {**about, **sheet, "feed.slip": "4 % +- 1 %"}
    changes = reader.post(reverse("machine-guided-file"), sent, follow=True)
    left["changes"] = left_in(changes, written | {"feed.slip"})
    assert {page: found for page, found in left.items() if found} == {}


def _in_file(machine: Machine) -> Iterator[str]:
    version = newest_version(machine)
    assert version is not None
    for line in version.text.splitlines():
        yield from line.split('"')[1::2]


def test_a_case_says_all_through_catalogues(reader: Any):
    machine, owner, left = Machine.objects.get(), Person.objects.get(name="role 4"), {}
    version = newest_version(machine)
    assert version is not None
    case = begin_case(version, "", by=By(owner, uid=uuid4()))
    problem_of(version).done.wait(200)
    address = reverse("case", args=[case.uid])
    left["begun"] = left_on(reader, address, set())
    page = reader.get(address).content.decode()
    card, word = (re.search(rf'name="{box}" value="([^"]+)"', page) for box in ("card", "word"))
    assert card is not None
    assert word is not None
    sent = {"uid": str(uuid4()), "card": unescape(card[1]), "word": unescape(word[1])}
    reader.post(reverse("case-answer", args=[case.uid]), {**sent, "seen": "0"})
    left["answered"] = left_on(reader, address, set())
    reader.post(reverse("case-undo", args=[case.uid]), {"uid": str(uuid4()), "n": "1"})
    left["taken back"] = left_on(reader, address, set())
    over = {"uid": str(uuid4()), "seen": "9", "card": HAND_OVER, "why": "Kim"}
    reader.post(reverse("case-answer", args=[case.uid]), over)
    left["handed over"] = left_on(reader, address, set())
    left["all cases"] = left_on(reader, reverse("machine-wrong", args=[machine.uid]), set())
    assert {page: found for page, found in left.items() if found} == {}
