"""A report as a tagged PDF, its numbers inside: the same bytes for the same report."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from importlib.resources import files
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.pictures.look import DAY, SUN
from tripmargin.reports.paper.document import (
    PAPERS,
    Across,
    Block,
    Cautions,
    Cell,
    Document,
    Drawing,
    Heading,
    Heed,
    Listed,
    Space,
    Strong,
    Table,
    Verdict,
    Words,
    said_of,
)
from tripmargin.reports.paper.letters import FAMILIES, compiled, in_letters

ATTACHED = "report.json"
WIDE = 680.0  # px, of a picture: so wide its small letters are 8.8 points high on A4
_HERE = "tripmargin.reports.paper"
_ROOM = 82  # letters of a table that stand beside one another on an upright sheet
_FEW = 4  # lines before a picture that are kept with it
_CROWDED = 9  # columns of a table whose letters are small
_WHOLE = 12  # rows of a table that is not parted
_SHORT, _MOST = 8, 46  # letters of a column that is as wide as its words; that count for its width
_SET = 110  # letters of a table that there is room for on an upright sheet, on average
_BOLD = 1.1  # times as wide as a plain letter
# A number and its unit stay together.
_UNIT = re.compile(r"(?<=\d) (?=(?:mm|ms|m/s|in|ft/min|V|Hz|%|d|h|min|s|T|ohm|A|N|kg|rpm)\b|%)")


def pdf_of(document: Document) -> bytes:
    """The report as a PDF.

    Raises
    ------
    typst.TypstError
        If a profile is not met: a fault of this program, not of whoever asked.

    Notes
    -----
    ISO 14289-1 (PDF/UA-1): tagged, with its title, its language, words for each drawing, and all
    letters inside. The numbers are an associated file, `report.json` (ISO 19005-3, 6.8).
    """
    pictures: dict[str, bytes] = {}
    blocks = _blocks(document.blocks, pictures, across=document.across)
    made = document.made
    described = {
        "title": _named(document.title),
        "by": in_letters(document.by),
        "date": {
            "year": made.year, "month": made.month, "day": made.day,
            "hour": made.hour, "minute": made.minute, "second": made.second,
        },
        "families": FAMILIES,
        "language": document.language,
        "paper": PAPERS[document.paper],
        "across": document.across,
        "dense": document.dense,
        "look": {"ink": SUN.ink, "soft": DAY.soft, "wash": DAY.wash},
        "day": document.day,
        "pages": say("Page {page} of {pages}", page="{page}", pages="{pages}"),
        "attached": say("The report's numbers, in SI"),
        "space": {one.value: one.value for one in Space},
        "blocks": blocks,
    }  # fmt: skip
    parts = {
        "main": files(_HERE).joinpath("paper.typ").read_bytes(),
        "document.json": json.dumps(described, ensure_ascii=False).encode(),
        ATTACHED: json.dumps(document.to_dict(), ensure_ascii=False, allow_nan=False).encode(),
        **pictures,
    }
    return compiled(parts, seconds=int(made.timestamp()))


def _blocks(
    blocks: Sequence[Block], pictures: dict[str, bytes], *, across: bool
) -> list[dict[str, Any]]:
    made = [_block(one, pictures, across=across) for one in blocks]
    _mark_leading(made)
    return made


def _mark_leading(blocks: list[dict[str, Any]]) -> None:
    """Mark the short words before a picture or a table: they stay on its page."""
    before_one = False
    for one in reversed(blocks):
        lines = one.get("lines") or one.get("items") or ()
        one["leads"] = before_one and one["kind"] in ("words", "listed") and len(lines) <= _FEW
        before_one = one["leads"] or one["kind"] in ("drawing", "table")


def _block(block: Block, pictures: dict[str, bytes], *, across: bool) -> dict[str, Any]:
    match block:
        case Heading():
            made = {"text": _named(block.text), "level": block.level, "new_page": block.new_page}
        case Words():
            made = {"lines": _all(block.lines), "small": block.small, "strong": block.strong}
        case Listed():
            made = {"items": _all(block.items), "numbered": block.numbered}
        case Cautions():
            made = {"title": _said(block.title), "items": _all(block.items)}
        case Verdict():
            made = {"word": _said(block.word), "lines": _all(block.lines)}
        case Table():
            made = _table(block, across=across)
        case Drawing():
            name = f"picture-{len(pictures)}.svg"
            svg = in_letters(block.draw(WIDE, True))
            pictures[name] = svg.encode()
            made = {"file": name, "said": said_of(svg)}
        case Across():
            made = {"blocks": _blocks(block.blocks, pictures, across=True)}
    return {"kind": type(block).__name__.lower(), **made}


def _table(table: Table, *, across: bool) -> dict[str, Any]:
    wide = 1.45 if across else 1.0
    return {
        "title": _said(table.title),
        "headers": _all(table.headers),
        "rows": [[_cell(cell, heeded=bool(table.heed)) for cell in row] for row in table.rows],
        "heed": _all(table.heed),
        "numbers": list(table.numbers),
        "widths": _shares(table, _SET * wide) or _widths(table, _ROOM * wide),
        "by_hand": table.by_hand,
        "crowded": len(table.headers) > _CROWDED,
        "whole": len(table.rows) <= _WHOLE,
    }


def _cell(cell: Cell, *, heeded: bool) -> str | dict[str, Any]:
    match cell:
        case Space():
            return cell.value
        case tuple():
            told = (one for one in cell if not (heeded and isinstance(one, Heed)))
            lines = [{"text": _said(one), "strong": isinstance(one, Strong)} for one in told]
            return {"lines": lines}
    return {"text": _said(cell)}


def _shares(table: Table, room: float) -> list[float]:
    """The shares that were asked for, none narrower than the longest word of its header.

    A word of a header is not parted, and in some languages it is long.
    """
    whole = sum(table.shares)
    words = [max(map(len, head.split()), default=0) for head in table.headers]
    return [
        max(share, (word * _BOLD + 2) / room * whole)
        for share, word in zip(table.shares, words, strict=False)
    ]


def _widths(table: Table, room: float) -> list[float]:
    """Shares of the width, by the longest words of each column; 0: as its words need."""
    columns = list(zip(table.headers, *table.rows, strict=True))
    longest = [max(len(line) for c in col for line in _lines(c)) for col in columns]
    if sum(longest) + 3 * len(longest) <= room:
        return [0.0] * len(longest)
    words = [
        max((len(word) for c in col for line in _lines(c) for word in line.split()), default=0)
        for col in columns
    ]
    return [
        0.0 if most <= _SHORT else float(max(min(most, _MOST), min(word + 2, 22)))
        for most, word in zip(longest, words, strict=True)
    ]


def _lines(cell: Cell) -> Sequence[str]:
    return () if isinstance(cell, Space) else (cell,) if isinstance(cell, str) else cell


def _named(text: str) -> str:
    """A title, which may not be empty: a name may hold nothing that shows."""
    return _said(text).strip() or "\N{EM DASH}"


def _all(texts: Sequence[str]) -> list[str]:
    return [_said(one) for one in texts]


def _said(text: str) -> str:
    return _UNIT.sub("\N{NO-BREAK SPACE}", in_letters(text))
