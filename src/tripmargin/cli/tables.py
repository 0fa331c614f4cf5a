"""Plain aligned tables and sentences for a terminal."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

WIDTH = 80  # columns of the narrowest terminal that the answers are laid out for
_UNIT = re.compile(r"(?<=\d) (?=(?:%|mm|ms|in|m/s|ft/min|V|K|degF|N|lbf|A|ohm|rpm)(?!\w))")


def aligned(headers: Sequence[str], rows: Sequence[Sequence[str]], indent: str = "  ") -> list[str]:
    """Lines of a table, the first column to the left, the others to the right.

    Headers that would make it wider than a terminal are broken over several lines.

    >>> aligned(("cut", "seen"), [("5 mm", "99 %"), ("12 mm", "100 %")])
    ['  cut     seen', '  5 mm    99 %', '  12 mm  100 %']
    """
    heads = [list(headers)]
    if len(indent) + sum(_widths([headers, *rows])) + 2 * (len(headers) - 1) > WIDTH:
        heads = _broken(headers, rows)
    every = [*heads, *rows]
    widths = _widths(every)
    return [
        indent
        + "  ".join(
            cell.ljust(width) if i == 0 else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in every
    ]


def _widths(every: Sequence[Sequence[str]]) -> list[int]:
    return [max(map(len, column)) for column in zip(*every, strict=True)]


def _broken(headers: Sequence[str], rows: Sequence[Sequence[str]]) -> list[list[str]]:
    """Lines of headers, none wider than what stands below it or its longest word."""
    cells = _widths(rows) if rows else [0] * len(headers)
    columns = [
        textwrap.wrap(
            head,
            max([width, 1, *map(len, head.split())]),
            break_long_words=False,
            break_on_hyphens=False,
        )
        for head, width in zip(headers, cells, strict=True)
    ]
    deep = max(map(len, columns))
    lifted = [[""] * (deep - len(column)) + column for column in columns]
    return [list(line) for line in zip(*lifted, strict=True)]


def folded(text: str, first: str = "", rest: str | None = None, width: int = WIDTH) -> str:
    """A sentence on as many lines as it needs; a number stays with its unit.

    >>> print(folded("a word " * 12 + "and 30 mm", first="  - "))
      - a word a word a word a word a word a word a word a word a word a word a
        word a word and 30 mm
    """
    lines = textwrap.wrap(
        _UNIT.sub("\N{NO-BREAK SPACE}", text),
        width,
        initial_indent=first,
        subsequent_indent=" " * len(first) if rest is None else rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return "\n".join(lines).replace("\N{NO-BREAK SPACE}", " ")
