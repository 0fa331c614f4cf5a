"""How a table is written: which sign parts cells, which stands in numbers, where numbers begin."""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tripmargin.recordings.reading.text.stamps import form_of, may_be_stamp, names_month
from tripmargin.recordings.reading.text.words import MISSING, SWITCHES, CellReader

DELIMITERS = (";", "\t", "|", ",", " ")
_WINDOW = 400  # lines looked at together
_ONE_COMMA = re.compile(r"[+-]?\d+,\d+")
_BRIDGED = 3  # lines in a row that may be spoilt without ending the table
_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}([., '\u2019\u00a0\u202f])\d{3}(?:\1\d{3})*(?:([.,])\d+)?")


@dataclass(frozen=True)
class Written:
    """How a table is written, and where its first row of numbers stands.

    `kinds` has one letter a column: n number, s stamp, d date, c clock, t text, m nothing.
    """

    delimiter: str
    decimal: str
    thousands: str | None
    width: int
    first: int
    kinds: tuple[str, ...]
    signed: bool  # whether any number shows the decimal sign
    cells: int = 0  # numbers in the run found


def split(line: str, delimiter: str) -> list[str]:
    """Cells of a line, quotation marks taken off.

    >>> split('a;"b;c"', ";"), split(" 1  2 ", " ")
    (['a', 'b;c'], ['1', '2'])
    """
    if delimiter == " ":
        return line.split() if '"' not in line else _quoted(" ".join(line.split()), " ")
    if '"' in line:
        return _quoted(line, delimiter)
    return [cell.strip() for cell in line.split(delimiter)]


def _quoted(line: str, delimiter: str) -> list[str]:
    try:
        row = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
    except (csv.Error, StopIteration):
        row = line.split(delimiter)
    return [cell.strip() for cell in row]


def written(
    lines: Sequence[str],
    *,
    delimiter: str | None = None,
    decimal: str | None = None,
    thousands: str | None = None,
    header: int | None = None,
) -> Written | None:
    """The best reading of a text's first lines; None where no row of numbers is among them."""
    begin = header or 0
    while begin < len(lines):
        window = lines[begin : begin + _WINDOW]
        made = [
            found
            for each in ([delimiter] if delimiter else DELIMITERS)
            for sign in ([decimal] if decimal else (".", ","))
            if (found := _run(window, each, sign, thousands, header is not None))
        ]
        if made:
            best = _choice(made, window, lines[:begin])
            from dataclasses import replace

            return replace(best, first=begin + best.first)
        begin += _WINDOW - 10
    return None


def _run(
    lines: Sequence[str], delimiter: str, decimal: str, thousands: str | None, fixed: bool
) -> Written | None:
    """The run of alike rows that holds most numbers, for one way of writing."""
    if delimiter == decimal and not any('"' in line for line in lines):
        return None
    reader = CellReader(decimal, _thousands(lines, delimiter, decimal, thousands))
    rows = [None if _no_row(line) else _kinds(split(line, delimiter), reader) for line in lines]
    best: tuple[int, int, int, list[str]] = (0, 0, 0, [])
    start = 0
    pattern: list[str] = []
    for place, row in enumerate([*rows, ["?"]]):
        if row is None:
            continue
        joined = _joined(pattern, row)
        if joined is None or row == ["?"]:
            numbers = sum(_numbers(r) for r in rows[start:place] if r)
            if pattern and numbers >= best[0] and numbers and ("n" in pattern):
                best = (numbers, start, place, pattern)
            start, joined = place, list(row)
        pattern = joined
    numbers, first, end, pattern = best
    if not numbers:
        return None
    if delimiter == " ":  # a date such as 12 Mar 2026 is one thing, not two numbers and a word
        numbers -= 2 * sum(names_month(line) for line in lines[first:end])
    first = 0 if fixed else _reach_up(rows, first, pattern)
    signed = any(
        decimal in cell
        for line, row in zip(lines, rows, strict=True)
        if row and len(row) == len(pattern)
        for cell, kind in zip(split(line, delimiter), row, strict=True)
        if kind in "ng"
    )
    return Written(
        delimiter, decimal, reader.thousands, len(pattern), first, tuple(pattern), signed, numbers
    )


def _numbers(row: list[str]) -> int:
    return sum(kind in "nsdcg" for kind in row)


def _no_row(line: str) -> bool:
    bare = line.strip()
    return not bare or bare[0] in "#%" or bare.startswith("//")


def _kinds(cells: list[str], reader: CellReader) -> list[str]:
    return [_kind(cell, reader) for cell in cells]


def _kind(cell: str, reader: CellReader) -> str:
    if not cell:
        return "m"
    if reader.is_number(cell):
        return "n"
    if may_be_stamp(cell) and (form := form_of(cell)):
        return form[0]
    word = cell.lower()
    if word in SWITCHES:
        return "n"
    return "m" if word in MISSING else "t"


def _joined(pattern: list[str], row: list[str]) -> list[str] | None:
    """The pattern that both fit, or None."""
    if len(pattern) != len(row):
        return None
    made = []
    for one, other in zip(pattern, row, strict=True):
        if one == other or other == "m":
            made.append(one)
        elif one == "m":
            made.append(other)
        else:
            return None
    return made


def _reach_up(rows: Sequence[list[str] | None], first: int, pattern: list[str]) -> int:
    """The table's first row: spoilt lines within it do not end it."""
    place = first - 1
    while place >= 0 and first - place <= _BRIDGED + 1:
        row = rows[place]
        if row is not None and _has_numbers_of(row, pattern):
            first = place
        place -= 1
    return first


def _has_numbers_of(row: list[str], pattern: list[str]) -> bool:
    """Whether a row has numbers where the table has them; what its words say does not matter."""
    places = [k for k, kind in enumerate(pattern) if kind in "nsdc"]
    if len(row) != len(pattern) or not any(row[k] == pattern[k] for k in places):
        return False
    return all(row[k] in (pattern[k], "m") for k in places)


def _thousands(lines: Sequence[str], delimiter: str, decimal: str, asked: str | None) -> str | None:
    """The sign between groups of three, where some number shows both signs or one sign twice."""
    if asked is not None:
        return asked
    for line in lines:
        for cell in split(line, delimiter):
            found = _GROUPED.fullmatch(cell)
            if not found or found[1] in (decimal, delimiter):
                continue
            if found[2] == decimal and found[1] in ".,":
                return found[1]
            if found[2] is None and found[1] in ".," and cell.count(found[1]) > 1:
                return found[1]
    return None


def _choice(made: Sequence[Written], lines: Sequence[str], above: Sequence[str]) -> Written:
    """The reading with most numbers; between commas as delimiter or as sign, what else speaks."""
    most = max(each.cells for each in made)
    best = next(each for each in made if each.cells == most)
    if best.delimiter != "," or best.signed:
        return best
    for other in made:
        if other.decimal == "," and other.first <= best.first and other.signed:
            header = [*above, *lines[: other.first]]
            named = header and len(split(header[-1], other.delimiter)) == other.width
            wrong = header and len(split(header[-1], ",")) != best.width
            if (named and wrong) or _fixed_places(lines[other.first :], other):
                return other
    return best


def _fixed_places(lines: Sequence[str], how: Written) -> bool:
    """Whether what stands behind each comma looks like decimals: of one length, or led by zeros."""
    parts = [
        cell.partition(",")[2]
        for line in lines
        for cell in split(line, how.delimiter)
        if _ONE_COMMA.fullmatch(cell)
    ]
    lengths = {len(part) for part in parts}
    led = any(len(part) > 1 and part.startswith("0") for part in parts)
    return led or (len(lengths) == 1 and min(lengths) >= 3 and len(parts) >= 3)


def evenly(values: Sequence[float], tolerance: float = 0.01) -> bool:
    """Whether values rise in equal steps."""
    steps = [b - a for a, b in pairwise(values)]
    if not steps or min(steps) <= 0:
        return False
    return max(steps) - min(steps) <= tolerance * max(steps)
