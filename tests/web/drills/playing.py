"""Drills played through the web app, by lists of moves."""

from __future__ import annotations

import re
from html import unescape
from typing import Any
from uuid import uuid4

from tripmargin.faultfinding import MachineProblem
from tripmargin.machine import load_machine
from tripmargin.records.store.models import Practice
from tripmargin.web.whats_wrong.keeper import problem_on

SEED = 7  # on the dunlin: X1, "Nothing lights and nothing moves."


def problem(name: str = "dunlin") -> MachineProblem:
    """A demo machine's problem; read once in this process, for the keeper remembers it."""
    reading = problem_on(load_machine(name))
    assert reading.done.wait(300)
    assert reading.problem is not None
    return reading.problem


def begun(client: Any, kind: str = "fault", seed: int = SEED, on: str = "dunlin") -> Practice:
    """A practice, begun from the page of an invented machine."""
    said = {"kind": kind, "seed": str(seed), "uid": str(uuid4())}
    answer = client.post(f"/practise/on/{on}/", said)
    assert answer.status_code == 302, answer.content.decode()
    return Practice.objects.get(uid=said["uid"])


def text_of(answer: Any) -> str:
    """A page's text."""
    return unescape(answer.content.decode())


def seen_on(page: str) -> str:
    """How many moves there were when a page was made."""
    found = re.search(r'name="seen" value="(\d+)"', page)
    assert found is not None
    return found[1]


def moved(client: Any, base: str, move: str, **more: str) -> Any:
    """A move, as the newest page sends it; the answer of the page behind it."""
    page = text_of(client.get(base))
    said = {"move": move, "uid": str(uuid4()), "seen": seen_on(page), **more}
    return client.post(f"{base}move/", said, follow=True)


def sent(move: Any) -> dict[str, str]:
    """What the page's form sends for a move of a route."""
    pawl, _, number = move.what.rpartition(" ")
    if move.do == "turn":
        way = "close" if number.startswith("-") else "open"
        return {"move": f"{way}:{pawl}", f"turns.{pawl}": number.lstrip("-")}
    if move.do == "place":
        return {"move": f"place:{pawl}", f"gap.{pawl}": f"{float(number) * 1e3!r} mm"}
    return {"move": f"{move.do}:{move.what}" if move.what else move.do}
