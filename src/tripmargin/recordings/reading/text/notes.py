"""What a text's rows had that numbers should not have: counted, the first of each with its line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import say, say_many
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
        if self.decimal == ",":
            problem = say(
                "a point where the other numbers have a decimal comma, and it does not part groups"
                " of three figures"
            )
            allowed = say("one decimal sign throughout, here the comma")
            hint = say(
                'If points are the decimal sign, say decimal="point"; if they part thousands, say'
                ' thousands="point". Where both occur, export the file again.'
            )
        else:
            problem = say(
                "a comma where the other numbers have a decimal point, and it does not part groups"
                " of three figures"
            )
            allowed = say("one decimal sign throughout, here the point")
            hint = say(
                'If commas are the decimal sign, say decimal="comma"; if they part thousands, say'
                ' thousands="comma". Where both occur, export the file again.'
            )
        where = self._where(column)
        raise refusal(
            self.path, problem, line=line, where=where, value=text, allowed=allowed, hint=hint
        )

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

    def _where(self, column: int, begins: bool = False) -> str:
        """The column; `begins` a sentence or stands within one."""
        name, number = self.names[column], column + 1
        if begins and name:
            return say("Column {number} ({name})", number=number, name=name)
        if begins:
            return say("Column {number}", number=number)
        if name:
            return say("column {number} ({name})", number=number, name=name)
        return say("column {number}", number=number)

    def refuse_too_many(self) -> None:
        """Refuse a file whose spoilt cells and rows are no accident.

        Raises
        ------
        RecordingError
            With the first of them.
        """
        if self._ragged and self._ragged.count > _ALWAYS + _FEW_ROWS * self.rows:
            cells, width = self._width
            hint = say("Is there text with the delimiter in it, or did two writers share the file?")
            if self.delimiter == "," and cells > width:
                hint = say(
                    "A decimal comma in a file parted by commas cannot be told: export it again"
                    " with semicolons or decimal points."
                )
            raise refusal(
                self.path,
                say(
                    "{cells} cells in this row, and {count} such rows in all",
                    cells=cells,
                    count=self._ragged.count,
                ),
                line=self._ragged.line,
                where="row",
                value=self._ragged.text,
                allowed=say("{width} cells, as in most rows", width=width),
                hint=hint,
            )
        for column, seen in self._unreadable.items():
            if seen.count > _ALWAYS + _FEW_CELLS * self.rows:
                raise refusal(
                    self.path,
                    say("no number, and {count} such cells in this column", count=seen.count),
                    line=seen.line,
                    where=self._where(column),
                    value=seen.text,
                    allowed=say("a number, an empty cell, or a word such as NaN"),
                    hint=say("If the numbers begin further down, say header=LINES."),
                )

    def troubles(self) -> tuple[Trouble, ...]:
        """What was left out."""
        made = []
        for column, seen in self._missing.items():
            values = {
                "column": self._where(column, begins=True),
                "line": seen.line,
                "share": percent(seen.count / max(self.rows, 1)),
                "text": shortened(seen.text),
            }
            if seen.text:
                words = say_many(
                    '{column}: 1 cell ({share}) without a value, first in line {line} ("{text}").',
                    "{column}: {count} cells ({share}) without a value, first in line {line}"
                    ' ("{text}").',
                    seen.count,
                    **values,
                )
            else:
                words = say_many(
                    "{column}: 1 cell ({share}) without a value, first in line {line}.",
                    "{column}: {count} cells ({share}) without a value, first in line {line}.",
                    seen.count,
                    **values,
                )
            made.append(Trouble("missing", words))
        for column, seen in self._unreadable.items():
            words = say_many(
                "{column}: 1 cell with no number, counted as missing, first in line {line}:"
                ' "{text}".',
                "{column}: {count} cells with no number, counted as missing, first in line {line}:"
                ' "{text}".',
                seen.count,
                column=self._where(column, begins=True),
                line=seen.line,
                text=shortened(seen.text),
            )
            made.append(Trouble("unreadable", words))
        if self._ragged:
            cells, width = self._width
            words = say_many(
                "1 line left out for the wrong number of cells, first line {line}: {cells}"
                " instead of {width}.",
                "{count} lines left out for the wrong number of cells, first line {line}: {cells}"
                " instead of {width}.",
                self._ragged.count,
                line=self._ragged.line,
                cells=cells,
                width=width,
            )
            made.append(Trouble("unreadable", words))
        if self._other:
            words = say_many(
                '1 line without numbers left out, first line {line}: "{text}".',
                '{count} lines without numbers left out, first line {line}: "{text}".',
                self._other.count,
                line=self._other.line,
                text=shortened(self._other.text),
            )
            made.append(Trouble("unreadable", words))
        if self._cut is not None:
            words = say(
                "The last line, {line}, is cut off and left out: the writing broke off.",
                line=self._cut,
            )
            made.append(Trouble("truncated", words))
        return tuple(made)
