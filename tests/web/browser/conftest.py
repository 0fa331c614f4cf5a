"""A real browser on a real server: the system's Chromium, and the web app on a port of its own."""

from __future__ import annotations

import functools
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest

from tests.databases import using_database

PHONE, DESK = (360, 740), (1280, 800)
BOTH = pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
ON_BOTH = pytest.mark.parametrize("yard_records", ["sqlite", "postgresql"], indirect=True)
_FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    # A microphone of the browser's own that beeps each second, and leave to use it.
    "--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream",
]  # fmt: skip


@pytest.fixture(scope="session")
def _browser(driver: Any, chromium: str) -> Iterator[Any]:
    browser = driver.chromium.launch(executable_path=chromium, args=_FLAGS)
    yield browser
    browser.close()


@pytest.fixture
def yard_records(request: pytest.FixtureRequest) -> Iterator[str]:
    """Fresh records: on SQLite, and where a test asks by `ON_BOTH`, on PostgreSQL as well."""
    if getattr(request, "param", "sqlite") == "sqlite":
        yield request.getfixturevalue("sqlite_records")
        return
    with using_database(request.getfixturevalue("postgres").new()) as address:
        yield address


@pytest.fixture
def yard_server(yard_records: str) -> Iterator[str]:
    """The web app behind waitress, on fresh records; its address."""
    import waitress.server
    import waitress.wasyncore
    from django.core.wsgi import get_wsgi_application

    server = waitress.server.create_server(
        get_wsgi_application(), host="127.0.0.1", port=0, threads=6, ident=None
    )
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"
    # What is being answered is answered before the sockets go: a page that was left may have asked
    # for something slow, and a thread that writes to a closed socket would end in an exception.
    server.task_dispatcher.shutdown(cancel_pending=True, timeout=60)
    # Shut in the loop's own thread: one that waits for a socket which another thread closes ends in
    # an exception, and connections that a browser keeps open would be left behind.
    server.trigger.pull_trigger(functools.partial(waitress.wasyncore.close_all, server._map))
    thread.join(timeout=30)
    assert not thread.is_alive(), "the test's server did not stop"


@dataclass
class Seen:
    """What a browser said and asked for; looked at when the test ends."""

    origin: str
    troubles: list[str] = field(default_factory=list)
    allowed: list[str] = field(default_factory=list)
    """Beginnings of console errors that the test means to cause."""

    def watch(self, page: Any) -> None:
        page.on("console", lambda said: said.type == "error" and self.add(f"console: {said.text}"))
        page.on("pageerror", lambda error: self.add(f"script: {error}"))
        page.on("request", lambda asked: self.asked(asked.url))

    def add(self, trouble: str) -> None:
        self.troubles.append(trouble)

    def asked(self, url: str) -> None:
        if not url.startswith((self.origin, "data:", "blob:")):
            self.add(f"request to elsewhere: {url}")

    def bad(self) -> list[str]:
        return [t for t in self.troubles if not any(a in t for a in self.allowed)]


@pytest.fixture
def page_as(
    _browser: Any, yard_server: str, person: Callable[..., Any]
) -> Iterator[Callable[..., Any]]:
    """A page signed in with a role: `page = page_as(2, size=PHONE)`; `page.seen` is what it said.

    When the test ends, an error on the console or a request to another origin fails it.
    """
    from django.test import Client

    from tripmargin.records.store.models import Person

    opened: list[tuple[Any, Seen]] = []

    def make(role: int = 4, size: tuple[int, int] = PHONE, name: str = "") -> Any:
        context = _browser.new_context(
            viewport={"width": size[0], "height": size[1]}, base_url=yard_server,
            has_touch=size == PHONE, reduced_motion="reduce",
        )  # fmt: skip
        context.set_default_timeout(60000)  # a first map, on two busy cores
        if role:
            called = name or f"role {role}"
            found = Person.objects.filter(name=called).first() or person(called, role=role)
            client = Client(HTTP_HOST="127.0.0.1")
            client.force_login(found)
            cookie = client.cookies["tripmargin_session"].value
            context.add_cookies(
                [{"name": "tripmargin_session", "value": cookie, "url": yard_server}]
            )
        page = context.new_page()
        seen = Seen(yard_server)
        seen.watch(page)
        page.seen = seen
        opened.append((context, seen))
        return page

    yield make
    said = [trouble for _, seen in opened for trouble in seen.bad()]
    for context, _ in opened:
        context.close()
    assert not said, "\n".join(said)


@pytest.fixture
def no_barrier() -> Callable[[Any], None]:
    """Look with axe-core for what keeps people out of a page; serious findings fail."""
    from axe_playwright_python.sync_playwright import Axe

    def look(page: Any) -> None:
        # Axe is put into the page as text: the page's own policy refuses inline scripts.
        found = Axe().run(page)
        bad = [
            f"{one['id']}: {one['help']}: {[n['target'] for n in one['nodes']][:3]}"
            for one in found.response["violations"]
            if one["impact"] in ("serious", "critical")
        ]
        assert not bad, "\n".join(bad)

    return look


@pytest.fixture
def no_sideways() -> Callable[[Any], None]:
    """A page that is wider than its screen is refused."""

    def look(page: Any) -> None:
        wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert wide <= 0, f"{page.url} is {wide} px wider than the screen"

    return look
