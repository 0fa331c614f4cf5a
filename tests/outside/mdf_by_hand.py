"""A plain reading of MDF 4 for the tests: blocks and links by `struct`, nothing clever.

From the format's public description (ASAM MDF 4.1: blocks ID, HD, DG, CG, CN, CC, DT, DL, HL, DZ),
from memory. It reads sorted groups of channels with a fixed length, with no conversion or a linear
one, and passes over the rest.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

_KINDS = {0: "<u", 1: ">u", 2: "<i", 3: ">i", 4: "<f", 5: ">f"}


@dataclass(frozen=True)
class Found:
    """A channel's numbers: its group from 1, and whether it is the group's time."""

    group: int
    name: str
    is_time: bool
    values: np.ndarray


def channels(data: bytes) -> Iterator[Found]:
    """Every channel that can be read plainly."""
    group, number = _links(data, 64)[0], 0
    while group:
        links = _links(data, group)
        number += 1
        channel_group = links[1]
        records = _records(data, links[2])
        body = _body(data, channel_group)
        count, (size, invalid) = (
            struct.unpack_from("<Q", body, 8)[0],
            struct.unpack_from("<II", body, 24),
        )
        place = _links(data, channel_group)[1]
        whole = size + invalid
        table = np.frombuffer(records[: count * whole], np.uint8).reshape(count, whole)
        while place:
            found = _channel(data, place, table)
            if found is not None:
                name = _text(data, _links(data, place)[2])
                yield Found(number, name, _body(data, place)[0] == 2, found)
            place = _links(data, place)[0]
        group = links[0]


def _channel(data: bytes, place: int, table: np.ndarray) -> np.ndarray | None:
    body = _body(data, place)
    kind, _, coding, bit = body[:4]
    byte, bits = struct.unpack_from("<II", body, 4)
    if kind not in (0, 2) or coding not in _KINDS or bit or bits not in (8, 16, 32, 64):
        return None
    raw = np.ascontiguousarray(table[:, byte : byte + bits // 8])
    values = raw.view(f"{_KINDS[coding]}{bits // 8}")[:, 0].astype(np.float64)
    conversion = _links(data, place)[4]
    if not conversion:
        return values
    rule = _body(data, conversion)
    if rule[0] == 0:
        return values
    if rule[0] == 1:
        offset, factor = struct.unpack_from("<dd", rule, 24)
        return offset + factor * values
    return None


def _records(data: bytes, place: int) -> bytes:
    """The bytes of a group's records, put together and unpacked."""
    if not place:
        return b""
    name, links = data[place : place + 4], _links(data, place)
    if name == b"##HL":
        return _records(data, links[0])
    if name == b"##DL":
        made = b"".join(_records(data, link) for link in links[1:] if link)
        return made + _records(data, links[0])
    body = _body(data, place)
    if name == b"##DZ":
        transposed, width, length = body[2], *struct.unpack_from("<IQ", body, 4)
        made = zlib.decompress(body[24:])
        if transposed:
            rows = length // width
            turned = np.frombuffer(made[: rows * width], np.uint8).reshape(width, rows).T
            made = turned.tobytes() + made[rows * width :]
        return made
    assert name == b"##DT", name
    return body


def _links(data: bytes, place: int) -> tuple[int, ...]:
    (count,) = struct.unpack_from("<Q", data, place + 16)
    return struct.unpack_from(f"<{count}Q", data, place + 24)


def _body(data: bytes, place: int) -> bytes:
    length, count = struct.unpack_from("<QQ", data, place + 8)
    return data[place + 24 + 8 * count : place + length]


def _text(data: bytes, place: int) -> str:
    return _body(data, place).split(b"\0")[0].decode("utf-8") if place else ""
