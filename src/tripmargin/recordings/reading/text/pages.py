"""A text as a table that is read by the page, from any page on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import nan

import numpy as np
from numpy.typing import NDArray

from tripmargin.recordings.reading.naming import unit_factor
from tripmargin.recordings.reading.table import Page
from tripmargin.recordings.reading.text.cells import Cells, cells_of
from tripmargin.recordings.reading.text.clock import Clock
from tripmargin.recordings.reading.text.file import Piece, TextFile
from tripmargin.recordings.reading.text.notes import Notes
from tripmargin.recordings.reading.text.numbers import parsed
from tripmargin.recordings.reading.text.sniffing import Written, split
from tripmargin.recordings.reading.text.words import CellReader, Reading

Floats = NDArray[np.float64]
_REMEMBERED = 4096  # words with their readings


@dataclass(frozen=True)
class _Begin:
    """Where a page begins, and how many days of a time of day passed before it."""

    offset: int
    line: int
    days: float = 0.0
    before: float = 0.0


@dataclass
class TextPages:
    """The rows of a text; `places` are the columns of its channels."""

    file: TextFile
    how: Written
    clock: Clock
    places: tuple[int, ...]
    notes: Notes
    units: Mapping[int, str] = field(default_factory=dict)  # of columns whose cells carry them
    begins: list[_Begin] = field(default_factory=list)
    _known: dict[str, Reading] = field(default_factory=dict)
    _seen_whole: bool = False

    def __post_init__(self) -> None:
        self.reader = CellReader(self.how.decimal, self.how.thousands)
        if not self.begins:
            line = self.how.first + 1
            self.begins.append(_Begin(self.file.offset_of_line(line), line))

    def pages(self, columns: Sequence[int], first: int = 0) -> Iterator[Page]:
        """Pages of some channels, by their numbers from 0."""
        chosen = [self.places[k] for k in columns]
        begin = self.begins[first]
        days, before = begin.days, begin.before
        notes = None if self._seen_whole else self.notes
        number = first
        for piece in self.file.pieces(begin.offset, begin.line):
            if number == len(self.begins):
                self.begins.append(_Begin(piece.offset, piece.line, days, before))
            number += 1
            page, days, before = self._page(piece, chosen, days, before, notes)
            yield page
        self._seen_whole = True

    def _page(
        self, piece: Piece, chosen: list[int], days: float, before: float, notes: Notes | None
    ) -> tuple[Page, float, float]:
        cells = cells_of(piece.text, self.how.delimiter, self.how.decimal, self.how.width)
        lines = piece.line + cells.lines
        if notes is not None:
            notes.rows += len(lines)
            self._odd(cells, piece, notes)
        clock = self.clock
        stamps = None
        if clock.column is not None and clock.kind != "n":
            stamps, days, before = clock.of_text(cells, days, before)
            values = self._numbers(cells, chosen, lines, notes)
        elif clock.column is not None:
            both = self._numbers(cells, [clock.column, *chosen], lines, notes)
            stamps, values = (both[:, 0] - clock.number.origin) * clock.number.factor, both[:, 1:]
        else:
            values = self._numbers(cells, chosen, lines, notes)
        return Page(stamps, values, lines), days, before

    def _numbers(
        self, cells: Cells, chosen: list[int], lines: NDArray[np.intp], notes: Notes | None
    ) -> Floats:
        if not chosen:
            return np.empty((len(lines), 0))
        # Columns that stand side by side are a view; others must be gathered.
        side_by_side = chosen == list(range(chosen[0], chosen[0] + len(chosen)))
        some = slice(chosen[0], chosen[0] + len(chosen)) if side_by_side else chosen
        starts, ends, points, powers = (
            each[:, some] for each in (cells.starts, cells.ends, cells.points, cells.powers)
        )
        values, read = parsed(cells.letters, starts, ends, points, powers)
        if read.all():
            return values
        values[~read] = np.nan
        empty = starts == ends
        if notes is not None:
            for k in np.flatnonzero(empty.any(axis=0)):
                rows = np.flatnonzero(empty[:, k])
                notes.missing(chosen[k], int(lines[rows[0]]), len(rows))
        for row, k in np.argwhere(~read & ~empty):
            text = cells.text(row, chosen[k])
            found = self._reading(text)
            if found.unit:
                found = self._in_unit(found, chosen[k])
            values[row, k] = found.value
            if found.trouble == "mixed":
                self.notes.mixed(chosen[k], int(lines[row]), text)
            elif notes is not None and found.trouble == "missing":
                notes.missing(chosen[k], int(lines[row]), 1, text)
            elif notes is not None and found.trouble:
                notes.unreadable(chosen[k], int(lines[row]), text)
        return values

    def _reading(self, text: str) -> Reading:
        """What a cell says; words come again and again."""
        found = self._known.get(text)
        if found is None:
            found = self.reader.read(text)
            if len(self._known) < _REMEMBERED:
                self._known[text] = found
        return found

    def _in_unit(self, found: Reading, column: int) -> Reading:
        """A cell with a unit of its own, in its column's."""
        factor = unit_factor(found.unit, self.units.get(column, found.unit))
        return Reading(nan, "unreadable") if factor is None else Reading(found.value * factor)

    def _odd(self, cells: Cells, piece: Piece, notes: Notes) -> None:
        """Lines that are no complete rows."""
        if not cells.odd:
            return
        texts = piece.text.split(b"\n")
        for place, count in cells.odd:
            text = texts[place].decode("utf-8", "replace").strip()
            last = place == len(texts) - 2 and not piece.whole
            numbers = any(self.reader.is_number(cell) for cell in split(text, self.how.delimiter))
            comment = text[:1] in "#%" or text.startswith("//")
            notes.odd_row(
                piece.line + place, text, count, self.how.width,
                numbers=numbers and not comment, cut=last and count < self.how.width,
            )  # fmt: skip
