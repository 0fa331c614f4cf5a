"""What a findings file says beside its findings: the yard's test pieces, days and names."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import Any

from tripmargin.machine import Machine
from tripmargin.recordings.calibrating.findings_file import append_finding, read_pieces
from tripmargin.recordings.calibrating.next_piece import as_passed
from tripmargin.sensing.pieces import Piece


def own_pieces(
    path: Path, machine: Machine, named: Sequence[tuple[str, Piece]]
) -> tuple[Piece, ...]:
    """The yard's own test pieces: those of a findings file and those named now, which are kept.

    Parameters
    ----------
    path : Path
        It need not be there yet.
    machine : Machine
    named : sequence of (words, Piece)
        Pieces as the person wrote them. Those that the file does not have are added to it.

    Returns
    -------
    tuple of Piece
        For `calibrate(pieces=)` and `first_pass(pieces=)`; empty where none is named anywhere.

    Raises
    ------
    FindingsError
        If the file cannot be read.
    """
    kept = list(read_pieces(path, machine)) if path.exists() and path.stat().st_size else []
    for words, piece in named:
        if not set(as_passed([piece])) <= set(as_passed(kept)):
            append_finding(path, "have", {"piece": words.strip()})
            kept.append(piece)
    return tuple(kept)


def when_and_who(path: Path) -> tuple[date | None, str | None]:
    """The last day, and all names, that the tables of a findings file give with `on` and `by`."""
    tables = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    rows: list[dict[str, Any]] = [
        row for each in tables.values() if isinstance(each, list) for row in each
    ]
    days = []
    for row in rows:
        with suppress(ValueError):  # a day may be written in any words
            days.append(date.fromisoformat(str(row.get("on", ""))[:10]))
    names = dict.fromkeys(str(row["by"]) for row in rows if row.get("by"))
    return max(days, default=None), ", ".join(names) or None
