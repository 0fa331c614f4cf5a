"""The server itself, as a process: its workers, its headers, its end."""

from __future__ import annotations

import http.client
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest

PASSWORD = "three plain words"

pytestmark = pytest.mark.skipif(not Path("/proc").is_dir(), reason="children are looked for there")


class Server:
    """`tripmargin serve` on a free port, with records of its own."""

    def __init__(self, home: Path, *options: str, **settings: str) -> None:
        environment = {
            name: value for name, value in os.environ.items() if not name.startswith("TRIPMARGIN_")
        }
        environment |= {"TRIPMARGIN_HOME": str(home), "PYTHONUNBUFFERED": "1"} | settings
        environment.pop("DJANGO_SETTINGS_MODULE", None)
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tripmargin.cli", "serve", "--port", "0", *options],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment,
        )  # fmt: skip
        assert self.process.stdout is not None
        self.said = ""
        for line in self.process.stdout:
            self.said += line
            if line.startswith("Stop it"):
                break
        link = re.search(r"(https?://[^/\s]+)(/join/[^/]+/)", self.said)
        assert link is not None, self.said + (self.process.stderr or sys.stdin).read()
        self.join = link[2]
        # The port itself: behind a proxy, the printed address is the proxy's.
        self.port = next(int(local, 16) for local in self._listening())

    def _listening(self) -> Iterator[str]:
        inodes = set()
        for number in Path(f"/proc/{self.process.pid}/fd").iterdir():
            with suppress(OSError):
                inodes.add(os.readlink(number).removeprefix("socket:[").removesuffix("]"))
        for line in Path("/proc/net/tcp").read_text().splitlines()[1:]:
            fields = line.split()
            if fields[9] in inodes and fields[3] == "0A":  # TCP_LISTEN
                yield fields[1].partition(":")[2]

    def ask(
        self, path: str, said: dict[str, str] | None = None, *, host: str = "localhost",
        cookies: dict[str, str] | None = None, **headers: str,
    ) -> Any:  # fmt: skip
        """One request; cookies that come back are put into `cookies`."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        more = {name.replace("_", "-"): value for name, value in headers.items()}
        if cookies:
            more["Cookie"] = "; ".join(f"{name}={value}" for name, value in cookies.items())
        body = None
        if said is not None:
            body = urlencode(said)
            more["Content-Type"] = "application/x-www-form-urlencoded"
        connection.request(
            "POST" if said is not None else "GET", path, body, {"Host": host, **more}
        )
        answer = connection.getresponse()
        answer.page = answer.read().decode()  # type: ignore[attr-defined]
        for each in answer.msg.get_all("Set-Cookie") or []:
            name, _, value = each.partition(";")[0].partition("=")
            if cookies is not None:
                cookies[name] = value
        connection.close()
        return answer

    def children(self) -> set[int]:
        """The processes that the server started."""
        listed = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children").read_text()
        return {int(each) for each in listed.split()}

    def stop(self) -> tuple[int, str]:
        """End it as a service manager does; its exit code and what it said to standard error."""
        self.process.send_signal(signal.SIGTERM)
        _, errors = self.process.communicate(timeout=30)
        return self.process.returncode, errors


def token_in(page: str) -> str:
    found = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', page)
    assert found is not None
    return found[1]


def wait_for(true: Callable[[], bool], seconds: float = 20) -> bool:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if true():
            return True
        time.sleep(0.05)
    return true()


def gone(pids: set[int]) -> bool:
    return not any(Path(f"/proc/{pid}").exists() for pid in pids)


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Callable[..., Server]]:
    servers: list[Server] = []

    def one(*options: str, **settings: str) -> Server:
        servers.append(Server(tmp_path, *options, **settings))
        return servers[-1]

    yield one
    for each in servers:
        if each.process.poll() is None:
            each.process.kill()
        each.process.wait()
        for pipe in (each.process.stdout, each.process.stderr):
            if pipe is not None:
                pipe.close()


def come_in(server: Server) -> dict[str, str]:
    """Use the owner's link; the cookies of who is signed in."""
    cookies: dict[str, str] = {}
    page = server.ask(server.join, cookies=cookies).page
    said = {"name": "Ann", "password": PASSWORD, "again": PASSWORD,
            "csrfmiddlewaretoken": token_in(page)}  # fmt: skip
    answer = server.ask(server.join, said, cookies=cookies)
    assert (answer.status, answer.headers["Location"]) == (302, "/")
    return cookies


def test_from_the_first_start_to_the_end_with_two_workers(start: Callable[..., Server]) -> None:
    server = start("--workers", "2")
    assert wait_for(lambda: len(server.children()) == 2)
    workers = server.children()
    door = server.ask("/sign-in/")
    assert door.status == 200
    assert "has no owner yet" in door.page
    assert "Server" not in door.headers
    style = re.search(r'href="(/static/tripmargin/look\.[0-9a-f]+\.css)"', door.page)
    assert style is not None
    assert server.ask(style[1]).status == 200

    cookies = come_in(server)
    assert server.ask("/people/", cookies=cookies).status == 200
    fresh: dict[str, str] = {}
    token = token_in(server.ask("/sign-in/", cookies=fresh).page)
    said = {"name": "ann", "password": PASSWORD, "csrfmiddlewaretoken": token}
    assert server.ask("/sign-in/", said, cookies=fresh).status == 302
    # Sessions lie in the database: whichever worker answers knows them.
    assert {server.ask("/you/", cookies=fresh).status for _ in range(10)} == {200}

    victim = min(workers)
    os.kill(victim, signal.SIGKILL)
    assert wait_for(lambda: len(server.children() - {victim}) == 2)
    assert {server.ask("/you/", cookies=fresh).status for _ in range(5)} == {200}

    last = server.children()
    code, errors = server.stop()
    assert code == 0
    assert f"({victim}) was ended by signal 9; another one is started" in errors
    assert "Traceback" not in errors
    assert gone(last | workers)


def test_workers_end_with_their_parent_even_if_it_is_killed(start: Callable[..., Server]) -> None:
    server = start("--workers", "2")
    assert wait_for(lambda: len(server.children()) == 2)
    workers = server.children()
    server.process.kill()
    server.process.wait()
    assert wait_for(lambda: gone(workers))


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_one_process_ends_cleanly(start: Callable[..., Server], number: int) -> None:
    server = start()
    assert server.ask("/sign-in/").status == 200
    server.process.send_signal(number)
    out, errors = server.process.communicate(timeout=30)
    assert server.process.returncode == 0
    assert "Stopped." in out
    assert "Traceback" not in errors


def test_a_proxys_headers_count_behind_tls_only(start: Callable[..., Server]) -> None:
    plain = start()
    told = {"X_Forwarded_Proto": "https", "X_Forwarded_For": "203.0.113.9",
            "X_Forwarded_Host": "evil.example", "Forwarded": "proto=https"}  # fmt: skip
    answer = plain.ask("/sign-in/", **told)
    assert answer.status == 200
    assert "Secure" not in answer.headers["Set-Cookie"]
    assert "Strict-Transport-Security" not in answer.headers
    cookies = come_in(plain)
    plain.ask("/you/", cookies=cookies, **told)
    assert "203.0.113.9" not in plain.ask("/people/changes/", cookies=cookies).page
    plain.stop()


def test_behind_tls_cookies_are_secure_and_the_browser_is_held_to_it(
    start: Callable[..., Server],
) -> None:
    server = start("--behind-tls", "--host", "yard.example")
    assert "https://yard.example/join/" in server.said
    by_proxy = {"host": "yard.example", "X_Forwarded_Proto": "https",
                "X_Forwarded_For": "203.0.113.9"}  # fmt: skip
    answer = server.ask("/sign-in/", **by_proxy)
    assert answer.status == 200
    assert "Secure" in answer.headers["Set-Cookie"]
    assert answer.headers["Strict-Transport-Security"] == "max-age=31536000"
    without = server.ask("/sign-in/", host="yard.example")
    assert (without.status, without.headers["Location"]) == (301, "https://yard.example/sign-in/")
    cookies: dict[str, str] = {}
    token = token_in(server.ask("/sign-in/", cookies=cookies, **by_proxy).page)
    said = {"name": "mallory", "password": "x", "csrfmiddlewaretoken": token}
    elsewhere = {**by_proxy, "Origin": "https://evil.example"}
    assert server.ask("/sign-in/", said, cookies=cookies, **elsewhere).status == 403
    own = {**by_proxy, "Origin": "https://yard.example"}
    assert server.ask("/sign-in/", said, cookies=cookies, **own).status == 422


@pytest.mark.parametrize("host", ["evil.example", "localhost@evil.example", "yard.example.evil"])
def test_another_host_is_refused(start: Callable[..., Server], host: str) -> None:
    answer = start().ask("/sign-in/", host=host)
    assert answer.status == 400
    assert "evil" not in answer.page
