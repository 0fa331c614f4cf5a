"""What a WAV file's header promises, and what is there.

RIFF/WAVE: chunks of four letters and a length each; "fmt " has the rate, "data" the samples
(Multimedia Programming Interface and Data Specifications 1.0, 1991, from memory; the odd files of
scipy's tests show what occurs). "ds64" holds lengths beyond 4 GB (EBU Tech 3306), "bext" the
recorder's date (EBU Tech 3285); both from memory.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from io import RawIOBase
from typing import BinaryIO, cast

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.refusing import refusal

_NOT_SAID = (0, 0xFFFFFFFF)
_HEADER_MOST = 1 << 20  # bytes before the samples that are looked through
_ROOM = 1 << 16
_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE


@dataclass(frozen=True)
class WavHeader:
    """The parts of a header that may lie.

    Attributes
    ----------
    rate, byte_rate
        Samples and bytes a second.
    frame
        Bytes of one sample of all channels.
    coding
        1 whole numbers, 3 floating point, others compressed.
    format_at, data_at
        Where the format's fields and the samples begin.
    said, there
        Bytes of samples by the header, and to the end of the file.
    goes_on
        Whether samples, not another chunk, stand behind the length said.
    began
        ISO 8601, where the recorder wrote it.
    """

    little: bool
    rate: int
    byte_rate: int
    frame: int
    coding: int
    format_at: int
    data_at: int
    said: int
    there: int
    goes_on: bool
    began: str = ""

    @property
    def has_no_length(self) -> bool:
        """Whether the recorder never wrote the length."""
        return self.said in _NOT_SAID and self.there > 0

    @property
    def plain(self) -> bool:
        """Whether samples are numbers of a fixed size."""
        return self.coding in (_PCM, _FLOAT)

    @property
    def contradicts_itself(self) -> bool:
        """Whether bytes a second and samples a second do not agree."""
        return self.plain and self.byte_rate != self.rate * self.frame


def wav_header(original: Original) -> WavHeader:
    """The header of a WAV file.

    Raises
    ------
    RecordingError
        Where the file ends before its samples begin.
    """
    with original.open() as file:
        mark = file.read(12)
        little = mark[:4] != b"RIFX"
        order = "<" if little else ">"
        place, long_length, fields, began = 12, None, None, ""
        while place < _HEADER_MOST:
            file.seek(place)
            chunk = file.read(8)
            if len(chunk) < 8:
                break
            name, length = chunk[:4], struct.unpack(f"{order}I", chunk[4:])[0]
            if name == b"ds64":
                long_length = struct.unpack("<Q", file.read(16)[8:])[0]
            elif name == b"fmt ":
                fields = _format(file.read(min(length, 40)), order, place + 8)
            elif name == b"bext":
                began = _date(file.read(min(length, 338)))
            elif name == b"data" and fields is not None:
                if length == 0xFFFFFFFF and long_length is not None:
                    length = long_length
                there = max(0, original.size - place - 8)
                goes_on = _goes_on(file, place + 8 + length, original.size, order, length)
                return WavHeader(little, *fields, place + 8, length, there, goes_on, began)
            place += 8 + length + length % 2
    raise refusal(
        original.path,
        say("the file ends before any sample"),
        where=say("WAV header"),
        allowed=say("a header and samples"),
        hint=say("Copy it from the recorder again."),
    )


def _format(data: bytes, order: str, place: int) -> tuple[int, int, int, int, int] | None:
    if len(data) < 16:
        return None
    coding, _, rate, byte_rate, frame, _ = struct.unpack(f"{order}HHIIHH", data[:16])
    if coding == _EXTENSIBLE and len(data) >= 26:
        coding = struct.unpack(f"{order}H", data[24:26])[0]
    return rate, byte_rate, frame, coding, place


def _date(data: bytes) -> str:
    """Date and time of a recorder's own chunk."""
    text = data[320:338].decode("latin-1")
    day, clock = text[:10], text[10:18]
    if len(day) == 10 and day[:4].isdecimal() and clock[:2].isdecimal():
        return f"{day[:4]}-{day[5:7]}-{day[8:10]}T{clock[:2]}:{clock[3:5]}:{clock[6:8]}"
    return ""


def _goes_on(file: BinaryIO, end: int, size: int, order: str, length: int) -> bool:
    """Whether what follows the samples is no chunk."""
    end += length % 2
    if length in _NOT_SAID or size - end < 8:
        return False
    file.seek(end)
    chunk = file.read(8)
    name, behind = chunk[:4], struct.unpack(f"{order}I", chunk[4:])[0]
    if not any(chunk) and not any(file.read(_ROOM)):
        return False  # room that the recorder kept and did not need
    letters = all(32 <= byte < 127 for byte in name)
    return not (letters and end + 8 + behind <= size + 1)


class Patched:
    """A file read with some of its bytes replaced, or none; nothing is written."""

    def __init__(self, file: BinaryIO, patches: dict[int, bytes]) -> None:
        self._file, self._patches = file, patches

    def seek(self, place: int, whence: int = 0) -> int:
        """As a file does; a place that cannot be, as spoilt headers name them, is passed over."""
        try:
            return self._file.seek(place, whence)
        except (OSError, ValueError, OverflowError):
            return self._file.tell()

    def tell(self) -> int:
        """As a file does."""
        return self._file.tell()

    def read(self, size: int = -1) -> bytes:
        """As a file does."""
        begin = self._file.tell()
        data = bytearray(self._file.read(size))
        for place, patch in self._patches.items():
            for k, byte in enumerate(patch):
                if 0 <= place + k - begin < len(data):
                    data[place + k - begin] = byte
        return bytes(data)

    def readinto(self, buffer: memoryview) -> int:
        """As a file does."""
        if not self._patches:
            return cast(RawIOBase, self._file).readinto(buffer) or 0
        data = self.read(len(buffer))
        buffer[: len(data)] = data
        return len(data)

    def close(self) -> None:
        """As a file does."""
        self._file.close()


def patches(header: WavHeader, rate: float | None) -> dict[int, bytes]:
    """What to replace so that all samples that are there can be read."""
    order = "<" if header.little else ">"
    made = {}
    if header.goes_on or header.has_no_length:
        whole = header.there - (header.there % header.frame if header.frame else 0)
        made[header.data_at - 4] = struct.pack(f"{order}I", min(whole, 0xFFFFFFFF))
    if header.rate == 0 and rate is not None:
        made[header.format_at + 4] = struct.pack(f"{order}I", max(round(rate), 1))
    return made
