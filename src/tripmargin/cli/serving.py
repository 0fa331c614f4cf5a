"""`tripmargin serve`: the web app of a workshop."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import TYPE_CHECKING

import click

from tripmargin.ground.languages import say

if TYPE_CHECKING:
    from tripmargin.web.serving.server import Ready


@click.command()
@click.option(
    "--port", type=click.IntRange(0, 65535), default=8765, show_default=True, metavar="NUMBER",
    help="Port to listen on; 0 takes a free one.",
)  # fmt: skip
@click.option("--lan", is_flag=True, help="Let others in the same network in, phones too.")
@click.option(
    "--workers", type=click.IntRange(1, 64), default=1, show_default=True, metavar="N",
    help="Processes that answer.",
)  # fmt: skip
@click.option(
    "--behind-tls", is_flag=True,
    help="A proxy on this computer stands before the server and speaks TLS.",
)  # fmt: skip
@click.option(
    "--host", "hosts", multiple=True, metavar="NAME",
    help="A name that the server answers to besides its addresses; may be given several times.",
)  # fmt: skip
@click.option("--owner-link", is_flag=True, help="Make a link for one more owner.")
@click.option("--open", "open_it", is_flag=True, help="Open it in this computer's browser.")
def serve(
    port: int, lan: bool, workers: int, behind_tls: bool, hosts: tuple[str, ...],
    owner_link: bool, open_it: bool,
) -> None:  # fmt: skip
    """Serve the web app: machines, log, what is due, what is wrong.

    On this computer only, unless --lan is given. Where there is no owner yet, a link is printed
    that makes one. Ctrl-C stops it; everything that was saved is kept.
    """
    from tripmargin.web.serving.server import Wanted, get_ready
    from tripmargin.web.serving.server import serve as answer

    ready = get_ready(Wanted(port, lan, workers, behind_tls, hosts, owner_link))
    for line in _lines(ready):
        click.echo(line)
    sys.stdout.flush()  # somebody may read it from a pipe, and workers must not print it again
    if open_it:
        import webbrowser

        webbrowser.open(ready.join or ready.here)
    answer(ready)
    click.echo(say("Stopped. Everything that was saved is kept."))


def _lines(ready: Ready) -> Iterator[str]:
    """What the person who started it is told."""
    yield say("Records: {records}", records=ready.records)
    if ready.join:
        yield say("Open this link to become an owner. It works once, for 24 hours:")
        yield f"  {ready.join}"
    yield say("The yard is open at {address}/", address=ready.address)
    if ready.wanted.lan:
        yield say("On this computer also at {here}/", here=ready.here)
        yield from _code(ready.join or f"{ready.address}/")
        yield say(
            "Without TLS others in the same network can read along: names, passwords, entries."
        )
        yield say(
            "Use --lan in a network that you trust, or put a proxy with TLS before the server:"
        )
        yield say("docs/how-to/run-the-web-app.md says how.")
    elif not ready.wanted.behind_tls:
        yield say("Others cannot reach it; --lan lets them.")
    yield say("Stop it with Ctrl-C.")


def _code(address: str) -> Iterator[str]:
    """The address as a code for a phone, where the terminal has the blocks for it."""
    from tripmargin.web.serving.qr import qr_lines

    lines = qr_lines(address)
    try:
        "".join(lines).encode(sys.stdout.encoding or "ascii")
    except UnicodeEncodeError:
        yield say("(A code for phones needs a terminal with UTF-8.)")
    else:
        yield from lines
