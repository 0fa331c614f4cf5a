"""What comes before the server answers: addresses, names, static files, words."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from django.test import override_settings

from tripmargin.cli.main import main
from tripmargin.web.serving import server
from tripmargin.web.serving.addresses import ServingError, bound, hosts, private_addresses
from tripmargin.web.serving.qr import qr_lines, qr_picture
from tripmargin.web.serving.server import Wanted, get_ready
from tripmargin.web.serving.static_files import bring_static_files


@pytest.fixture(autouse=True)
def _own_settings(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in (server.HOSTS, server.ADDRESS, server.BEHIND_TLS):
        monkeypatch.setenv(name, "")


def test_a_port_that_is_taken_is_said_in_plain_words() -> None:
    [taken] = bound(["127.0.0.1"], 0)
    port = taken.getsockname()[1]
    try:
        result = CliRunner().invoke(main, ["serve", "--port", str(port)])
    finally:
        taken.close()
    assert result.exit_code == 2
    assert f"Port {port} of 127.0.0.1 is taken" in result.output
    assert f"--port {port + 1}" in result.output
    assert "Traceback" not in result.output


def test_records_that_cannot_be_opened_are_said_as_text(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("no folder")
    monkeypatch.setenv("TRIPMARGIN_HOME", str(tmp_path / "file"))
    program = [sys.executable, "-m", "tripmargin.cli", "serve", "--port", "0"]
    done = subprocess.run(program, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 2
    assert "the folder of the records cannot be made" in done.stderr
    assert "Traceback" not in done.stderr


def test_all_sockets_share_one_port() -> None:
    sockets = bound(["127.0.0.1", "127.0.0.2"], 0)
    try:
        assert len({each.getsockname()[1] for each in sockets}) == 1
        with socket.create_connection(sockets[1].getsockname(), timeout=5):
            pass  # a browser waits from here on, though nobody answers yet
    finally:
        for each in sockets:
            each.close()


def test_only_addresses_of_ones_own_network_are_found() -> None:
    import ipaddress

    found = [ipaddress.ip_address(each) for each in private_addresses()]
    assert len(set(found)) == len(found)
    assert all(each.is_private and not each.is_loopback for each in found)


# Django reads a star, or a dot at the beginning, as any name.
@pytest.mark.parametrize("name", ["*", ".example", "", "http://yard", "yard:80", "yard/x", "a b"])
def test_a_host_that_is_no_name_is_refused(name: str) -> None:
    with pytest.raises(ServingError, match="not the name of a computer"):
        hosts((), (name,))


def test_the_names_answered_to_are_these_and_no_more() -> None:
    assert hosts(("192.168.4.7",), ("Yard.example",)) == (
        "localhost", "127.0.0.1", "[::1]", "192.168.4.7", "yard.example",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (Wanted(0, lan=True, behind_tls=True, hosts=("x",)), "do not go together"),
        (Wanted(0, behind_tls=True), "under which name"),
    ],
)
def test_options_that_do_not_go_together_are_refused(wanted: Wanted, said: str) -> None:
    with pytest.raises(ServingError, match=said):
        get_ready(wanted)


def test_without_a_network_lan_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "private_addresses", tuple)
    with pytest.raises(ServingError, match="no private address"):
        get_ready(Wanted(0, lan=True))


def test_ready_on_this_computer_only_with_the_owners_link(
    sqlite_records: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    ready = get_ready(Wanted(0))
    try:
        assert [each.getsockname()[0] for each in ready.sockets] == ["127.0.0.1"]
        assert ready.join.startswith(f"{ready.here}/join/")
        again = get_ready(Wanted(0))
        assert again.join not in ("", ready.join)
    finally:
        for each in (*ready.sockets, *again.sockets):
            each.close()


def test_with_an_owner_no_link_is_made_unless_asked(
    sqlite_records: str, person: Callable[..., Any]
) -> None:
    person("Ann", role=4)
    plain, asked = get_ready(Wanted(0)), get_ready(Wanted(0, owner_link=True))
    for each in (*plain.sockets, *asked.sockets):
        each.close()
    assert plain.join == ""
    assert "/join/" in asked.join


def test_in_a_network_the_link_is_for_phones(
    sqlite_records: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server, "private_addresses", lambda: ("127.0.0.2",))
    ready = get_ready(Wanted(0, lan=True))
    for each in ready.sockets:
        each.close()
    assert os.environ[server.HOSTS].split()[-1] == "127.0.0.2"
    assert ready.address.startswith("http://127.0.0.2:")
    assert ready.join.startswith(ready.address)


def test_a_setting_left_over_makes_no_headers_trusted(
    sqlite_records: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(server.BEHIND_TLS, "yes")
    ready = get_ready(Wanted(0))
    for each in ready.sockets:
        each.close()
    assert os.environ[server.BEHIND_TLS] == "no"


def test_static_files_are_brought_once(tmp_path: Path) -> None:
    with override_settings(STATIC_ROOT=tmp_path / "static"):
        assert bring_static_files()
        assert not bring_static_files()
        (tmp_path / "static" / "brought.sha256").write_text("older")
        assert bring_static_files()
        assert (tmp_path / "static" / "staticfiles.json").exists()


def test_a_code_is_as_large_as_the_standard_says() -> None:
    # ISO/IEC 18004, table of capacities (from memory): 24 bytes at level M take version 2, which
    # has 25 modules a side; with 4 modules of quiet zone on each, 4 units a module: 132.
    svg = qr_picture("http://192.168.4.7:8765/")
    assert svg.startswith('<svg viewBox="0 0 132 132"')
    assert "style=" not in svg
    lines = qr_lines("http://192.168.4.7:8765/")
    assert {len(line) for line in lines} == {25 + 2 * 2}
    assert len(lines) == (25 + 2 * 2 + 1) // 2


ONCE = """
import gc, sys, types
from tripmargin.records.opening import open_records
open_records(settings="tripmargin.web.settings")
from tripmargin.web.serving import server
ready = types.SimpleNamespace(wanted=server.Wanted(0), sockets=[])
page = "tripmargin.web.log.entering"
server._answer = lambda *_: print(
    page in sys.modules, gc.get_freeze_count(), sys.getswitchinterval()
)
server.serve(ready)
"""


def test_before_anybody_asks_all_pages_are_there_and_set_aside(tmp_path: Path) -> None:
    """Else the first who asks waits for them, and everybody whenever the collector goes round."""
    environment = {**os.environ, "TRIPMARGIN_HOME": str(tmp_path)}
    environment.pop("DJANGO_SETTINGS_MODULE", None)
    done = subprocess.run(
        [sys.executable, "-c", ONCE], capture_output=True, text=True, timeout=120, check=False,
        env=environment,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    there, kept, turn = done.stdout.split()
    assert float(turn) == server.TURN < 0.005  # Python's own
    assert there == "True"
    assert int(kept) > 50_000
