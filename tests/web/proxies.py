"""A proxy with TLS before a server, set up as the how-to page says, word for word.

What a test has to change is changed by name: the port, the place of the certificate, the server's
port. A text of the page that these no longer fit fails the test.
"""

from __future__ import annotations

import http.client
import re
import shutil
import socket
import ssl
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from tests.conftest import program
from tests.reference import ROOT
from tests.web.test_serving_process import wait_for

NAME, SERVER = "yard.example", "127.0.0.1:8765"
PAGE = ROOT / "docs" / "how-to" / "run-the-web-app.md"


def snippet(beginning: str) -> str:
    """A block of the how-to page, by the line it begins with."""
    blocks = re.findall(r"```text\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    [found] = [block for block in blocks if block.startswith(beginning)]
    return str(found)


def changed(text: str, **changes: tuple[str, str]) -> str:
    """The text with each of these replaced; each must stand in it once."""
    for what, (old, new) in changes.items():
        assert text.count(old) == 1, f"{what}: the page no longer says {old!r} once"
        text = text.replace(old, new)
    return text


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


@dataclass(frozen=True)
class Proxy:
    """A proxy that runs: where it listens, and the certificate that clients trust."""

    port: int
    trusted: Path

    def ask(
        self, path: str, said: dict[str, str] | bytes | None = None, *,
        come_from: str = "127.0.0.9", cookies: dict[str, str] | None = None, **headers: str,
    ) -> Any:  # fmt: skip
        """One request over TLS, as a browser under the proxy's name sends it."""
        context = ssl.create_default_context(cafile=str(self.trusted))
        connection = http.client.HTTPSConnection(NAME, self.port, timeout=60)
        plain = socket.create_connection(
            ("127.0.0.1", self.port), timeout=60, source_address=(come_from, 0)
        )
        connection.sock = context.wrap_socket(plain, server_hostname=NAME)
        more = {"Host": NAME, **{name.replace("_", "-"): text for name, text in headers.items()}}
        if cookies:
            more["Cookie"] = "; ".join(f"{name}={value}" for name, value in cookies.items())
        body: str | bytes | None = said if isinstance(said, bytes) else None
        if isinstance(said, dict):
            body = urlencode(said)
            more["Content-Type"] = "application/x-www-form-urlencoded"
        if said is not None:
            more.setdefault("Origin", f"https://{NAME}")
        connection.request("GET" if said is None else "POST", path, body, more)
        answer = connection.getresponse()
        answer.page = answer.read().decode()  # type: ignore[attr-defined]
        for each in answer.msg.get_all("Set-Cookie") or []:
            name, _, value = each.partition(";")[0].partition("=")
            if cookies is not None:
                cookies[name] = value
        connection.close()
        return answer


@contextmanager
def running(command: list[str], port: int, log: Path, **more: Any) -> Iterator[None]:
    """The proxy's process, from when it listens on."""

    def listens() -> bool:
        with socket.socket() as one:
            return one.connect_ex(("127.0.0.1", port)) == 0

    with log.open("w") as said, subprocess.Popen(command, stdout=said, stderr=said, **more) as one:
        try:
            wait_for(lambda: one.poll() is not None or listens(), 30)
            assert one.poll() is None, log.read_text()
            assert listens(), log.read_text()
            yield
        finally:
            one.terminate()
            try:
                one.wait(20)
            except subprocess.TimeoutExpired:
                one.kill()


@contextmanager
def nginx(folder: Path, server_port: int) -> Iterator[Proxy]:
    """nginx, with a certificate made for the occasion."""
    path, port = _nginx(), free_port()
    certificate, key = folder / "yard.example.pem", folder / "yard.example.key"
    subprocess.run(
        [program("openssl"), "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2",
         "-subj", f"/CN={NAME}", "-addext", f"subjectAltName=DNS:{NAME}",
         "-keyout", key, "-out", certificate],
        check=True, capture_output=True,
    )  # fmt: skip
    block = changed(
        snippet("server {"),
        port=("listen 443 ssl;", f"listen 127.0.0.1:{port} ssl;"),
        certificate=("/etc/ssl/yard.example.pem", str(certificate)),
        key=("/etc/ssl/yard.example.key", str(key)),
        server=(SERVER, f"127.0.0.1:{server_port}"),
    )
    temporary = "\n".join(
        f"{kind}_temp_path {folder}/{kind};"
        for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    text = (
        f"daemon off; master_process off; pid {folder}/pid; error_log stderr;\n"
        f"events {{}}\nhttp {{\naccess_log off;\n{temporary}\n{block}}}\n"
    )
    (folder / "nginx.conf").write_text(text)
    command = [path, "-e", "stderr", "-p", str(folder), "-c", str(folder / "nginx.conf")]
    with running(command, port, folder / "nginx.log"):
        yield Proxy(port, certificate)


def _nginx() -> str:
    """Debian keeps it off the path of whoever is not root."""
    return shutil.which("nginx", path="/usr/sbin:/usr/local/sbin") or program("nginx")


@contextmanager
def caddy(folder: Path, server_port: int) -> Iterator[Proxy]:
    """Caddy, which makes its certificate itself: here by an authority of its own, asking nobody."""
    path, port = program("caddy"), free_port()
    block = changed(
        snippet(f"{NAME} {{"),
        port=(f"{NAME} {{", f"{NAME}:{port} {{"),
        server=(SERVER, f"127.0.0.1:{server_port}"),
    )
    top = "{\n admin off\n local_certs\n skip_install_trust\n auto_https disable_redirects\n}\n"
    (folder / "Caddyfile").write_text(top + block)
    own = {"HOME": str(folder), "XDG_DATA_HOME": str(folder), "XDG_CONFIG_HOME": str(folder)}
    trusted = folder / "caddy" / "pki" / "authorities" / "local" / "root.crt"
    command = [path, "run", "--config", str(folder / "Caddyfile"), "--adapter", "caddyfile"]
    with running(command, port, folder / "caddy.log", env={"PATH": "/usr/bin:/bin", **own}):
        assert wait_for(trusted.exists), (folder / "caddy.log").read_text()
        assert wait_for(lambda: _shakes_hands(Proxy(port, trusted)), 30)
        yield Proxy(port, trusted)


def _shakes_hands(proxy: Proxy) -> bool:
    """Whether its certificate is made: it listens before."""
    try:
        proxy.ask("/sign-in/")
    except OSError:
        return False
    return True
