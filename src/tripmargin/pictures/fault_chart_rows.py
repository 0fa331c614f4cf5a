"""One step of a fault chart as a row: number, what to do, and where each answer leads."""

from __future__ import annotations

from dataclasses import dataclass

from tripmargin.faultfinding.charts.chart_steps import Branch, ChartStep
from tripmargin.faultfinding.charts.chart_tree import ANYTHING_ELSE
from tripmargin.faultfinding.suspects.repairs import PROVE_AGAIN
from tripmargin.ground.languages import later, say, say_as
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.languages.own_words import as_written
from tripmargin.pictures.answer_words import answer_words, touching
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width, wrapped
from tripmargin.pictures.trade_words import look_words
from tripmargin.pictures.words import said

ARROW = "\N{RIGHTWARDS ARROW}"
AGAIN = later("the daily test once more")
TO_TOOL, PROVED = later("tool"), later("done: proved")
NUMBERS, ROOM, LEAD = 46.0, 14.0, 1.28
"""Width of the numbers' column, room between columns (px), and lines' height in letters."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line of text in a cell: its words and its manner."""

    words: str
    size: float
    bold: bool = False
    soft: bool = False


@dataclass(frozen=True, slots=True)
class Way:
    """An answer, or several that lead to one place, and the place."""

    lines: tuple[str, ...]
    to: str


@dataclass(frozen=True, slots=True)
class Row:
    """A step laid out for a sheet; heights in px."""

    step: ChartStep
    left: tuple[Line, ...]
    ways: tuple[Way, ...]
    size: float
    stacked: bool

    @property
    def _left_height(self) -> float:
        return sum(line.size * LEAD for line in self.left)

    @property
    def _right_height(self) -> float:
        return sum(len(way.lines) for way in self.ways) * self.size * LEAD

    @property
    def height(self) -> float:
        """With the room above and below."""
        both = (self._left_height, self._right_height)
        return (sum(both) + 4 if self.stacked else max(both)) + 12


def row_of(sheet: Sheet, step: ChartStep) -> Row:
    """A step as a row that fits a sheet's width; on a phone the answers stand below."""
    stacked = sheet.narrow
    body, small = sheet.type.body, sheet.type.small
    left, right = _widths(sheet)
    lines = [Line(words, body, bold=True) for words in wrapped(step.do, body, left, bold=True)]
    for note in notes_of(step):
        lines += [Line(words, small, soft=True) for words in wrapped(note, small, left)]
    size = small if stacked else body
    ways = tuple(_way(words, to, size, right) for words, to in ways_of(step))
    return Row(step, tuple(lines), ways, size, stacked)


def draw_row(sheet: Sheet, row: Row) -> None:
    """Draw a row at the sheet's `y`, and move on."""
    canvas, edge, top = sheet.canvas, sheet.type.edge, sheet.y
    canvas.line(edge, top, sheet.width - edge, top, stroke=sheet.look.soft, stroke_width=1)
    _number(sheet, row.step)
    at = top + 6
    for line in row.left:
        style = {"font_weight": "bold"} if line.bold else {}
        colour = sheet.look.soft if line.soft else sheet.look.ink
        at += line.size * LEAD
        canvas.text(
            edge + NUMBERS, at - line.size * 0.3, line.words, line.size, fill=colour, **style
        )
    left, right = _widths(sheet)
    x = edge + NUMBERS if row.stacked else edge + NUMBERS + left + ROOM
    at = at + 4 if row.stacked else top + 6
    for way in row.ways:
        at = _draw_way(sheet, way, x, x + right, at, row.size)
    sheet.y = top + row.height


def _widths(sheet: Sheet) -> tuple[float, float]:
    """Widths of what to do and of the answers, px."""
    inner = sheet.inner - NUMBERS
    return (inner, inner) if sheet.narrow else (inner * 0.55 - ROOM, inner * 0.45)


def _number(sheet: Sheet, step: ChartStep) -> None:
    """The step's number on a plate, filled for a repair, and the share of cases that come here."""
    canvas, look, size = sheet.canvas, sheet.look, sheet.type.body
    mends = step.kind != "look"
    x, y, wide, high = sheet.type.edge, sheet.y + 7, NUMBERS - 12, size * 1.5
    fill = look.ink if mends else look.paper
    canvas.rect(x, y, wide, high, fill=fill, stroke=look.ink, stroke_width=1.5)
    colour = look.paper if mends else look.ink
    middle = {"text_anchor": "middle", "font_weight": "bold"}
    canvas.text(x + wide / 2, y + high / 2 + size * 0.36, f"{step.id}", size, fill=colour, **middle)
    comes = short_share(step.chance)
    small = min(sheet.type.small, sheet.type.small * wide / text_width(comes, sheet.type.small))
    below = y + high + small * 1.2
    canvas.text(x + wide / 2, below, comes, small, text_anchor="middle", fill=look.soft)


def _draw_way(sheet: Sheet, way: Way, x: float, right: float, at: float, size: float) -> float:
    """One answer with its arrow, the place at the right edge; where the next line begins."""
    canvas, look = sheet.canvas, sheet.look
    for words in way.lines:
        at += size * LEAD
        canvas.text(x, at - size * 0.3, words, size)
    base, place = at - size * 0.3, f"{ARROW} {said(way.to)}"
    colour = look.accent if way.to == PROVED else look.ink
    style = {"text_anchor": "end", "font_weight": "bold"}
    canvas.text(right, base, place, size, fill=colour, **style)
    begins = x + text_width(way.lines[-1], size) * 1.02 + 6
    ends = right - text_width(place, size, True) * 1.02 - 6
    if ends - begins > 8:
        dots = {"stroke_dasharray": "1 4", "stroke": look.soft, "stroke_width": 1}
        canvas.line(begins, base, ends, base, **dots)
    return at


def notes_of(step: ChartStep, *, with_state: bool = True) -> list[str]:
    """What stands below what to do: state and place, or chance and price; what to look at after."""
    if step.kind == "look":
        told = [say("State: {state}.", state=as_written(step.state))] if with_state else []
        told += [say("At: {place}.", place=step.place)] if step.place else []
        return [" ".join([*told, f"{minutes_words(step.minutes)}."])]
    notes = []
    if step.kind == "repair":
        told = [say("Chance that it is the cause: {share}", share=share(step.cure))]
        told.append(minutes_words(step.minutes))
        told += [say("price {price:g}", price=step.price)] if step.price else []
        told += [say("a module, replaced whole")] if step.module else []
        notes.append(f"{'; '.join(told)}.")
        if step.place:
            notes.append(say("At: {place}.", place=step.place))
    if step.also:
        looks = [
            say(AGAIN) if name == PROVE_AGAIN else look_words(name)
            for name in dict.fromkeys(step.also)
        ]
        notes.append(
            say(
                "The daily test leaves something open. Then also: {looks}.",
                looks="; ".join(looks),
            )
        )
    return notes


def step_lines(step: ChartStep) -> list[str]:
    """A step in sentences: what to do, what to know, where each answer leads."""
    ways = "; ".join(f"{words} {ARROW} {said(to)}" for words, to in ways_of(step))
    return [step.do, *notes_of(step), ways]


def minutes_words(minutes: float) -> str:
    """Minutes as people read them.

    >>> minutes_words(0.2), minutes_words(25.0)
    ('0.2 min', '25 min')
    """
    if minutes < 9.95 and minutes % 1:
        return say("{minutes:.1f} min", minutes=minutes)
    return say("{minutes:.0f} min", minutes=minutes)


def ways_of(step: ChartStep) -> list[tuple[str, str]]:
    """Answers that lead to one place together, said, and the place; what is said once is left out.

    A place is a step's number, `TO_TOOL` or `PROVED`.
    """
    places: dict[str, list[str]] = {}
    for branch in step.branches:
        if branch.word != ANYTHING_ELSE:
            places.setdefault(place_of(branch), []).append(branch.word)
    if step.kind == "look":
        subject = step.action.partition(": ")[2]  # a look's id is its state and its subject
        return [
            (listed((answer_words(each, subject) for each in touching(words)), "or"), place)
            for place, words in places.items()
        ]
    return [
        (_test_words(words[0], to == PROVED and bool(step.also)), to)
        for to, words in places.items()
    ]


def _test_words(word: str, looks_after: bool) -> str:
    """How the daily test went; `looks_after`: and what is looked at after it."""
    if word == "passed":
        if looks_after:
            return say("daily test passed and the rest sound")
        return say("daily test passed")
    if word == "failed":
        return say("daily test failed")
    return say("daily test: {answer}", answer=answer_words(word))


def place_of(branch: Branch) -> str:
    """Where a branch leads: a step's number, "tool", or that the machine is proved."""
    if branch.to is not None:
        return f"{branch.to}"
    return PROVED if branch.word == "passed" else TO_TOOL


def share(part: float) -> str:
    """A share as it stands on paper: whole per cent.

    >>> share(0.5149), share(0.004), share(0.0), share(1.0)
    ('51 %', 'under 1 %', 'none', '100 %')
    """
    if 0 < part < 0.005:
        return say("under 1 %")
    return f"{100 * part:.0f} %" if part else say_as("share", "none")


def short_share(part: float) -> str:
    """The same where there is little room.

    >>> short_share(0.004), short_share(0.51)
    ('<1 %', '51 %')
    """
    return "<1 %" if 0 < part < 0.005 else share(part)


def cases_words(part: float) -> str:
    """How many of all cases a complaint is told in."""
    return say("{share} of all cases.", share=share(part))


def _way(words: str, to: str, size: float, width: float) -> Way:
    room = width - text_width(f"{ARROW} {said(to)}", size, True) - 12
    return Way(tuple(wrapped(words, size, room)), to)
