"""The code for phones in the terminal, read back by another library than drew it."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tests.reference import lacking
from tests.web.codes import BLOCKS, as_a_terminal_shows, read_codes
from tests.web.test_serving_process import Server, start
from tripmargin.web.serving.addresses import private_addresses
from tripmargin.web.serving.qr import qr_lines

__all__ = ["start"]


@pytest.mark.parametrize(
    "address",
    [
        "http://192.168.4.7:8765/",
        f"http://10.200.100.50:65535/join/{'Zac2S-7Zpp3_' * 4}/",
        f"https://{'long-name.' * 6}example/join/{'x' * 43}/",
    ],
    ids=["short", "a link", "a long name"],
)
def test_what_the_terminal_shows_says_the_address(address: str) -> None:
    assert read_codes(as_a_terminal_shows(qr_lines(address))) == [address]


def test_a_code_that_lost_a_corner_is_not_read_so_the_reader_reads() -> None:
    lines = [line.replace("\u2588", " ") for line in qr_lines("http://192.168.4.7:8765/")]
    assert read_codes(as_a_terminal_shows(lines)) == []


def test_serve_for_the_network_shows_the_link_that_it_prints(start: Callable[..., Server]) -> None:
    if not private_addresses():
        lacking("private address of this computer")
    server = start("--lan")
    code = [line for line in server.said.splitlines() if line and set(line) <= set(BLOCKS)]
    [said] = read_codes(as_a_terminal_shows(code))
    link = re.search(r"http://\S+/join/\S+", server.said)
    assert link is not None
    assert said == link[0]
    # The phone comes by that address, not by this computer's own.
    host = said.removeprefix("http://").partition("/")[0]
    assert host.partition(":")[0] in private_addresses()
    assert server.ask(said.partition(host)[2], host=host).status == 200
