"""What was believed of a machine before something was measured, and after: bars of 95 %."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from tripmargin.ground.languages import say
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.sheet import Entry, Sheet

Limits = tuple[float, float, float]
_TALL = 15.0  # px, of a bar


@dataclass(frozen=True, slots=True)
class LearnedRow:
    """One thing that was learned: what it is, and its least, middle and greatest value, 95 %.

    `before` is None where nothing was known. `said` turns a value into words with its unit.
    """

    text: str
    before: Limits | None
    after: Limits
    said: Callable[[float], str]


def learned_picture(rows: Sequence[LearnedRow], *, width: float = 360, sun: bool = False) -> str:
    """Bars before and after as SVG, each thing on a scale of its own.

    Parameters
    ----------
    rows : sequence of LearnedRow
    width : float, px
        At least 280; 360 suits a phone.
    sun : bool
        Greatest contrast, for reading outdoors.

    Returns
    -------
    str
        An SVG document.

    Raises
    ------
    ValueError
        If limits are not in their order.

    Examples
    --------
    >>> row = LearnedRow("Ball that is just seen", (8, 11, 14), (9, 10, 11), lambda v: f"{v:g} mm")
    >>> "9 mm to 11 mm" in learned_picture([row])
    True
    """
    for row in rows:
        for limits in filter(None, (row.before, row.after)):
            if not limits[0] <= limits[1] <= limits[2]:
                raise ValueError(f"{row.text}: {limits} are not in their order")
    sheet = Sheet(width, sun)
    hatched = sheet.canvas.pattern("slant", sheet.look.soft, 0.8)
    sheet.key([Entry(say("before: by the file"), hatched), Entry(say("after"), sheet.look.accent)])
    for row in rows:
        _row(sheet, row, hatched)
    sheet.y += sheet.type.edge * 0.6
    return sheet.done(say("Before and after"), "; ".join(_words(row) for row in rows))


def _row(sheet: Sheet, row: LearnedRow, hatched: str) -> None:
    size, edge = sheet.type.body, sheet.type.edge
    sheet.y += 6
    sheet.paragraph(row.text, size, bold=True)
    every = [*row.after, *(row.before or ())]
    low, high = min(every), max(every)
    spare = 0.04 * (high - low) or 0.5 * abs(high) or 1.0
    scale = Scale(low - spare, high + spare, edge, sheet.width - edge)
    for limits, fill in ((row.before, hatched), (row.after, None)):
        if limits is None:
            sheet.paragraph(say("before: not known"), sheet.type.small, soft=True)
            continue
        top = sheet.y + 4
        left, middle, right = (scale.at(value) for value in limits)
        sheet.canvas.rect(left, top, max(right - left, 2.0), _TALL, stroke=sheet.look.ink,
                          fill=fill or sheet.look.accent, stroke_width=1.2)  # fmt: skip
        ink = sheet.look.ink if fill else sheet.look.paper
        sheet.canvas.line(middle, top + 1, middle, top + _TALL - 1, stroke=ink, stroke_width=2.5)
        sheet.y = top + _TALL
        span = _span(row, limits)
        words = say("before: {span}", span=span) if fill else say("after: {span}", span=span)
        sheet.paragraph(words, sheet.type.small)
    sheet.y += 4


def _span(row: LearnedRow, limits: Limits) -> str:
    low, middle, high = map(row.said, limits)
    return say("{middle}, with 95 % {low} to {high}", middle=middle, low=low, high=high)


def _words(row: LearnedRow) -> str:
    after = _span(row, row.after)
    if row.before is None:
        return say("{what}: after {after}", what=row.text, after=after)
    before = _span(row, row.before)
    return say("{what}: before {before}, after {after}", what=row.text, before=before, after=after)
