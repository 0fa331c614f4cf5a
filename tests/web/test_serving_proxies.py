"""Behind nginx and behind Caddy, set up as the how-to page says: TLS, cookies, who is asking."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from uuid import uuid4

import pytest

from tests.web.proxies import NAME, Proxy, caddy, nginx
from tests.web.test_serving_process import PASSWORD, Server, start, token_in
from tripmargin.records.keeping.limits import FREE_OF_ADDRESS
from tripmargin.web.serving.server import LARGEST

__all__ = ["start"]

HERE, ELSEWHERE, FORGED = "127.0.0.9", "127.0.0.10", "203.0.113.9"


@pytest.fixture(params=[nginx, caddy], ids=["nginx", "caddy"])
def behind(
    request: pytest.FixtureRequest, start: Callable[..., Server], tmp_path: Path
) -> Iterator[tuple[Proxy, Server]]:
    """A proxy of each kind, and the server behind it."""
    server = start("--behind-tls", "--host", NAME)
    folder = tmp_path / "proxy"
    folder.mkdir()
    with request.param(folder, server.port) as proxy:
        yield proxy, server


def come_in(proxy: Proxy, server: Server) -> dict[str, str]:
    cookies: dict[str, str] = {}
    token = token_in(proxy.ask(server.join, cookies=cookies).page)
    said = {"name": "Ann", "password": PASSWORD, "again": PASSWORD, "csrfmiddlewaretoken": token}
    answer = proxy.ask(server.join, said, cookies=cookies)
    assert (answer.status, answer.headers["Location"]) == (302, "/")
    return cookies


def attempt(proxy: Proxy, name: str, **more: str) -> int:
    cookies: dict[str, str] = {}
    token = token_in(proxy.ask("/sign-in/", cookies=cookies).page)
    said = {"name": name, "password": "wrong", "csrfmiddlewaretoken": token}
    return int(proxy.ask("/sign-in/", said, cookies=cookies, **more).status)


def test_what_a_browser_gets_over_tls(behind: tuple[Proxy, Server]) -> None:
    proxy, server = behind
    assert f"https://{NAME}/join/" in server.said
    door = proxy.ask("/sign-in/")
    assert door.status == 200
    assert door.headers["Strict-Transport-Security"] == "max-age=31536000"
    assert "default-src 'none'" in door.headers["Content-Security-Policy"]
    assert "Secure" in door.headers["Set-Cookie"]
    style = re.search(r'href="(/static/tripmargin/look\.[0-9a-f]+\.css)"', door.page)
    assert style is not None
    assert proxy.ask(style[1]).status == 200
    cookies = come_in(proxy, server)
    you = proxy.ask("/you/", cookies=cookies)
    assert you.status == 200
    # A form from elsewhere is refused, and one whose sender says that it came without TLS as well.
    token = token_in(you.page)
    for origin in ("https://evil.example", f"http://{NAME}"):
        forged = proxy.ask("/sign-out/", {"csrfmiddlewaretoken": token}, cookies=dict(cookies),
                           Origin=origin)  # fmt: skip
        assert forged.status == 403
    assert proxy.ask("/you/", cookies=cookies).status == 200


def test_who_asks_is_whom_the_proxy_sees_whatever_headers_say(behind: tuple[Proxy, Server]) -> None:
    proxy, server = behind
    cookies = come_in(proxy, server)
    told = {
        "X_Forwarded_For": FORGED, "X_Forwarded_Proto": "http", "X_Forwarded_Host": "evil.example",
        "X_Real_IP": FORGED, "Forwarded": f"for={FORGED};proto=http",
    }  # fmt: skip
    assert attempt(proxy, "mallory", **told) == 422
    assert attempt(proxy, "ben", come_from=ELSEWHERE) == 422
    audit = proxy.ask("/people/changes/", cookies=cookies).page
    assert HERE in audit
    assert ELSEWHERE in audit
    assert FORGED not in audit
    assert "evil" not in proxy.ask("/sign-in/", **told).page


def test_guessing_is_slowed_down_by_the_real_address(behind: tuple[Proxy, Server]) -> None:
    proxy, _ = behind
    tries = [
        attempt(proxy, f"name {number}", X_Forwarded_For=f"203.0.113.{number}")
        for number in range(FREE_OF_ADDRESS + 1)
    ]
    assert tries[:FREE_OF_ADDRESS] == [422] * FREE_OF_ADDRESS
    assert tries[FREE_OF_ADDRESS] == 429
    assert attempt(proxy, "ben", come_from=ELSEWHERE) == 422  # others go on


def a_note(token: str, size: int) -> tuple[bytes, str]:
    """A form with a file that is as large as several photos."""
    parts = {"csrfmiddlewaretoken": token, "uid": str(uuid4()), "v.text": "as typed"}
    fields = "".join(
        f'--EDGE\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{text}\r\n'
        for name, text in parts.items()
    )
    file = '--EDGE\r\nContent-Disposition: form-data; name="photos"; filename="a.jpg"\r\n\r\n'
    body = f"{fields}{file}".encode() + bytes(size) + b"\r\n--EDGE--\r\n"
    return body, "multipart/form-data; boundary=EDGE"


def test_as_much_comes_through_as_the_server_takes(behind: tuple[Proxy, Server]) -> None:
    proxy, server = behind
    cookies = come_in(proxy, server)
    token = token_in(proxy.ask("/machines/add/", cookies=cookies).page)
    added = proxy.ask("/machines/add/demo/dunlin/", {"csrfmiddlewaretoken": token}, cookies=cookies)
    form = f"{added.headers['Location']}log/new/note/"
    body, kind = a_note(token, 30_000_000)
    answer = proxy.ask(form, body, cookies=cookies, Content_Type=kind)
    assert answer.status == 422  # our own page: such a file is no photo, and the text stays
    assert "as typed" in answer.page
    body, kind = a_note(token, LARGEST - 100_000)  # the server reads as much, and refuses it
    answer = proxy.ask(form, body, cookies=cookies, Content_Type=kind)
    assert answer.status == 413
    assert "choose fewer or" in answer.page  # our own words, not the proxy's
