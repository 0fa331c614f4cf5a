"""A table drawn as a picture: heading, cautions' words, rows with wrapped cells."""

from __future__ import annotations

from collections.abc import Sequence

from tripmargin.ground.languages import say, say_many
from tripmargin.pictures.page import Table, shown
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width, wrapped
from tripmargin.pictures.words import SAFETY, said

GAP, LEAST_GAP, LEAD = 10.0, 4.0, 1.28
SLACK = 1.0  # px, that a word is let wider than it was measured


def drawn_table(
    title: str, lines: Sequence[str], table: Table, *, width: float = 1200, sun: bool = False
) -> str:
    """A table as SVG; columns get room by how much stands in them.

    Parameters
    ----------
    title : str
    lines : sequence of str
        Sentences above it, and the last of them below it as how to read it.
    table : (headers, rows)
    width : float, px
        From 280 to 4000.
    sun : bool
    """
    sheet = Sheet(width, sun)
    sheet.paragraph(title, sheet.type.title, bold=True)
    sheet.paragraph(say(SAFETY), sheet.type.body, bold=True)
    for line in lines:
        sheet.paragraph(line, sheet.type.body)
    sheet.y += 8
    names = [said(str(name)) for name in table[0]]
    words = [[shown(cell) for cell in row] for row in table[1]]
    widths, gap = column_widths(sheet, [names, *words])
    _row(sheet, names, widths, gap, bold=True)
    for row in words:
        _row(sheet, row, widths, gap)
    sheet.y += sheet.type.edge
    columns = ", ".join(names)
    described = say_many("{count} row: {columns}.", "{count} rows: {columns}.", len(words),
                         columns=columns)  # fmt: skip
    return sheet.done(title, described)


def column_widths(sheet: Sheet, rows: Sequence[Sequence[str]]) -> tuple[list[float], float]:
    """Widths that add up to the sheet's, and the gap between: the longest word fits.

    What is left goes by the text's length. Where little is left, the gap gives way before a word
    is parted.
    """
    size = sheet.type.small
    count = len(rows[0])
    longest, total = [0.0] * count, [0.0] * count
    for row in rows:
        for k, cell in enumerate(row):
            whole = text_width(cell, size, True)
            word = max((text_width(w, size, True) for w in cell.split()), default=0.0)
            longest[k] = max(longest[k], word + SLACK)
            total[k] += whole
    left = (sheet.inner - sum(longest)) / max(count - 1, 1)
    gap = min(GAP, max(left, LEAST_GAP))
    room = sheet.inner - gap * (count - 1)
    spare = max(room - sum(longest), 0.0)
    shares = [part**0.7 for part in total]
    found = [
        least + spare * part / sum(shares) for least, part in zip(longest, shares, strict=True)
    ]
    scale = min(room / sum(found), 1.0)
    return [width * scale for width in found], gap


def _row(
    sheet: Sheet, cells: Sequence[str], widths: Sequence[float], gap: float, bold: bool = False
) -> None:
    size, look, edge = sheet.type.small, sheet.look, sheet.type.edge
    broken = [wrapped(cell, size, width, bold) for cell, width in zip(cells, widths, strict=True)]
    style = {"font_weight": "bold"} if bold else {}
    x = edge
    for lines, width in zip(broken, widths, strict=True):
        for k, line in enumerate(lines):
            sheet.canvas.text(
                x, sheet.y + 4 + (k + 1) * size * LEAD - size * 0.3, line, size, **style
            )
        x += width + gap
    sheet.y += max(len(lines) for lines in broken) * size * LEAD + 9
    rule = {"stroke": look.ink if bold else look.soft, "stroke_width": 2 if bold else 1}
    sheet.canvas.line(edge, sheet.y - 2, sheet.width - edge, sheet.y - 2, **rule)
