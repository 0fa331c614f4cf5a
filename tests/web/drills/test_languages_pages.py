"""Pages of drills and of classes, read in a language that marks."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.urls import reverse

from tests.marked_language import unmarked
from tests.web.drills import class_playing
from tests.web.drills.class_playing import joined, opened
from tests.web.drills.playing import begun, moved, problem, sent
from tripmargin import drills
from tripmargin.machine import load_machine
from tripmargin.records.keeping.machines import add_demo_machine

Make = Callable[..., Any]
COOKIE = "tripmargin_language"
# Names of people, machines and a class, units, and what stands in a machine's file.
DATA = {
    "Dunlin", "dunlin", "Curlew", "Whimbrel", "Sanderling", "role 4", "Kim", "tripmargin",
    "English", "Marked", "Operators, morning", "UTC", "CSV", "JSON", "mm", "ms", "min", "ohm",
    "deg", "MB",
}  # fmt: skip
# The code of a class, its address, and points of a circuit by their ids.
IDS = re.compile(r"\b[A-Z0-9]{3}-?[A-Z0-9]{3}\b|http://localhost[\w/-]*|\b[a-zA-Z]\w*(?:\.\w+)+\b")


@pytest.fixture
def client(browser_as: Make, marked: str) -> Any:
    """An owner who reads the marked language."""
    made = browser_as(4)
    made.cookies[COOKIE] = marked
    return made


def left(answer: Any, *more: str, status: int = 200) -> list[str]:
    assert answer.status_code == status, answer.content.decode()[:2000]
    own = answer.content.decode()
    own = own[own.find("<main") :].partition("</main>")[0] if "<main" in own else own
    return unmarked(IDS.sub("", own), DATA | set(more))


def test_the_ways_to_a_drill(client: Any) -> None:
    machine = add_demo_machine("dunlin")
    pages = (
        reverse("practise"), reverse("demo-practise", args=["dunlin"]),
        reverse("machine-practise", args=[machine.uid]), reverse("classes"), reverse("class-new"),
        reverse("class-door"), reverse("machine-how", args=[machine.uid]),
    )  # fmt: skip
    assert {page: found for page in pages if (found := left(client.get(page)))} == {}
    wrong = (
        (reverse("demo-practise", args=["dunlin"]), {"kind": "none", "seed": "many"}),
        (reverse("class-new"), {"name": "", "seed": "many"}),
        (reverse("class-door"), {"code": "none"}),
    )
    for address, said in wrong:
        answer = client.post(address, said)
        assert answer.status_code in (404, 422), address
        assert left(answer, "many", "none", status=answer.status_code) == [], address


def _route(kind: str) -> list[dict[str, str]]:
    if kind == "stop":
        answer = {"move": "answer", "outcome": "missed", "sure": "60"}
        return [answer] * 8
    hidden: Any = (
        drills.setting_drill(load_machine("dunlin"), seed=1)
        if kind == "setting"
        else drills.drill(problem(), seed=7)
    )
    return [sent(move) for move in hidden.best.moves]


@pytest.mark.parametrize("kind", ["fault", "setting", "stop"])
def test_a_drill_from_its_beginning_to_its_end(client: Any, kind: str) -> None:
    practice = begun(client, kind, {"fault": 7, "setting": 1, "stop": 5}[kind])
    base, found = f"/practise/{practice.uid}/", {}
    if kind == "stop":
        from tripmargin.web.drills.questions import questions_on

        assert questions_on(load_machine("dunlin"), 5).done.wait(500)
    found["begun"] = left(client.get(base))
    if kind == "fault":
        found["wiring"] = left(client.get(f"{base}wiring/"))
    page = moved(client, base, "none of these")
    found["no such move"] = left(page, "none of these", status=page.status_code)
    for k, move in enumerate(_route(kind), 1):
        found[f"move {k}"] = left(moved(client, base, **move))
    found["ended"] = left(client.get(base))
    found["practised"] = left(client.get(reverse("practise")))
    assert {what: words for what, words in found.items() if words} == {}


def test_a_class_for_its_trainer_and_for_those_who_learn(client: Any, marked: str) -> None:
    room = opened(client)
    phone = joined(room, "Kim")
    phone.cookies[COOKIE] = marked
    found = {
        "class": left(client.get(reverse("class", args=[room.uid]))),
        "board": left(client.get(reverse("class-board", args=[room.uid]))),
        "classes": left(client.get(reverse("classes"))),
        "room": left(phone.get(reverse("class-room"))),
        "join": left(client.get(reverse("class-join", args=[room.code]))),
    }
    base = class_playing.begun(phone)
    found["practice"] = left(phone.get(base))
    for move in _route("fault"):
        page = moved(phone, base, **move)
    found["ended"] = left(page)
    found["board then"] = left(client.get(reverse("class-board", args=[room.uid])))
    found["room then"] = left(phone.get(reverse("class-room")))
    assert {what: words for what, words in found.items() if words} == {}
