"""Two people on one fault-finding case at once, answered by two processes of a server."""

from __future__ import annotations

import os
import re
import threading
from collections.abc import Callable, Iterator
from html import unescape
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest

from tests.databases import using_database
from tests.web.test_serving_process import Server, come_in, start, token_in, wait_for
from tripmargin.records.keeping.case_lines import lines_of
from tripmargin.records.keeping.cases import open_case
from tripmargin.records.keeping.machines import add_demo_machine
from tripmargin.records.store.models import FaultCase, Machine
from tripmargin.web.whats_wrong.keeper import problem_of

__all__ = ["start"]

ROUNDS = 4
BEN = "a-long-enough-one"
SHARED = "postgresql"


@pytest.fixture
def served(
    start: Callable[..., Server], records: str, person: Callable[..., Any]
) -> Iterator[tuple[Server, str]]:
    """A server of two processes, on SQLite and on PostgreSQL; the address of its database."""
    with using_database(records):
        server = start(
            "--workers", "2", "--owner-link",
            TRIPMARGIN_DATABASE=records, TRIPMARGIN_CACHE=os.environ["TRIPMARGIN_CACHE"],
        )  # fmt: skip
        yield server, records


def signed_in(server: Server, name: str) -> dict[str, str]:
    cookies: dict[str, str] = {}
    token = token_in(server.ask("/sign-in/", cookies=cookies).page)
    said = {"name": name, "password": BEN, "csrfmiddlewaretoken": token}
    assert server.ask("/sign-in/", said, cookies=cookies).status == 302
    return cookies


def sent(server: Server, cookies: dict[str, str], path: str, **said: str) -> Any:
    """A form, with the token that belongs to the cookies."""
    token = token_in(server.ask("/you/", cookies=cookies).page)
    return server.ask(
        path, {"uid": str(uuid4()), "csrfmiddlewaretoken": token, **said}, cookies=cookies
    )


def worked(pid: int) -> float:
    """Processor time of a process, s (proc(5), fields 14 and 15)."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def test_two_processes_answer_one_case_and_no_answer_is_lost(
    served: tuple[Server, str], person: Callable[..., Any]
) -> None:
    server, _ = served
    dunlin: Machine = add_demo_machine("dunlin", who_name="Ann")
    reading = problem_of(dunlin.versions.get())
    assert reading.done.wait(300)
    of = reading.problem
    assert of is not None
    person("Ben", role=2)
    cookies = {"Ann": come_in(server), "Ben": signed_in(server, "Ben")}
    began = {pid: worked(pid) for pid in server.children()}

    answer = sent(
        server, cookies["Ann"], f"/machines/{dunlin.uid}/wrong/", complaint="feed stays stopped"
    )
    page = answer.headers["Location"]
    case = FaultCase.objects.get(uid=page.strip("/").rpartition("/")[2])
    busy = dict.fromkeys(began, False)

    def both_know() -> bool:
        """Whether both processes have read the wiring: each asks a processor for it."""
        server.ask(page, cookies=cookies["Ann"])
        server.ask(page, cookies=cookies["Ben"])
        for pid, before in began.items():
            busy[pid] |= worked(pid) - before > 0.3
        return all(busy.values()) and all(
            "Reading the wiring" not in server.ask(page, cookies=cookies["Ben"]).page
            for _ in range(6)
        )

    assert wait_for(both_know, 120), busy
    for turn in range(ROUNDS):
        _one_round(server, cookies, case, of, swapped=turn % 2 == 1)
    said = [(line.entry.kind, line.who) for line in lines_of(FaultCase.objects.get(pk=case.pk))]
    assert len(said) == 1 + 2 * ROUNDS  # the complaint, and both answers of every round
    assert [sum(who == name for _, who in said) for name in cookies] == [1 + ROUNDS, ROUNDS]


def _one_round(
    server: Server, cookies: dict[str, dict[str, str]], case: FaultCase, of: Any, *, swapped: bool
) -> None:
    """Both answer the same card at the same moment, each otherwise."""
    opened = open_case(case, of)
    card = next(each for each in opened.next_checks(10) if each.kind == "look")
    seen = str(opened.entries[-1].n)
    words = [each.word for each in card.answers[:2]]
    if swapped:
        words.reverse()
    gate, came = threading.Barrier(2), {}
    tokens = {
        name: token_in(server.ask("/you/", cookies=own).page) for name, own in cookies.items()
    }

    def send(name: str, word: str) -> None:
        said = {"uid": str(uuid4()), "csrfmiddlewaretoken": tokens[name], "seen": seen,
                "card": card.id, "word": word}  # fmt: skip
        gate.wait(20)
        came[name] = server.ask(f"/cases/{case.uid}/answer/", said, cookies=dict(cookies[name]))

    threads = [
        threading.Thread(target=send, args=pair) for pair in zip(cookies, words, strict=True)
    ]
    for each in threads:
        each.start()
    for each in threads:
        each.join(60)
    assert {answer.status for answer in came.values()} == {302}, came
    places = {name: answer.headers["Location"] for name, answer in came.items()}
    late = [name for name, place in places.items() if "/late/" in place]
    assert len(late) == 1, places  # one counts, one is told that it came too late
    [first] = set(cookies) - set(late)
    told = unescape(server.ask(places[late[0]], cookies=cookies[late[0]]).page)
    assert "answered this card otherwise" in told
    assert first in told
    news = server.ask(f"/cases/{case.uid}/news/?seen={seen}", cookies=cookies[late[0]]).page
    assert re.search(rf"{first} entered something|You entered something", news), news
    counted = open_case(case, of).entries
    assert [each["word"] for each in counted if each.n > int(seen) and each.kind == "finding"] == [
        words[list(cookies).index(first)]
    ]
