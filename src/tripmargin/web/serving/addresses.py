"""Where the server listens: this computer alone, or its private addresses as well."""

from __future__ import annotations

import errno
import ipaddress
import socket
from collections.abc import Iterable
from contextlib import suppress

from tripmargin.ground.errors import TripmarginError
from tripmargin.ground.languages import say

LOOPBACK = "127.0.0.1"
THIS_COMPUTER = ("localhost", LOOPBACK, "[::1]")
_WHERE = 0x8915  # SIOCGIFADDR, Linux: netdevice(7)


class ServingError(TripmarginError):
    """The server cannot be started, or not so; the text says what to do."""


def private_addresses() -> tuple[str, ...]:
    """The IPv4 addresses of this computer that the internet does not reach, the usual one first.

    Such as 192.168.4.7; IANA's registry of special addresses, as Python's `ipaddress` holds it.
    """
    found = [_towards_others(), *_of_interfaces(), *_of_the_name()]
    return tuple(dict.fromkeys(one for one in found if _is_private(one)))


def _is_private(address: str) -> bool:
    """Whether only a network of one's own reaches it.

    >>> [_is_private(each) for each in ("192.168.4.7", "127.0.0.1", "169.254.1.1", "8.8.8.8", "")]
    [True, False, False, False, False]
    """
    try:
        one = ipaddress.IPv4Address(address)
    except ValueError:
        return False
    return one.is_private and not (one.is_loopback or one.is_link_local or one.is_unspecified)


def _towards_others() -> str:
    """The address from which a packet to another private network would leave; none is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, suppress(OSError):
        probe.connect(("10.255.255.255", 9))
        return str(probe.getsockname()[0])
    return ""


def _of_interfaces() -> Iterable[str]:
    try:
        import fcntl
    except ImportError:  # not on this system; its name is asked for instead
        return
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        for _, name in socket.if_nameindex():
            with suppress(OSError):  # an interface without an address
                asked = name.encode()[:15].ljust(256, b"\0")
                yield socket.inet_ntoa(fcntl.ioctl(probe.fileno(), _WHERE, asked)[20:24])


def _of_the_name() -> Iterable[str]:
    with suppress(OSError):
        for found in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
            yield str(found[4][0])


def hosts(addresses: Iterable[str], named: Iterable[str]) -> tuple[str, ...]:
    """The names that the server answers to: this computer's, its addresses', and those given.

    Raises
    ------
    ServingError
        If a name is none, or stands for all names.
    """
    given = tuple(_checked_host(name) for name in named)
    return tuple(dict.fromkeys((*THIS_COMPUTER, *addresses, *given)))


def _checked_host(name: str) -> str:
    plain = name[1:-1] if name.startswith("[") and name.endswith("]") else name
    allowed = "-._:" if plain is not name else "-._"
    if not plain or plain[0] in ".-" or any(not (c.isalnum() or c in allowed) for c in plain):
        raise ServingError(
            say(
                '--host "{name}": not the name of a computer.\n'
                "  Allowed: a name or an address without http:// and without a port,"
                " such as yard.example or 192.168.4.7.",
                name=name,
            )
        )
    return name.lower()


def bound(addresses: Iterable[str], port: int) -> list[socket.socket]:
    """Listening sockets on every address, all on one port; port 0 takes a free one.

    Raises
    ------
    ServingError
        If the port is taken, or not to be had.
    """
    sockets: list[socket.socket] = []
    try:
        for address in addresses:
            one = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
            sockets.append(one)
            one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            one.bind((address, port))
            one.listen(128)  # from here on a browser waits instead of being turned away
            port = one.getsockname()[1]
    except OSError as error:
        for each in sockets:
            each.close()
        raise ServingError(_why_not(error, address, port)) from error
    return sockets


def _why_not(error: OSError, address: str, port: int) -> str:
    if error.errno == errno.EADDRINUSE:
        return say(
            "Port {port} of {address} is taken: by another program, or by a tripmargin that is"
            " running already.\n  Stop that, or choose another: {command}",
            port=port,
            address=address,
            command=f"tripmargin serve --port {port + 1}",
        )
    if error.errno in (errno.EACCES, errno.EPERM):
        return say(
            "Port {port} may not be opened by you: those under 1024 belong to the system.\n"
            "  Choose another, such as --port 8765; a proxy may stand before it.",
            port=port,
        )
    return say(
        "{address}, port {port}: cannot be opened: {why}.",
        address=address,
        port=port,
        why=error.strerror or error,
    )
