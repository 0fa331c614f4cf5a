"""What a text's rows had that numbers should not have: counted, the first of each with its line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tripmargin.ground.errors import shortened
from tripmargin.ground.units import percent
from tripmargin.recordings.reading.refusing import refusal
from tripmargin.recordings.recording import Trouble

_FEW_CELLS, _FEW_ROWS = 0.01, 0.001  # shares up to which spoilt cells and rows are left out
_ALWAYS = 3  # so many are left out in any file


@dataclass
class _Seen:
    line: int
    text: str
    count: int = 0


@dataclass
class Notes:
    """Collects while a text is read for the first time.

    `names` are the columns' names, for words.
    """

    path: Path
    names: Sequence[str]
    decimal: str
    delimiter: str
    rows: int = 0
    _missing: dict[int, _Seen] = field(default_factory=dict)
    _unreadable: dict[int, _Seen] = field(default_factory=dict)
    _ragged: _Seen | None = None
    _other: _Seen | None = None
    _width: tuple[int, int] = (0, 0)
    _cut: int | None = None

    def missing(self, column: int, line: int, count: int = 1, text: str = "") -> None:
        """Cells left empty, or with a word for nothing."""
        seen = self._missing.setdefault(column, _Seen(line, text))
        if line < seen.line:
            seen.line, seen.text = line, text
        seen.count += count

    def unreadable(self, column: int, line: int, text: str) -> None:
        """A cell that is neither a number nor a known word."""
        self._unreadable.setdefault(column, _Seen(line, text)).count += 1

    def mixed(self, column: int, line: int, text: str) -> None:
        """A number with the other decimal sign.

        Raises
        ------
        RecordingError
            Always: it could mean two numbers.
        """
        own, other = ("comma", "point") if self.decimal == "," else ("point", "comma")
        raise refusal(
            self.path,
            f"a {other} where the other numbers have a decimal {own}, and it does not part groups"
            " of three figures",
            line=line, where=self._where(column), value=text,
            allowed=f"one decimal sign throughout, here the {own}",
            hint=f'If {other}s are the decimal sign, say decimal="{other}"; if they part'
            f' thousands, say thousands="{other}". Where both occur, export the file again.',
        )  # fmt: skip

    def odd_row(self, line: int, text: str, cells: int, width: int, *, numbers: bool,
                cut: bool) -> None:  # fmt: skip
        """A line that is no complete row."""
        if cut:
            self._cut = line
        elif numbers:
            self._ragged = self._ragged or _Seen(line, text)
            self._width = self._width if self._ragged.count else (cells, width)
            self._ragged.count += 1
        else:
            self._other = self._other or _Seen(line, text)
            self._other.count += 1

    def _where(self, column: int) -> str:
        name = self.names[column]
        return f"column {column + 1} ({name})" if name else f"column {column + 1}"

    def refuse_too_many(self) -> None:
        """Refuse a file whose spoilt cells and rows are no accident.

        Raises
        ------
        RecordingError
            With the first of them.
        """
        if self._ragged and self._ragged.count > _ALWAYS + _FEW_ROWS * self.rows:
            cells, width = self._width
            hint = "Is there text with the delimiter in it, or did two writers share the file?"
            if self.delimiter == "," and cells > width:
                hint = "A decimal comma in a file parted by commas cannot be told: export it again"
                hint += " with semicolons or decimal points."
            raise refusal(
                self.path,
                f"{cells} cells in this row, and {self._ragged.count} such rows in all",
                line=self._ragged.line, where="row", value=self._ragged.text,
                allowed=f"{width} cells, as in most rows", hint=hint,
            )  # fmt: skip
        for column, seen in self._unreadable.items():
            if seen.count > _ALWAYS + _FEW_CELLS * self.rows:
                raise refusal(
                    self.path, f"no number, and {seen.count} such cells in this column",
                    line=seen.line, where=self._where(column), value=seen.text,
                    allowed="a number, an empty cell, or a word such as NaN",
                    hint="If the numbers begin further down, say header=LINES.",
                )  # fmt: skip

    def troubles(self) -> tuple[Trouble, ...]:
        """What was left out."""
        made = []
        for column, seen in self._missing.items():
            share = percent(seen.count / max(self.rows, 1))
            word = f' ("{shortened(seen.text)}")' if seen.text else ""
            words = (
                f"{self._where(column)}: {_counted(seen.count, 'cell')} ({share}) without a value,"
                f" first in line {seen.line}{word}."
            )
            made.append(Trouble("missing", _sentence(words)))
        for column, seen in self._unreadable.items():
            words = (
                f"{self._where(column)}: {_counted(seen.count, 'cell')} with no number,"
                f' counted as missing, first in line {seen.line}: "{shortened(seen.text)}".'
            )
            made.append(Trouble("unreadable", _sentence(words)))
        if self._ragged:
            cells, width = self._width
            words = (
                f"{_counted(self._ragged.count, 'line')} left out for the wrong number of cells,"
                f" first line {self._ragged.line}: {cells} instead of {width}."
            )
            made.append(Trouble("unreadable", words))
        if self._other:
            words = (
                f"{_counted(self._other.count, 'line')} without numbers left out, first line"
                f' {self._other.line}: "{shortened(self._other.text)}".'
            )
            made.append(Trouble("unreadable", words))
        if self._cut is not None:
            words = f"The last line, {self._cut}, is cut off and left out: the writing broke off."
            made.append(Trouble("truncated", words))
        return tuple(made)


def _sentence(words: str) -> str:
    return words[0].upper() + words[1:]


def _counted(count: int, thing: str) -> str:
    return f"1 {thing}" if count == 1 else f"{count} {thing}s"
