"""The yard's web app under load: list, machine page and log post at 50 requests a second.

One server process of its own, 100 machines with five years of daily entries (182 500), then a
million. The peer is the same server's sign-in page, which reads nothing, asked for in the same mix;
what the records cost is then seen apart from Django, the network and a busy computer.
"""

from __future__ import annotations

import http.client
import os
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections import defaultdict
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path
from urllib.parse import urlencode, urlsplit
from uuid import uuid4

from common.turns import say, spoken, where

MACHINES, YEARS, A_SECOND, SECONDS = 100, 5, 50, 20
MILLION = 1_000_000
ASKED = 0.100  # s, 95 % of them
PASSWORD = "a-long-enough-one"


def main() -> None:
    folder = tempfile.mkdtemp(prefix="tripmargin-bench-")
    os.environ |= {
        "TRIPMARGIN_HOME": folder,
        "DJANGO_SETTINGS_MODULE": "tripmargin.web.settings",
        "OPENBLAS_NUM_THREADS": "1",
    }
    os.environ.pop("TRIPMARGIN_DATABASE", None)
    print(f"Pages of the yard's web app; {where()}")
    uids, cookie = _fill()
    with _Server() as server:
        _load(server, uids, cookie)
        _weight(server, uids, cookie)
    _fill_up(MILLION)
    with _Server() as server:
        _a_page_of_a_million(server, uids, cookie)


def _fill() -> tuple[list[str], str]:
    """Machines and five years of entries, written at once; who is signed in."""
    from tripmargin.records.opening import open_records

    open_records(settings="tripmargin.web.settings")
    from django.core.management import call_command
    from django.test import Client

    from tripmargin.machine.loading import demo_path
    from tripmargin.records.keeping.machines import add_demo_machine, add_machine, machine_of
    from tripmargin.records.standing.proving_versions import proof_of
    from tripmargin.records.store.models import Machine, Person

    call_command("collectstatic", interactive=False, verbosity=0)
    person = Person.objects.create_user("Ann", PASSWORD, role=4)
    first = add_demo_machine("dunlin", who=person)
    loaded = machine_of(first.versions.get())
    from dataclasses import replace

    for number in range(2, MACHINES + 1):
        named = replace(loaded, machine=replace(loaded.machine, name=f"Dunlin {number}"))
        text = demo_path("dunlin").read_text(encoding="utf-8")
        add_machine(text, named, file_name="dunlin.toml", who=person)
    proof_of(first.versions.get())
    _entries(list(Machine.objects.all()), YEARS * 365)
    client = Client(HTTP_HOST="127.0.0.1")
    client.force_login(person)
    uids = [str(uid) for uid in Machine.objects.values_list("uid", flat=True)]
    return uids, client.cookies["tripmargin_session"].value


def _entries(machines: list[object], days: int) -> None:
    from django.utils import timezone

    from tripmargin.records.standing.refreshing import refresh
    from tripmargin.records.store.models import Entry

    now = timezone.now()
    for machine in machines:
        made = [
            Entry(
                uid=uuid4(), machine=machine, kind="daily check", at=now - timedelta(days=day),
                received_at=now - timedelta(days=day), who_name="Ann", source="import",
                values={"tripped": day % 97 != 0, "reset": True, "hours_s": 3600.0 * (days - day)},
            )
            for day in range(1, days + 1)
        ]  # fmt: skip
        Entry.objects.bulk_create(made, batch_size=2000)
        refresh(machine)


def _fill_up(total: int) -> None:
    from tripmargin.records.store.models import Entry, Machine

    machines = list(Machine.objects.all())
    _entries(machines, (total - Entry.objects.count()) // len(machines) + 1)
    print(f"{Entry.objects.count()} entries")


class _Server:
    """`tripmargin serve` as one process."""

    def __enter__(self) -> str:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        command = [sys.executable, "-m", "tripmargin.cli", "serve", "--port", str(port)]
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
        self.address = f"http://127.0.0.1:{port}"
        for _ in range(300):
            try:
                urllib.request.urlopen(f"{self.address}/sign-in/", timeout=1).read()
                return self.address
            except OSError:
                time.sleep(0.1)
        raise SystemExit("The server did not start: no figures.")

    def __exit__(self, *_: object) -> None:
        self.process.terminate()
        self.process.wait(timeout=30)


_own = threading.local()


def _ask(url: str, cookie: str, form: dict[str, str] | None = None) -> tuple[int, bytes]:
    """One request over the thread's own connection, as a browser keeps one."""
    parts = urlsplit(url)
    if getattr(_own, "port", None) != parts.port:
        _own.connection = http.client.HTTPConnection("127.0.0.1", parts.port, timeout=60)
        _own.port = parts.port
    headers = {"Cookie": cookie, "Accept-Encoding": "gzip"}
    body = None
    if form is not None:
        body = urlencode(form)
        headers |= {"Referer": url, "Content-Type": "application/x-www-form-urlencoded"}
    path = f"{parts.path}?{parts.query}" if parts.query else parts.path
    _own.connection.request("GET" if form is None else "POST", path, body, headers)
    answer = _own.connection.getresponse()
    return answer.status, answer.read()


def _load(server: str, uids: list[str], session: str) -> None:
    """The mix, at a steady pace whatever the answers take (open loop)."""
    cookie = f"tripmargin_session={session}"
    secret = _csrf(server, cookie, uids[0])
    jobs = ("list", "machine page", "log post", "sign-in page (peer)")
    took: dict[str, list[float]] = defaultdict(list)
    wrong: list[str] = []

    def one(number: int, start: float) -> None:
        what, uid = jobs[number % len(jobs)], uids[number % len(uids)]
        with_token = f"{cookie}; tripmargin_csrf={secret[0]}"
        if what == "list":
            status, _ = _ask(f"{server}/", cookie)
        elif what == "machine page":
            status, _ = _ask(f"{server}/machines/{uid}/", cookie)
        elif what == "log post":
            form = {
                "csrfmiddlewaretoken": secret[1], "uid": str(uuid4()), "v.tripped": "yes",
                "v.reset": "yes", "v.lamps": "yes",
            }  # fmt: skip
            url = f"{server}/machines/{uid}/log/new/daily-check/"
            status, _ = _ask(url, with_token, form)
            if status != 302:
                wrong.append(f"{what}: {status}")
        else:
            status, _ = _ask(f"{server}/sign-in/", "")
        took[what].append(time.perf_counter() - start)
        if status not in (200, 302):
            wrong.append(f"{what}: {status}")

    begin = time.perf_counter()
    with ThreadPoolExecutor(24) as pool:
        for number in range(A_SECOND * SECONDS):
            time.sleep(max(0.0, begin + number / A_SECOND - time.perf_counter()))
            pool.submit(one, number, time.perf_counter())
    if wrong:
        raise SystemExit(f"{len(wrong)} answers were wrong, such as {wrong[0]}: no figures.")
    peer = _p95(took[jobs[-1]])
    for what in jobs[:-1]:
        say(
            f"{what}: 95 % of the answers within, over the same of a page that reads nothing",
            _p95(took[what]) / peer,
            f"{spoken(ASKED)} or less",
            f"{spoken(_p95(took[what]))}, median {spoken(statistics.median(took[what]))};"
            f" {A_SECOND} requests a second for {SECONDS} s, {MACHINES * YEARS * 365} entries",
        )


def _csrf(server: str, cookie: str, uid: str) -> tuple[str, str]:
    """The cookie and the form's token that belong together."""
    request = urllib.request.Request(
        f"{server}/machines/{uid}/log/new/daily-check/", headers={"Cookie": cookie}
    )
    with urllib.request.urlopen(request, timeout=30) as answer:
        text = answer.read().decode()
        kept = re.search(r"tripmargin_csrf=(\w+)", answer.headers.get("Set-Cookie", ""))
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', text)
    assert kept is not None
    assert token is not None
    return kept[1], token[1]


def _p95(values: list[float]) -> float:
    return sorted(values)[int(0.95 * len(values))]


def _weight(server: str, uids: list[str], session: str) -> None:
    """What a first load of a machine's page brings, compressed, map and race included."""
    cookie = f"tripmargin_session={session}"
    _, page = _ask(f"{server}/machines/{uids[0]}/", cookie)
    import gzip

    text = (gzip.decompress(page) if page[:2] == b"\x1f\x8b" else page).decode()
    total = len(page)
    for path in set(re.findall(r'(?:src|href)="(/static/[^"]+)"', text)):
        total += len(_ask(f"{server}{path}", cookie)[1])
    total += len(_ask(f"{server}/machines/{uids[0]}/turned/", cookie)[1])
    total += len(_ask(f"{server}/machines/{uids[0]}/because/", cookie)[1])
    say("A machine's page, its first load over 350 kB", total / 350e3, "under 1",
        f"{total / 1e3:.0f} kB compressed, with scripts, map, race and reasons")  # fmt: skip


def _a_page_of_a_million(server: str, uids: list[str], session: str) -> None:
    cookie = f"tripmargin_session={session}"
    before = "2023-01-01T00:00:00+00:00"
    for what, path in (
        ("newest entries", ""), ("filtered by kind", "?kind=daily-check"),
        ("deep in the log", f"?{urlencode({'before': f'{before}_1'})}"),
    ):  # fmt: skip
        times, peers = [], []
        for number in range(15):
            start = time.perf_counter()
            _ask(f"{server}/sign-in/", "")
            middle = time.perf_counter()
            _ask(f"{server}/machines/{uids[number]}/log/{path}", cookie)
            times.append(time.perf_counter() - middle)
            peers.append(middle - start)
        say(f"A page of the log of a million entries, {what}, over a page that reads nothing",
            statistics.median(times) / statistics.median(peers), "150 ms or less",
            f"median {spoken(statistics.median(times))}")  # fmt: skip


if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).parent))
    main()
