"""A text file's bytes: its encoding, its ends of lines, and whole lines by the piece."""

from __future__ import annotations

import codecs
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from tripmargin.ground.languages import say
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.recording import Guess

PIECE = 1 << 19  # bytes read at a time: small enough for a processor's cache, large for a disk
_LONGEST = 1 << 24  # bytes of one line
_BOMS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)


@dataclass(frozen=True)
class Piece:
    """Whole lines.

    Attributes
    ----------
    offset
        Byte of the file at which they begin.
    line
        Number of the first, from 1.
    text
        In UTF-8, each line ended by one line feed, the last one too.
    whole
        False where the file's last line has no end of its own.
    """

    offset: int
    line: int
    text: bytes
    whole: bool = True


def encoding_of(path: Path, head: bytes, asked: str | None) -> tuple[str, int, tuple[Guess, ...]]:
    """Encoding, bytes to skip before the text, and why.

    A byte order mark says it; without one, the pattern of zero bytes, then whether the beginning
    is well-formed UTF-8, and else Windows' Western European letters, which holds Latin-1.
    """
    for mark, named in _BOMS:
        if head.startswith(mark) and _agrees(asked, named):
            return named, len(mark), _guess(named, say("the file begins with its byte order mark"))
    if asked is not None:
        named = codecs.lookup(asked).name
        if named == "utf-16":
            named = "utf-16-le"
        return named.replace("utf-8-sig", "utf-8"), 0, ()
    for named, zeros in (("utf-16-le", head[1::2]), ("utf-16-be", head[0::2])):
        if len(head) >= 4 and zeros.count(0) > 0.8 * len(zeros) and _no_zeros(head, named):
            return named, 0, _guess(named, say("every second byte is 0"))
    if head.isascii():
        return "utf-8", 0, ()
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        because = say("the beginning is not UTF-8, and Western European letters are commonest then")
        return "cp1252", 0, _guess("cp1252", because)
    return "utf-8", 0, _guess("utf-8", say("the beginning is well-formed UTF-8"))


def _agrees(asked: str | None, named: str) -> bool:
    if asked is None:
        return True
    return codecs.lookup(asked).name.replace("-sig", "").startswith(named.removesuffix("-le")[:6])


def _no_zeros(head: bytes, named: str) -> bool:
    return "\0" not in head[: len(head) // 2 * 2].decode(named, "replace")


def _guess(named: str, because: str) -> tuple[Guess, ...]:
    return (Guess("encoding", named, because, "encoding"),)


@dataclass(frozen=True)
class TextFile:
    """The lines of a text, from any of its bytes on.

    `begin` is the first byte behind a byte order mark, `newline` what ends a line, in the file's
    own bytes.
    """

    original: Original
    encoding: str
    begin: int
    newline: bytes

    @classmethod
    def of(cls, original: Original, encoding: str, begin: int, head: bytes) -> TextFile:
        """With the end of lines that the beginning shows."""
        feed, back = ("\n".encode(encoding), "\r".encode(encoding))
        text = head[begin:]
        return cls(original, encoding, begin, back if back in text and feed not in text else feed)

    def head(self, size: int) -> list[str]:
        """The first lines, decoded; the last may be cut off where the file goes on."""
        with self.original.open() as file:
            file.seek(self.begin)
            data = file.read(size)
        cut = data if len(data) < size else data[: self._last_end(data)] or data
        lines = self._decoded(cut).split("\n")
        return lines[:-1] if lines and not lines[-1] else lines

    def offset_of_line(self, number: int) -> int:
        """Byte at which a line begins; lines count from 1."""
        left, at = number - 1, self.begin
        if left == 0:
            return at
        with self.original.open() as file:
            file.seek(at)
            while data := file.read(PIECE):
                place = 0
                while left and (found := self._end_after(data, place)):
                    place, left = found, left - 1
                if not left:
                    return at + place
                at += len(data)
        return at

    def pieces(self, offset: int, line: int) -> Iterator[Piece]:
        """Whole lines from an offset on; `line` is the number of the one that begins there.

        Raises
        ------
        RecordingError
            Where the file changes meanwhile, or a line has no end.
        """
        with self.original.open() as file:
            file.seek(offset)
            rest = b""
            while True:
                data = file.read(PIECE)
                whole = rest + data
                if not whole:
                    break
                end = self._last_end(whole) if data else len(whole)
                if end == 0:
                    rest = self._still_short(whole, line)
                    continue
                text = self._as_utf8(whole[:end])
                complete = text.endswith(b"\n")
                yield Piece(offset, line, text if complete else text + b"\n", complete)
                self.original.check()
                line += text.count(b"\n")
                offset, rest = offset + end, whole[end:]

    def _still_short(self, whole: bytes, line: int) -> bytes:
        if len(whole) > _LONGEST:
            raise refusal(
                self.original.path,
                say("no end of line within {longest} MB", longest=_LONGEST >> 20),
                line=line,
                allowed=say("rows of numbers"),
                hint=say("Is this a text file?"),
            )
        return whole

    def _as_utf8(self, data: bytes) -> bytes:
        if self.newline in (b"\n", b"\r") and data.isascii():
            text = data
        else:
            text = data.decode(self.encoding, "replace").encode()
        if b"\r" in text:
            text = text.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        return text

    def _decoded(self, data: bytes) -> str:
        return self._as_utf8(data).decode("utf-8", "replace")

    def _last_end(self, data: bytes) -> int:
        """Place behind the last end of line, 0 where there is none."""
        width = len(self.newline)
        place = len(data)
        while (place := data.rfind(self.newline, 0, place)) >= 0:
            if place % width == 0:
                return place + width
            place += width - 1
        return 0

    def _end_after(self, data: bytes, place: int) -> int:
        """Place behind the first end of line from `place` on, 0 where there is none."""
        width = len(self.newline)
        while (place := data.find(self.newline, place)) >= 0:
            if place % width == 0:
                return place + width
            place += 1
        return 0
