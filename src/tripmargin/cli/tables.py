"""Plain aligned tables for a terminal."""

from __future__ import annotations

from collections.abc import Sequence


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
