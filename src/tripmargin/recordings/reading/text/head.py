"""What the lines above the numbers say: names, units, and at times the rate."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from tripmargin.recordings.reading.naming import (
    Named,
    bare_unit,
    is_unit,
    named,
    time_unit,
)
from tripmargin.recordings.reading.text.sniffing import Written, split
from tripmargin.recordings.reading.text.words import CellReader

_LOOKED_AT = 4  # lines above the numbers that may carry names and units
_WIDE_BLANKS = re.compile(r"\s{2,}|\t")
_NUMBER = r"(?P<number>\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?)"
_RATE = re.compile(
    r"(?:sampl\w*|abtast\w*|scan|log\w*|mess)[\s_-]*(?:rate|freq\w*|frequenz)\b[^\d\n]{0,20}"
    rf"{_NUMBER}\s*(?P<unit>[kKM]?)(?:Hz|S/s|sps|/s|1/s|samples|\b)",
    re.IGNORECASE,
)
_STEP = re.compile(
    r"(?:(?:sampl\w*|abtast\w*|scan|log\w*|mess)[\s_-]*(?:interval\w*|period\w*|time|zeit|takt)"
    r"|\b(?:dt|delta[\s_-]?[tx]|time[\s_-]?step|increment|x[\s_-]?increment))\b[^\d\n]{0,20}"
    rf"{_NUMBER}[\s;,\t]*(?P<unit>ns|us|µs|ms|s|min)?\b",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Head:
    """Names and units of the columns, and the rate with the line that says it."""

    columns: tuple[Named, ...]
    names_line: int | None
    rate: float | None = None
    rate_line: int | None = None


def head_of(lines: Sequence[str], how: Written) -> Head:
    """What the lines above the first row of numbers say."""
    near = list(range(max(0, how.first - _LOOKED_AT), how.first))
    rows = {k: cells for k in near if (cells := _fitting(lines[k], how)) is not None}
    units_line = next((k for k in reversed(near) if k in rows and _all_units(rows[k])), None)
    names_line = _names_line(rows, how, units_line)
    if names_line == units_line and names_line is not None and _may_be_names(rows[names_line]):
        units_line = None
    names = rows[names_line] if names_line is not None else [""] * how.width
    found = [named(each) for each in names]
    if units_line is not None and names_line not in (None, units_line):
        units = [bare_unit(each) for each in rows[units_line]]
        found = [
            Named(each.name, unit or each.unit) for each, unit in zip(found, units, strict=True)
        ]
    rate, rate_line = _rate(lines[: how.first])
    return Head(tuple(found), names_line, rate, rate_line)


def _names_line(rows: dict[int, list[str]], how: Written, units_line: int | None) -> int | None:
    """The lowest line of names; right above the units where those have a line."""
    reader = CellReader(how.decimal, how.thousands)

    def has_names(k: int) -> bool:
        words = [each for each in rows[k] if each]
        numbers = sum(reader.is_number(each) for each in words)
        return bool(words) and numbers <= len(words) / 2 and k != units_line

    if units_line is not None:
        for k in (units_line - 1, units_line - 2, units_line + 1):
            if k in rows and has_names(k):
                return k
        return units_line  # a header of units only: [ms];[V]
    return next((k for k in sorted(rows, reverse=True) if has_names(k)), None)


def _fitting(line: str, how: Written) -> list[str] | None:
    """The line's cells, where it has as many as the table."""
    bare = line.strip()
    for mark in ("", "#", "%", "//", ";"):
        if not bare.startswith(mark):
            continue
        rest = bare[len(mark) :].strip() if mark else line
        cells = split(rest, how.delimiter)
        if how.delimiter == " " and len(cells) > how.width:
            cells = _WIDE_BLANKS.split(rest.strip())  # names may have single blanks in them
        while len(cells) > how.width and not cells[-1]:
            cells.pop()
        if len(cells) == how.width:
            if how.width == 1 and ":" in cells[0]:
                continue  # "Serial: 12" is about the file
            return cells
        last = how.kinds[-1:] == ("m",)
        if last and len(cells) == how.width - 1:  # rows end with a delimiter, names do not
            return [*cells, ""]
    return None


def _all_units(cells: list[str]) -> bool:
    said = [each for each in cells if each]
    known = sum(is_unit(each) for each in said)
    return bool(said) and known >= max(1, 0.6 * len(said))


def _may_be_names(said: list[str]) -> bool:
    """A row such as "t;U;s" may be either: units only below a row of names."""
    return not any(each[:1] in "[(<{" or len(each) > 1 for each in said)


def _rate(lines: Sequence[str]) -> tuple[float | None, int | None]:
    """Samples a second as a line says it, or from the step that it says."""
    for number, line in enumerate(lines, start=1):
        if found := _RATE.search(line):
            factor = {"k": 1e3, "m": 1e6}.get(found["unit"].lower(), 1.0)
            value = float(found["number"].replace(",", ".")) * factor
            if value > 0:
                return value, number
        if found := _STEP.search(line):
            step = float(found["number"].replace(",", "."))
            step *= time_unit(found["unit"] or "s") or 1.0
            if step > 0:
                return 1 / step, number
    return None, None
