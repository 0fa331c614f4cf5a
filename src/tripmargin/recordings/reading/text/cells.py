"""Where the cells of a table begin and end: found for a whole piece of text at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Places = NDArray[np.intp]
Bytes = NDArray[np.uint8]
FEED, BLANK, QUOTE, CELL_END = 10, 32, 34, 31
PAD = 8  # zeros before and behind, so that eight letters can be taken anywhere
_TAB_TO_BLANK = bytes.maketrans(b"\t", b" ")


@dataclass(frozen=True)
class Cells:
    """The cells of a piece's complete rows.

    Attributes
    ----------
    letters
        The text, with `PAD` zeros ("0") at both ends; places count from the text's first letter.
    starts, ends
        (rows, columns) first letter and the one behind the last; blanks around are left out.
    points, powers
        (rows, columns) place of the decimal sign and of the letter e, `ends` where there is none.
    lines
        (rows,) line of each row, from the piece's first line, 0.
    odd
        Lines that have another number of cells, with that number.
    """

    letters: Bytes
    starts: Places
    ends: Places
    points: Places
    powers: Places
    lines: Places
    odd: tuple[tuple[int, int], ...] = ()

    def text(self, row: int, column: int) -> str:
        """A cell as it is written."""
        start, end = self.starts[row, column], self.ends[row, column]
        return bytes(self.letters[PAD + start : PAD + end]).decode("utf-8", "replace")


def cells_of(text: bytes, delimiter: str, decimal: str, width: int) -> Cells:
    """The cells of whole lines.

    Parameters
    ----------
    text
        UTF-8, ended by a line feed.
    delimiter, decimal
        One sign each. A blank as delimiter stands for any number of blanks and tabs.
    width
        Cells that a complete row has.
    """
    ends_cell, sign = ord(delimiter), ord(decimal)
    if QUOTE in text:
        text, ends_cell = _unquoted(text, ends_cell), CELL_END
    if ends_cell == BLANK:
        text = text.translate(_TAB_TO_BLANK)
    letters = np.full(len(text) + 2 * PAD, 48, np.uint8)
    letters[PAD:-PAD] = np.frombuffer(text, np.uint8)
    found = _found(text, ends_cell, sign, letters)
    found = _trimmed(text, letters, found)
    return _in_rows(letters, found, width, ends_cell == BLANK)


@dataclass(frozen=True)
class _Found:
    starts: Places
    ends: Places
    points: Places
    powers: Places
    last: NDArray[np.bool_]  # in its line

    def only(self, chosen: NDArray[np.bool_]) -> _Found:
        starts, ends, points, powers = (
            each[chosen] for each in (self.starts, self.ends, self.points, self.powers)
        )
        return _Found(starts, ends, points, powers, self.last[chosen])


def _found(text: bytes, ends_cell: int, sign: int, letters: Bytes) -> _Found:
    with_powers = b"e" in text or b"E" in text
    table = bytearray(256)
    for each in (ends_cell, FEED, sign, *(b"eE" if with_powers else b"")):
        table[each] = 1
    marks = np.flatnonzero(np.frombuffer(text.translate(bytes(table)), np.bool_))
    kinds = letters[PAD:][marks]
    is_end = (kinds == ends_cell) | (kinds == FEED)
    if not with_powers and len(marks) % 2 == 0 and is_end[1::2].all() and not is_end[::2].any():
        ends, points = marks[1::2], marks[::2]  # as loggers write: one sign in each number
        powers, last = ends, kinds[1::2] == FEED
    else:
        ends, last = marks[is_end], kinds[is_end] == FEED
        cell = np.cumsum(is_end)
        points = ends.copy()
        is_point = (kinds == sign) & ~is_end
        points[cell[is_point]] = marks[is_point]
        powers = ends.copy()
        is_power = ~is_end & ~is_point
        powers[cell[is_power]] = marks[is_power]
        points = np.where(points > powers, powers, points)  # a sign behind the e is no number
    starts = np.empty_like(ends)
    starts[:1] = 0
    starts[1:] = ends[:-1] + 1
    return _Found(starts, ends, points, powers, last)


def _trimmed(text: bytes, letters: Bytes, found: _Found) -> _Found:
    """Without the blanks around each cell."""
    if BLANK not in text and 9 not in text:
        return found
    body = letters[PAD:]
    starts, ends = found.starts.copy(), found.ends.copy()
    while (more := _blank(body[starts]) & (starts < ends)).any():
        starts += more
    while (more := _blank(body[ends - 1]) & (starts < ends)).any():
        ends -= more
    points = np.where(found.points == found.ends, ends, found.points)
    powers = np.where(found.powers == found.ends, ends, found.powers)
    return _Found(starts, ends, np.minimum(points, powers), powers, found.last)


def _blank(letters: Bytes) -> NDArray[np.bool_]:
    return np.asarray((letters == BLANK) | (letters == 9))


def _in_rows(letters: Bytes, found: _Found, width: int, blanks: bool) -> Cells:
    count = len(found.ends)
    rows = int(np.count_nonzero(found.last))
    if not blanks and count == rows * width and found.last[width - 1 :: width].all():
        lines = np.arange(rows)
        return _cells(letters, found, width, lines, ())
    line: Places = np.cumsum(found.last) - found.last
    empty = found.starts == found.ends
    kept = np.ones(count, np.bool_)
    if blanks:
        kept = ~empty
    counts = np.bincount(line[kept], minlength=rows)
    if not blanks:
        first = np.flatnonzero(np.concatenate([[True], found.last[:-1]]))
        counts[(counts == 1) & empty[first]] = 0  # a blank line
    good = counts == width
    odd = np.flatnonzero(~good & (counts > 0))
    told = tuple((int(each), int(counts[each])) for each in odd)
    return _cells(letters, found.only(kept & good[line]), width, np.flatnonzero(good), told)


def _cells(
    letters: Bytes, found: _Found, width: int, lines: Places, odd: tuple[tuple[int, int], ...]
) -> Cells:
    starts, ends, points, powers = (
        each.reshape(-1, width) for each in (found.starts, found.ends, found.points, found.powers)
    )
    return Cells(letters, starts, ends, points, powers, lines, odd)


def _unquoted(text: bytes, delimiter: int) -> bytes:
    """The text without quotation marks; the delimiters outside them become `CELL_END`.

    A mark counts within its line only, so that a stray one spoils one line and no more.
    """
    letters = np.frombuffer(text, np.uint8).copy()
    marks = letters == QUOTE
    seen = np.cumsum(marks)
    feeds = np.flatnonzero(letters == FEED)
    before = np.concatenate([[0], seen[feeds[:-1]]])  # marks in the lines above
    lengths = np.diff(np.concatenate([[-1], feeds]))
    inside = (seen - np.repeat(before, lengths)) % 2 == 1
    parts = letters == delimiter
    if delimiter == BLANK:
        parts |= letters == 9
    letters[parts & ~inside] = CELL_END
    return bytes(letters[~marks])
