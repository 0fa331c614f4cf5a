"""Plain aligned tables and sentences for a terminal."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence

WIDTH = 80  # columns of the narrowest terminal that the answers are laid out for
_UNIT = re.compile(r"(?<=\d) (?=(?:%|mm|ms|in|m/s|ft/min|V|K|degF|N|lbf|A|ohm|rpm)(?!\w))")


def aligned(headers: Sequence[str], rows: Sequence[Sequence[str]], indent: str = "  ") -> list[str]:
    """Lines of a table, the first column to the left, the others to the right.

    >>> aligned(("cut", "seen"), [("5 mm", "99 %"), ("12 mm", "100 %")])
    ['  cut     seen', '  5 mm    99 %', '  12 mm  100 %']
    """
    every = [headers, *rows]
    widths = [max(len(row[i]) for row in every) for i in range(len(headers))]
    return [
        indent
        + "  ".join(
            cell.ljust(width) if i == 0 else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in every
    ]


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
