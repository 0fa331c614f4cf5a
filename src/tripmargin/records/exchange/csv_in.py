"""Entries from a CSV file, row by row."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import later, say, say_many
from tripmargin.records.exchange.cells import unprotected, value_of
from tripmargin.records.exchange.columns import FIXED, NEEDED, any_field, field_keys
from tripmargin.records.exchange.incoming import Incoming, bad_letters, read_id, read_time
from tripmargin.records.exchange.items import LONGEST_NEAR
from tripmargin.records.exchange.lines import LONGEST_LINE, Lines
from tripmargin.records.exchange.troubles import Troubles
from tripmargin.records.keeping.sizes import LONGEST_KEY
from tripmargin.records.kinds import KINDS, EntryError, Wrong

DELIMITERS = {",": later("commas"), ";": later("semicolons"), "\t": later("tabs")}


def delimiter_of(path: Path) -> str:
    """What separates the columns, by the header: the one that gives the columns that are needed.

    A comma where none does: reading the file says what is wrong with it.
    """
    with path.open("rb") as file:
        head = file.read(LONGEST_LINE).decode("utf-8-sig", "replace").lstrip().splitlines()[:1]
    for delimiter in DELIMITERS:
        try:
            names = {cell.strip() for row in csv.reader(head, delimiter=delimiter) for cell in row}
        except csv.Error:
            continue
        if names.issuperset(NEEDED):
            return delimiter
    return ","


class CsvFile:
    """A CSV file of entries.

    Attributes
    ----------
    sha256 : str
        Of what was read last.
    without_zone : int
        How many times brought no zone and were taken as local.
    """

    def __init__(self, path: Path, troubles: Troubles, delimiter: str = ",") -> None:
        self.path, self.troubles, self.delimiter = path, troubles, delimiter
        # Who separates columns by semicolons does so because his decimal sign is the comma.
        self.decimal = "," if delimiter == ";" else "."
        self.sha256 = ""
        self.without_zone = 0

    def entries(self) -> Iterator[Incoming]:
        """The entries; raise `ImportRefusedError` where the file cannot be read any further."""
        lines = Lines(self.path, self.troubles)
        self.without_zone = 0
        header: list[str] | None = None
        first = 1
        for row in self._rows(lines):
            line, first = first, lines.number + 1
            if not any(cell.strip() for cell in row):
                continue
            if header is None:
                header = self._header(row, line)
            elif len(row) != len(header):
                seen = say_many("1 cell", "{count} cells", len(row))
                self.troubles.note(
                    line,
                    [
                        Wrong(
                            "",
                            seen,
                            say("not as many as there are columns"),
                            say("{count} cells a row", count=len(header)),
                            say("Is a quotation mark missing?"),
                        )
                    ],
                )
            else:
                yield self._entry(dict(zip(header, row, strict=True)), line)
        self.sha256 = lines.sha256.hexdigest()
        if header is None:
            self.troubles.stop(
                None,
                say("nothing in it"),
                say("a header: {columns}, ...", columns=", ".join(FIXED)),
            )

    def _rows(self, lines: Lines) -> Iterator[list[str]]:
        rows = csv.reader(lines, delimiter=self.delimiter, strict=True)
        while True:
            try:
                yield next(rows)
            except StopIteration:
                return
            except csv.Error as error:
                self.troubles.stop(
                    lines.number,
                    say("not CSV: {error}", error=error),
                    say(
                        "RFC 4180: cells with quotation marks, separators or line breaks"
                        " stand in quotation marks, those inside doubled"
                    ),
                    say("Is a quotation mark missing, here or before?"),
                )

    def _header(self, row: list[str], line: int) -> list[str]:
        names = [_column(unprotected(cell)) for cell in row]
        for other, word in DELIMITERS.items():
            if len(names) == 1 and other != self.delimiter and other in row[0]:
                sign = "tab" if other == "\t" else other
                self.troubles.stop(
                    line,
                    say("the columns are separated by {word}", word=say(word)),
                    say("columns separated by {word}", word=say(DELIMITERS[self.delimiter])),
                    say("Add --delimiter '{sign}' to read it as it is.", sign=sign),
                )
        known = field_keys(())
        seen: set[str] = set()
        for name in names:
            if name in seen:
                wrong = Wrong(name, "", say("the column is there twice"), say("each column once"))
                self.troubles.note(line, [wrong])
            elif len(name) > LONGEST_KEY:
                allowed = say("at most {most} letters", most=LONGEST_KEY)
                self.troubles.note(line, [Wrong(name, "", say("too long a name"), allowed)])
            elif name not in FIXED and any_field(name) is None:
                near = nearest(name[:LONGEST_NEAR], [*FIXED, *known])
                self.troubles.note(
                    line,
                    [
                        Wrong(
                            name or say("a column"),
                            "",
                            say("no such column"),
                            ", ".join([*FIXED, *known]),
                            say('Did you mean "{near}"?', near=near) if near else "",
                        )
                    ],
                )
            seen.add(name)
        self.troubles.note(
            line,
            [
                Wrong(name, "", say("the column is missing"), say("a column {name}", name=name))
                for name in NEEDED
                if name not in seen
            ],
        )
        self.troubles.raise_if_any()
        return names

    def _entry(self, cells: dict[str, str], line: int) -> Incoming:
        said = {key: cell for key, cell in cells.items() if cell}
        wrong = [bad for key, cell in said.items() if (bad := bad_letters(key, cell))]

        def text(key: str) -> str:
            return unprotected(said.get(key, ""))

        values, wrong_values = self._values(said, text("kind"))
        return Incoming(
            line=line,
            machine=text("machine"),
            kind=text("kind"),
            at=self._time("at", said, wrong),
            received_at=self._time("received_at", said, wrong),
            who=text("who"),
            note=text("note"),
            source=text("source") or "import",
            uid=_id("uid", said, wrong),
            corrects=_id("corrects", said, wrong),
            values=values,
            wrong=wrong + wrong_values,
        )

    def _time(self, key: str, said: dict[str, str], wrong: list[Wrong]) -> datetime | None:
        if key not in said:
            return None
        found = read_time(key, said[key])
        if isinstance(found, Wrong):
            wrong.append(found)
            return None
        self.without_zone += not found[1]
        return found[0]

    def _values(self, said: dict[str, str], name: str) -> tuple[dict[str, Any], list[Wrong]]:
        kind = KINDS.get(name)
        values: dict[str, Any] = {}
        wrong: list[Wrong] = []
        for key, cell in said.items():
            if key in FIXED:
                continue
            field = kind.field_of(key) if kind else None
            if field is None:
                values[key] = cell  # told with the kind, or as a value that the kind has not
                continue
            try:
                values[key] = value_of(field, key, cell, decimal=self.decimal)
            except EntryError as error:
                wrong += error.wrong
        return values, wrong


def _column(name: str) -> str:
    """Without spaces around it, unless they belong to a name of the machine's own."""
    return name if any_field(name) else name.strip()


def _id(key: str, said: dict[str, str], wrong: list[Wrong]) -> UUID | None:
    found = read_id(key, said[key]) if key in said else None
    if isinstance(found, Wrong):
        wrong.append(found)
        return None
    return found
