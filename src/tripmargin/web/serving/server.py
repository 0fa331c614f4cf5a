"""Starting the server: records, static files, the owner's link, then the pages."""

from __future__ import annotations

import os
import socket
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.web.serving.addresses import (
    LOOPBACK,
    ServingError,
    bound,
    hosts,
    private_addresses,
)

HOSTS, BEHIND_TLS, ADDRESS = "TRIPMARGIN_HOSTS", "TRIPMARGIN_BEHIND_TLS", "TRIPMARGIN_ADDRESS"
THREADS = 8  # a process's requests at a time; more wait for SQLite's one writer anyway
TURN = 0.001
"""s that a thread may compute before another one has its turn. A page waits for its turn after each
query: with Python's 5 ms, a wiring that was being worked out made all others wait six times longer;
with 0.2 ms the turns themselves took the time."""
LARGEST = 66_000_000
"""Bytes that are taken in at all. Pages take somewhat less, and say so in a page; beyond this the
connection ends with a line of plain text."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """How the server is to be started.

    Attributes
    ----------
    port : int, 0 for any free one
    lan : bool
        Whether others in the same network may come in.
    workers : int, processes
    behind_tls : bool
        Whether a proxy on this computer stands before it and speaks TLS.
    hosts : names that it answers to besides its addresses
    owner_link : bool
        Whether to make a link for an owner though there is one.
    """

    port: int = 8765
    lan: bool = False
    workers: int = 1
    behind_tls: bool = False
    hosts: tuple[str, ...] = ()
    owner_link: bool = False


@dataclass(frozen=True, slots=True)
class Ready:
    """A server that listens, and is not served yet.

    Attributes
    ----------
    here, address : where this computer, and where others reach it
    join : address of the owner's link; empty where there is an owner
    records : where the records lie, without a password
    """

    wanted: Wanted
    sockets: Sequence[socket.socket]
    here: str
    address: str
    join: str
    records: str


def get_ready(wanted: Wanted) -> Ready:
    """Open the port and the records; nobody is answered yet.

    Raises
    ------
    ServingError
        If the port is taken, or the options do not go together.
    RecordsError
        If the records cannot be opened.
    """
    _check(wanted)
    private = private_addresses() if wanted.lan else ()
    if wanted.lan and not private:
        raise ServingError(
            say(
                "--lan: this computer has no private address (such as 192.168.4.7).\n"
                "  Join the workshop's network first, or leave --lan out."
            )
        )
    sockets = bound((LOOPBACK, *private), wanted.port)
    try:
        port = sockets[0].getsockname()[1]
        here = f"http://{LOOPBACK}:{port}"
        address = _address(wanted, private, port)
        _settle(wanted, hosts(private, wanted.hosts), address)
        join, records = _open(wanted)
    except BaseException:
        for each in sockets:
            each.close()
        raise
    return Ready(wanted, sockets, here, address, join and f"{address}{join}", records)


def _check(wanted: Wanted) -> None:
    if wanted.lan and wanted.behind_tls:
        raise ServingError(
            say(
                "--lan and --behind-tls do not go together: behind a proxy the server is reached"
                " through it alone.\n  Leave --lan out, and let the proxy listen to the network."
            )
        )
    if wanted.behind_tls and not (wanted.hosts or os.environ.get(HOSTS)):
        raise ServingError(
            say(
                "--behind-tls: under which name does the proxy stand?\n"
                "  Say it: tripmargin serve --behind-tls --host yard.example"
            )
        )
    if wanted.workers > 1 and not hasattr(os, "fork"):
        raise ServingError(
            say(
                "--workers {count}: this system makes no second process of a server.\n"
                "  Leave --workers out.",
                count=wanted.workers,
            )
        )


def _address(wanted: Wanted, private: Sequence[str], port: int) -> str:
    """The address for others: the proxy's, the network's, or this computer's."""
    named = os.environ.get(ADDRESS)
    if named:
        return named.rstrip("/")
    if wanted.behind_tls:
        return f"https://{(*wanted.hosts, *os.environ.get(HOSTS, '').split())[0]}"
    return f"http://{private[0] if private else LOOPBACK}:{port}"


def _settle(wanted: Wanted, names: Sequence[str], address: str) -> None:
    """Put into the settings what the options say; workers inherit it."""
    known = os.environ.get(HOSTS, "").split()
    os.environ[HOSTS] = " ".join(dict.fromkeys((*names, *known)))
    os.environ[ADDRESS] = address
    # A setting left over from elsewhere must not make headers trusted that anybody can send.
    os.environ[BEHIND_TLS] = "yes" if wanted.behind_tls else "no"


def _open(wanted: Wanted) -> tuple[str, str]:
    """Open the records, bring the static files, make the owner's link where one is needed."""
    from tripmargin.records.opening import open_records

    open_records(settings="tripmargin.web.settings")
    from django.contrib.sessions.models import Session
    from django.db import connection, connections
    from django.urls import reverse
    from django.utils import timezone

    from tripmargin.records.keeping.invitations import owner_link
    from tripmargin.records.keeping.limits import forget_old
    from tripmargin.records.keeping.people import has_owner
    from tripmargin.web.serving.static_files import bring_static_files

    bring_static_files()
    Session.objects.filter(expire_date__lt=timezone.now()).delete()
    forget_old()
    join = ""
    if wanted.owner_link or not has_owner():
        join = reverse("join", args=[owner_link().token])
    where = connection.settings_dict
    records = str(where["NAME"])
    if connection.vendor == "postgresql":
        records = say("PostgreSQL, database {name} on this computer", name=where["NAME"])
        if where["HOST"]:
            records = say(
                "PostgreSQL, database {name} on {host}", name=where["NAME"], host=where["HOST"]
            )
    connections.close_all()  # a connection must not be shared by two processes
    return join, records


def serve(ready: Ready) -> None:
    """Answer until Ctrl-C or SIGTERM.

    Raises
    ------
    ServingError
        If the server's processes die as fast as they are started.
    """
    from tripmargin.web.serving.workers import Workers, stop_on_signals
    from tripmargin.web.wsgi import application

    _log()
    _ready_for_many()
    try:
        if ready.wanted.workers == 1:
            stop_on_signals()
            _answer(application, ready)
        else:
            Workers(ready.wanted.workers, lambda: _answer(application, ready)).run()
    finally:
        for each in ready.sockets:
            each.close()


def _ready_for_many() -> None:
    """Do once, before there are several processes, what those who ask would else wait for.

    What is in memory now stays as long as the process. Python's collector of garbage looks through
    all of it each time it comes to its last generation: some 0.1 s in which nobody is answered. Set
    aside, it is not looked through, and several processes share it.
    """
    import gc

    from django.urls import reverse

    reverse("machines")  # finding one address brings in the pages of all
    gc.collect()
    gc.freeze()
    sys.setswitchinterval(TURN)


def _answer(application: Callable[..., Any], ready: Ready) -> None:
    """Run waitress in this process until it is told to stop; what is under way is finished."""
    from waitress import create_server

    proxy: dict[str, Any] = {}
    if ready.wanted.behind_tls:
        proxy = {
            "trusted_proxy": LOOPBACK,
            "trusted_proxy_count": 1,
            "trusted_proxy_headers": {"x-forwarded-for", "x-forwarded-proto"},
        }
    create_server(
        application,
        sockets=list(ready.sockets),
        threads=THREADS,
        max_request_body_size=LARGEST,
        channel_timeout=60,
        connection_limit=500,
        asyncore_use_poll=True,
        ident=None,
        clear_untrusted_proxy_headers=True,
        **proxy,
    ).run()


def _log() -> None:
    """Mistakes of ours and strange requests, to standard error; what people do is not logged."""
    import logging

    logging.basicConfig(format="%(asctime)s %(levelname)s %(name)s: %(message)s")
    logging.getLogger("django.request").setLevel(logging.ERROR)  # a 404 is nobody's mistake
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
