"""A fault-finding card in large type, and under it what is believed, as bars."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tripmargin.ground.languages import later, say
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width
from tripmargin.pictures.words import SAFETY

Table = tuple[tuple[str, ...], list[tuple[str, float, str]]]
BOX, ROW = 22.0, 44.0
"""px. A box to tick, and the height of the row that a gloved finger hits."""


@dataclass(frozen=True, slots=True)
class Bar:
    """One thing that may be wrong: its words, its chance from 0 to 1, what its repair takes."""

    text: str
    chance: float
    repair: str = ""


@dataclass(frozen=True, slots=True)
class CardText:
    """A card in words; `head` is said before anything else, `do` in the largest type."""

    head: str
    cautions: Sequence[str]
    way: Sequence[str]
    do: str
    question: str
    answers: Sequence[str]
    because: Sequence[str] = ()


def case_picture(
    machine_name: str,
    answers: Sequence[str],
    bars: Sequence[Bar],
    card: CardText | None = None,
    *,
    width: float = 720,
    sun: bool = False,
) -> str:
    """A case as SVG: where it stands, the next card, and the likeliest faults as bars.

    Parameters
    ----------
    machine_name : str
    answers : sequence of str
        Where the case stands, in sentences.
    bars : sequence of Bar
        The likeliest first.
    card : CardText, optional
        What to do next; none at the end of a case.
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
        If a chance is not between 0 and 1.

    Examples
    --------
    >>> picture = case_picture("Knot", ["Open."], [Bar("F1: fuse gone", 0.8)])
    >>> picture.startswith("<svg"), "80 %" in picture
    (True, True)
    """
    _refuse_no_chance(bars)
    sheet = Sheet(width, sun)
    sheet.heading(machine_name, say("what is broken?"), answers)
    if card is not None:
        _card(sheet, card)
    if bars:
        belief_bars(sheet, bars)
    sheet.y += 4
    sheet.paragraph(say(SAFETY), sheet.type.small, soft=True)
    sheet.y += sheet.type.edge * 0.8
    title = say("{machine}: what is broken?", machine=machine_name)
    return sheet.done(title, " ".join((*answers, _said(bars))))


def bars_picture(bars: Sequence[Bar], *, width: float = 360, sun: bool = False) -> str:
    """The bars alone as SVG, for a page that says the rest.

    Parameters
    ----------
    bars, width, sun
        As in `case_picture`.

    Returns
    -------
    str
        An SVG document.

    Raises
    ------
    ValueError
        If a chance is not between 0 and 1.

    Examples
    --------
    >>> "80 %" in bars_picture([Bar("F1: fuse gone", 0.8)])
    True
    """
    _refuse_no_chance(bars)
    sheet = Sheet(width, sun)
    belief_bars(sheet, bars)
    return sheet.done(say("What it may be"), _said(bars))


def _refuse_no_chance(bars: Sequence[Bar]) -> None:
    if any(not 0 <= bar.chance <= 1 for bar in bars):
        raise ValueError("a chance is not between 0 and 1")


def _said(bars: Sequence[Bar]) -> str:
    return "; ".join(f"{bar.text}: {percent_words(bar.chance)}" for bar in bars)


def bars_table(bars: Sequence[Bar]) -> Table:
    """The table behind the bars."""
    headers = (later("what it may be"), later("chance"), later("its repair"))
    return headers, [(b.text, b.chance, b.repair) for b in bars]


def percent_words(chance: float) -> str:
    """A chance as it stands beside its bar.

    >>> percent_words(0.314), percent_words(0.0004)
    ('31 %', 'under 1 %')
    """
    return say("under 1 %") if 0 < chance < 0.01 else f"{100 * chance:.0f} %"


def belief_bars(sheet: Sheet, bars: Sequence[Bar]) -> None:
    """Bars from the left edge, the words above each, the chance at its end; all are of 100 %."""
    size, small = sheet.type.body, sheet.type.small
    sheet.paragraph(say("What it may be"), size * 1.15, bold=True)
    sheet.y += 4
    left, tall = sheet.type.edge, 16.0
    room = sheet.inner - text_width(percent_words(0.001), size, bold=True) * 1.1 - 8
    style = {"stroke": sheet.look.ink, "stroke_width": 1}
    fill = sheet.canvas.pattern("slant", sheet.look.ink, 0.9)
    for bar in bars:
        sheet.paragraph(bar.text, size)
        top = sheet.y + 2
        sheet.canvas.rect(left, top, room, tall, fill="none", **style)
        sheet.canvas.rect(left, top, room * bar.chance, tall, fill=fill, **style)
        at = top + tall / 2 + size * 0.36
        sheet.canvas.text(left + room + 8, at, percent_words(bar.chance), size, font_weight="bold")
        sheet.y = top + tall + 2
        if bar.repair:
            sheet.paragraph(bar.repair, small, soft=True)
        sheet.y += 8


def _card(sheet: Sheet, card: CardText) -> None:
    size = sheet.type.body
    _across(sheet)
    if card.head:
        sheet.paragraph(card.head, size * 1.15, bold=True)
        sheet.y += 4
    if card.cautions:
        sheet.paragraph(say("CAUTION"), size, bold=True)
    for caution in card.cautions:
        sheet.paragraph(caution, size)
    sheet.y += 8
    for step in card.way:
        sheet.paragraph(step, size * 1.15)
    sheet.y += 4
    sheet.paragraph(card.do, sheet.type.title * 1.3, bold=True)
    sheet.y += 8
    if card.question:
        sheet.paragraph(card.question, size * 1.15, bold=True)
    for answer in card.answers:
        _box(sheet, answer)
    for reason in card.because:
        sheet.paragraph(reason, size, soft=True)
    sheet.y += 6
    _across(sheet)


def _across(sheet: Sheet) -> None:
    sheet.y += 6
    edge = sheet.type.edge
    sheet.canvas.line(edge, sheet.y, sheet.width - edge, sheet.y, stroke_width=3)
    sheet.y += 4


def _box(sheet: Sheet, answer: str) -> None:
    """A box to tick, and an answer beside it, on as many lines as it needs."""
    from tripmargin.pictures.svg import wrapped

    size, left = sheet.type.body * 1.15, sheet.type.edge
    text = wrapped(answer, size, sheet.inner - BOX - 14)
    row = max(ROW, len(text) * size * 1.3 + 8)
    style = {"fill": sheet.look.paper, "stroke": sheet.look.ink, "stroke_width": 2}
    sheet.canvas.rect(left, sheet.y + (row - BOX) / 2, BOX, BOX, **style)
    first = sheet.y + row / 2 - (len(text) - 1) * size * 0.65 + size * 0.36
    for number, line in enumerate(text):
        sheet.canvas.text(left + BOX + 10, first + number * size * 1.3, line, size)
    sheet.y += row
