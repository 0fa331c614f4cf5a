"""A report as blocks of plain words, tables and drawings: what the two writers both write."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import Enum
from html import unescape
from typing import Any

from tripmargin.ground.results import plain

FORM = "tripmargin report 1"
PAPERS = {"a4": "a4", "letter": "us-letter"}
"""Sheets by the name a person gives, and by the name the typesetter knows."""


class Space(Enum):
    """A cell that is filled in by hand."""

    WRITE = "write"
    """Room to write in."""
    TICK = "tick"
    """A box to tick."""


class Strong(str):
    """A line of a cell that stands out among the others."""

    __slots__ = ()


class Heed(str):
    """A line of a cell that says in short what a mark stands for.

    On paper the table's `heed` says it at the head of each page instead.
    """

    __slots__ = ()


Cell = str | Space | tuple[str, ...]
"""Words; room to fill in; or several lines, some of them `Strong` or `Heed`."""


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; level 1 begins a chapter, `new_page` puts it on a fresh sheet."""

    text: str
    level: int = 2
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class Words:
    """Paragraphs; `small` ones explain, `strong` ones stand out."""

    lines: Sequence[str]
    small: bool = False
    strong: bool = False


@dataclass(frozen=True, slots=True)
class Listed:
    """Sentences of one list, each on its own; `numbered` where their order counts."""

    items: Sequence[str]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Cautions:
    """What is heeded before hands go near the machine: never parted from its frame."""

    title: str
    items: Sequence[str]


@dataclass(frozen=True, slots=True)
class Verdict:
    """The one answer, large, with what it is about under it."""

    word: str
    lines: Sequence[str] = ()


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under headers, which are said again on each page.

    Attributes
    ----------
    title : str
        What the table is; stands over it.
    headers : sequence of str
    rows : sequence of sequences of str or Space
    numbers : sequence of int
        Columns whose cells stand to the right.
    shares : sequence of float
        Widths of the columns as shares of the page; none: as their words need.
    named : bool
        Whether the first cell of each row names it.
    heed : sequence of str
        What is heeded at its rows, by marks: on paper it stands over the headers on each page,
        in place of the rows' lines of `Heed`.
    """

    title: str
    headers: Sequence[str]
    rows: Sequence[Sequence[Cell]]
    numbers: Sequence[int] = ()
    shares: Sequence[float] = ()
    named: bool = True
    heed: Sequence[str] = ()

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) != len(self.headers):
                raise ValueError(
                    f'Table "{self.title}": a row of {len(row)} cells under {len(self.headers)}'
                    " headers."
                )

    @property
    def by_hand(self) -> bool:
        """Whether somebody writes in it: then its rows are tall."""
        return any(isinstance(cell, Space) for row in self.rows for cell in row)


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture: `draw(width, sun)` gives an SVG document with a title and a description.

    Each writer draws it as wide as it needs it, px; `sun` is black on white.
    """

    draw: Callable[[float, bool], str]


def said_of(svg: str) -> str:
    """What somebody hears who does not see a picture: its title and its description.

    Raises
    ------
    ValueError
        If it has none.
    """
    found = [re.search(rf"<{tag}\b[^>]*>(.*?)</{tag}>", svg, re.S) for tag in ("title", "desc")]
    said = " ".join(unescape(one[1]).strip() for one in found if one)
    if not said.strip():
        raise ValueError("A drawing without words for somebody who does not see it.")
    return said


@dataclass(frozen=True, slots=True)
class Across:
    """Blocks on sheets of their own that lie on their long side: tables of many columns."""

    blocks: Sequence[Block]


Block = Heading | Words | Listed | Cautions | Verdict | Table | Drawing | Across


@dataclass(frozen=True, slots=True)
class Document:
    """One report, before it is written.

    Attributes
    ----------
    kind : str
        Which report: "commissioning", "daily-check", ...
    title, subject : str
        What stands on top; the machine, the fleet or the person that it is about.
    made : datetime
        With its zone.
    by : str
        Who made it; may be empty.
    language : str
        ISO 639: "en".
    blocks : sequence of Block
    data : dict
        The numbers behind it, SI, JSON-ready: they travel inside the file.
    paper : str
        A key of `PAPERS`.
    across : bool
        Whether the sheet lies on its long side.
    dense : bool
        Whether its letters are small, so that one sheet holds all.
    """

    kind: str
    title: str
    subject: str
    made: datetime
    by: str
    language: str
    blocks: Sequence[Block]
    data: dict[str, Any] = field(default_factory=dict)
    paper: str = "a4"
    across: bool = False
    dense: bool = False

    def __post_init__(self) -> None:
        if self.made.tzinfo is None:
            raise ValueError(f"{self.made.isoformat()}: a report's time needs its zone.")
        if self.paper not in PAPERS:
            raise ValueError(f'"{self.paper}": no such paper. Allowed: {", ".join(PAPERS)}.')

    @property
    def day(self) -> str:
        """The day it was made, where it was made: 2026-11-29."""
        return f"{self.made:%Y-%m-%d}"

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready: what the report says of itself, and its numbers in SI."""
        from tripmargin import __version__

        return {
            "form": FORM,
            "report": self.kind,
            "title": self.title,
            "subject": self.subject,
            "made_at": self.made.isoformat(),
            "made_by": self.by,
            "program": f"tripmargin {__version__}",
            "language": self.language,
            "data": plain(self.data),
        }
