"""A yard to measure: machines with years of entries, a server of its own, and somebody who asks."""

from __future__ import annotations

import http.client
import os
import re
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlencode, urlsplit
from uuid import uuid4


@dataclass(frozen=True)
class Yard:
    """The machines' ids, and the cookie of somebody who is signed in."""

    uids: list[str]
    cookie: str


def made_yard(machines: int, days: int) -> Yard:
    """Records in a fresh folder, this process's own: machines of one type, an entry a day each."""
    os.environ |= {
        "TRIPMARGIN_HOME": tempfile.mkdtemp(prefix="tripmargin-bench-"),
        "DJANGO_SETTINGS_MODULE": "tripmargin.web.settings",
    }
    os.environ.pop("TRIPMARGIN_DATABASE", None)
    from tripmargin.records.opening import open_records

    open_records(settings="tripmargin.web.settings")
    from django.core.management import call_command
    from django.test import Client

    from tripmargin.machine.loading import demo_path
    from tripmargin.records.keeping.machines import (
        add_demo_machine,
        add_machine,
        read_machine_file,
    )
    from tripmargin.records.standing.proving_versions import proof_of
    from tripmargin.records.store.models import Machine, Person

    call_command("collectstatic", interactive=False, verbosity=0)
    person = Person.objects.create_user("Ann", "a-long-enough-one", role=4)
    first = add_demo_machine("dunlin", who=person)
    for number in range(2, machines + 1):
        text = demo_path("dunlin").read_text(encoding="utf-8")
        text = text.replace('"Dunlin"', f'"Dunlin {number}"')
        add_machine(*read_machine_file(text.encode(), "dunlin.toml"), who=person)
    proof_of(first.versions.get())
    enter(days)
    client = Client(HTTP_HOST="127.0.0.1")
    client.force_login(person)
    uids = [str(uid) for uid in Machine.objects.values_list("uid", flat=True)]
    return Yard(uids, f"tripmargin_session={client.cookies['tripmargin_session'].value}")


def enter(days: int) -> int:
    """A daily check each day before now, of each machine; how many entries there are then."""
    from django.db import connections
    from django.utils import timezone

    from tripmargin.records.standing.refreshing import refresh
    from tripmargin.records.store.models import Entry, Machine

    now = timezone.now()
    for machine in Machine.objects.all():
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
    count = int(Entry.objects.count())
    # What the filling left to be written is not the server's to write: the log goes into the file.
    connections.close_all()
    if hasattr(os, "sync"):
        os.sync()
    return count


def ends_of(uid: str) -> tuple[datetime, datetime]:
    """When a machine's log begins and ends."""
    from django.db.models import Max, Min

    from tripmargin.records.store.models import Entry

    found = Entry.objects.filter(machine__uid=uid).aggregate(first=Min("at"), last=Max("at"))
    return found["first"], found["last"]


class Server:
    """`tripmargin serve` as one process."""

    def __enter__(self) -> Server:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        command = [sys.executable, "-m", "tripmargin.cli", "serve", "--port", str(port)]
        self.process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
        self.address = f"http://127.0.0.1:{port}"
        for _ in range(300):
            try:
                urllib.request.urlopen(f"{self.address}/sign-in/", timeout=1).read()
                return self
            except OSError:
                time.sleep(0.1)
        raise SystemExit("The server did not start: no figures.")

    def __exit__(self, *_: object) -> None:
        self.process.terminate()
        self.process.wait(timeout=30)

    def worked(self) -> float | None:
        """Processor time that it has used so far, s; None where the system does not say."""
        stat = Path(f"/proc/{self.process.pid}/stat")
        if not stat.exists():
            return None
        fields = stat.read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


_own = threading.local()


def ask(url: str, cookie: str, form: dict[str, str] | None = None, *, expect: int = 200) -> bytes:
    """One request over the thread's own connection, as a browser keeps one.

    Raises
    ------
    SystemExit
        If the answer is another than expected: there are no figures then.
    """
    parts = urlsplit(url)
    if getattr(_own, "port", None) != parts.port:
        _own.connection = http.client.HTTPConnection("127.0.0.1", parts.port or 80, timeout=60)
        _own.port = parts.port
    headers = {"Cookie": cookie, "Accept-Encoding": "gzip"}
    body = None
    if form is not None:
        body = urlencode(form)
        headers |= {"Referer": url, "Content-Type": "application/x-www-form-urlencoded"}
    path = f"{parts.path}?{parts.query}" if parts.query else parts.path
    _own.connection.request("GET" if form is None else "POST", path, body, headers)
    answer = _own.connection.getresponse()
    content: bytes = answer.read()
    if answer.status != expect:
        raise SystemExit(f"{path}: answered {answer.status}, not {expect}: no figures.")
    return content


@dataclass(frozen=True)
class Forms:
    """What a form needs to be taken: the cookie and the token that belong together."""

    server: str
    cookie: str
    token: str

    def post(self, uid: str) -> Any:
        """A daily check of a machine."""
        form = {
            "csrfmiddlewaretoken": self.token, "uid": str(uuid4()), "v.tripped": "yes",
            "v.reset": "yes", "v.lamps": "yes",
        }  # fmt: skip
        url = f"{self.server}/machines/{uid}/log/new/daily-check/"
        return ask(url, self.cookie, form, expect=302)


def forms_of(server: str, yard: Yard) -> Forms:
    """Look at a form once, as a browser does."""
    request = urllib.request.Request(
        f"{server}/machines/{yard.uids[0]}/log/new/daily-check/", headers={"Cookie": yard.cookie}
    )
    with urllib.request.urlopen(request, timeout=30) as answer:
        text = answer.read().decode()
        kept = re.search(r"tripmargin_csrf=(\w+)", answer.headers.get("Set-Cookie", ""))
    token = re.search(r'name="csrfmiddlewaretoken" value="(\w+)"', text)
    assert kept is not None
    assert token is not None
    return Forms(server, f"{yard.cookie}; tripmargin_csrf={kept[1]}", token[1])
