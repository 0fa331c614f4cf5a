"""Classes played through the web app: opened, joined, begun."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from django.test import Client

from tests.web.drills.playing import moved, problem, sent, text_of
from tripmargin import drills
from tripmargin.records.store.models import (
    PracticeClass,
)

Make = Callable[..., Any]
SEED = 7


def opened(trainer: Any, *rows: tuple[str, str], **more: str) -> PracticeClass:
    """A class, opened by the trainer's form."""
    wanted = rows or (("demo:dunlin", "fault"), ("demo:dunlin", "setting"))
    said = {"name": "Operators, morning", "shows": "names", "seed": str(SEED), "uid": str(uuid4())}
    for k, (machine, kind) in enumerate(wanted, 1):
        said |= {f"machine.{k}": machine, f"kind.{k}": kind}
    answer = trainer.post("/classes/new/", said | more)
    assert answer.status_code == 302, text_of(answer)
    return PracticeClass.objects.get(uid=said["uid"])


def joined(room: PracticeClass, name: str) -> Client:
    """A browser of somebody who joined."""
    phone = Client(HTTP_HOST="localhost")
    door = phone.post("/class/", {"code": room.code.lower()})
    assert door.status_code == 302
    answer = phone.post(door.url, {"name": name, "uid": str(uuid4())})
    assert answer.status_code == 302, text_of(answer)
    return phone


def begun(phone: Client, number: int = 1) -> str:
    """The address of the learner's practice of a drill."""
    answer = phone.post(f"/class/drill/{number}/")
    assert answer.status_code == 302
    return str(answer.url)


def played(phone: Client, number: int, *before: str) -> str:
    """Some moves, then the best route; the page at the end."""
    base = begun(phone, number)
    for move in before:
        moved(phone, base, move)
    page = ""
    for move in drills.drill(problem(), seed=SEED).best.moves:
        page = text_of(moved(phone, base, **sent(move)))
    return page


def hidden() -> drills.Drill:
    return drills.drill(problem(), seed=SEED)
