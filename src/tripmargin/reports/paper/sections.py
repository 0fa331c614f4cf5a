"""Sections of a page, as the other rooms make them, as blocks of a report."""

from __future__ import annotations

from collections.abc import Iterator

from tripmargin.pictures.page import Section, shown
from tripmargin.pictures.words import said
from tripmargin.reports.paper.document import Block, Heading, Listed, Table
from tripmargin.reports.paper.signs import with_plus_minus


def of_section(section: Section, level: int = 2) -> Iterator[Block]:
    """A heading, its sentences and its table; nothing where there is neither."""
    rows = [] if section.table is None else section.table[1]
    if not section.lines and not rows:
        return
    yield Heading(section.title, level=level)
    if section.lines:
        yield Listed([with_plus_minus(line) for line in section.lines])
    if section.table is not None and rows:
        headers = section.table[0]
        cells = [[shown(cell) for cell in row] for row in rows]
        numbers = [
            k
            for k in range(len(headers))
            if all(isinstance(row[k], (int, float)) or row[k] is None for row in rows)
        ]
        yield Table("", [said(one) for one in headers], cells, numbers=numbers)
