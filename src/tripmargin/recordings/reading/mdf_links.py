"""Whether the blocks of an MDF file lead on to an end: in a spoilt one they may lead in a ring.

A reader that follows a ring never comes back. Block headers and the places of links: ASAM MDF 4.1
and 3.3, from memory; checked against files that another tool wrote.
"""

from __future__ import annotations

import struct
from collections.abc import Callable
from typing import BinaryIO

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.refusing import refusal

_FIRST = 64  # byte of the header block, behind the identification
_MOST = 1_000_000  # blocks
_LINKS_4 = {
    b"##HD": (0, 1, 2, 3, 4), b"##DG": (0, 1, 2), b"##CG": (0, 1), b"##CN": (0, 1),
    b"##FH": (0,), b"##AT": (0,), b"##CH": (0, 1), b"##EV": (0,), b"##SR": (0,),
    b"##DL": (0,), b"##HL": (0,), b"##CA": (0,), b"##LD": (0,),
}  # fmt: skip
"""Which of a block's links lead on or down; others point back, or at words."""
_LINKS_3 = {b"HD": (4,), b"DG": (4, 8), b"CG": (4, 8), b"CN": (4,)}
"""The same, as bytes from the block's beginning."""
_Read = Callable[[BinaryIO, int], tuple[int, ...]]


def refuse_rings(original: Original, kind: str) -> None:
    """Follow all links once.

    Raises
    ------
    RecordingError
        Where they come back to a block that led there, or there are more than a million.
    """
    with original.open() as file:
        file.seek(24)
        order = ">" if kind == "MDF3" and file.read(2) not in (b"\0\0", b"") else "<"

        def links(file: BinaryIO, place: int) -> tuple[int, ...]:
            return _links_3(file, place, order) if kind == "MDF3" else _links_4(file, place)

        ring = _ring(file, original.size, links)
    if ring is None:
        return
    raise refusal(
        original.path,
        say("the MDF file is damaged: its blocks lead on without an end"),
        where=say("block at byte"),
        value=str(ring),
        allowed=say("a whole file"),
        hint=say("Copy it from the logger again: the copy or the writing broke off."),
    )


def _ring(file: BinaryIO, size: int, links: _Read) -> int | None:
    """Place of a block that leads back to itself; None where all come to an end."""
    on_the_way: set[int] = set()
    done: set[int] = set()
    stack: list[tuple[int, bool]] = [(_FIRST, False)]
    while stack:
        place, leaving = stack.pop()
        if leaving:
            on_the_way.discard(place)
            done.add(place)
            continue
        if place in on_the_way or len(done) > _MOST:
            return place
        if place in done:
            continue
        on_the_way.add(place)
        stack.append((place, True))
        # Only what is on the way down from here can lead back to it: a chain stays in one piece.
        stack += [(each, False) for each in links(file, place) if 0 < each < size]
    return None


def _links_4(file: BinaryIO, place: int) -> tuple[int, ...]:
    file.seek(place)
    head = file.read(24)
    chosen = _LINKS_4.get(head[:4], ())
    if len(head) < 24 or not chosen:
        return ()
    count = min(struct.unpack_from("<Q", head, 16)[0], max(chosen) + 1)
    body = file.read(8 * count)
    found = struct.unpack_from(f"<{len(body) // 8}Q", body)
    return tuple(found[k] for k in chosen if k < len(found))


def _links_3(file: BinaryIO, place: int, order: str) -> tuple[int, ...]:
    file.seek(place)
    head = file.read(12)
    chosen = _LINKS_3.get(head[:2], ())
    return tuple(struct.unpack_from(f"{order}I", head, k)[0] for k in chosen if len(head) >= k + 4)
