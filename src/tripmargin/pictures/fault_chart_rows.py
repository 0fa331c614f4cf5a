"""One step of a fault chart as a row: number, what to do, and where each answer leads."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import permutations

from tripmargin.faultfinding.charts.chart_steps import Branch, ChartStep
from tripmargin.faultfinding.charts.chart_tree import ANYTHING_ELSE
from tripmargin.faultfinding.suspects.repairs import PROVE_AGAIN
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width, wrapped

ARROW = "\N{RIGHTWARDS ARROW}"
AGAIN = "the daily test once more"
TO_TOOL, PROVED = "tool", "done: proved"
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
    comes = share(step.chance).replace("under ", "<")
    small = min(sheet.type.small, sheet.type.small * wide / text_width(comes, sheet.type.small))
    below = y + high + small * 1.2
    canvas.text(x + wide / 2, below, comes, small, text_anchor="middle", fill=look.soft)


def _draw_way(sheet: Sheet, way: Way, x: float, right: float, at: float, size: float) -> float:
    """One answer with its arrow, the place at the right edge; where the next line begins."""
    canvas, look = sheet.canvas, sheet.look
    for words in way.lines:
        at += size * LEAD
        canvas.text(x, at - size * 0.3, words, size)
    base, place = at - size * 0.3, f"{ARROW} {way.to}"
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
        state = f"State: {step.state}. " if with_state else ""
        where = f"At: {step.place}. " if step.place else ""
        return [f"{state}{where}{minutes_words(step.minutes)}."]
    notes = []
    if step.kind == "repair":
        price = f"; price {step.price:g}" if step.price else ""
        module = "; a module, replaced whole" if step.module else ""
        chance = f"Chance that it is the cause: {share(step.cure)}"
        notes.append(f"{chance}; {minutes_words(step.minutes)}{price}{module}.")
        if step.place:
            notes.append(f"At: {step.place}.")
    if step.also:
        named = [AGAIN if name == PROVE_AGAIN else name for name in dict.fromkeys(step.also)]
        notes.append(f"The daily test leaves something open. Then also: {'; '.join(named)}.")
    return notes


def step_lines(step: ChartStep) -> list[str]:
    """A step in sentences: what to do, what to know, where each answer leads."""
    ways = "; ".join(f"{words} {ARROW} {to}" for words, to in ways_of(step))
    return [step.do, *notes_of(step), ways]


def minutes_words(minutes: float) -> str:
    """Minutes as people read them.

    >>> minutes_words(0.2), minutes_words(25.0)
    ('0.2 min', '25 min')
    """
    return f"{minutes:.1f} min" if minutes < 9.95 and minutes % 1 else f"{minutes:.0f} min"


def ways_of(step: ChartStep) -> list[tuple[str, str]]:
    """Answers that lead to one place together, and the place; what is said once is left out."""
    places: dict[str, list[str]] = {}
    for branch in step.branches:
        if branch.word != ANYTHING_ELSE:
            places.setdefault(place_of(branch), []).append(branch.word)
    if step.kind == "look":
        return [(joined(touching(words)), place) for place, words in places.items()]
    also = {PROVED: " and the rest sound"} if step.also else {}
    return [(f"daily test {words[0]}{also.get(to, '')}", to) for to, words in places.items()]


def place_of(branch: Branch) -> str:
    """Where a branch leads: a step's number, "tool", or that the machine is proved."""
    if branch.to is not None:
        return f"{branch.to}"
    return PROVED if branch.word == "passed" else TO_TOOL


_RANGE = re.compile(r"(?:less than |more than |(?P<low>.+) to )(?P<end>.+?)(?P<over> or overload)?")


def touching(words: list[str]) -> list[str]:
    """Ranges of a meter that touch as one range; other words as they are.

    >>> touching(["17 ohm to 1.3 kohm", "less than 17 ohm"])
    ['less than 1.3 kohm']
    >>> touching(["on", "dim"])
    ['on', 'dim']
    """
    merged = list(words)
    for one, other in permutations(words, 2):
        if one not in merged or other not in merged:
            continue
        lower, upper = _RANGE.fullmatch(one), _RANGE.fullmatch(other)
        if lower is None or upper is None or one.startswith("more than "):
            continue
        begins = upper["low"] or (upper["end"] if other.startswith("more than ") else None)
        if lower["end"] != begins:
            continue
        merged = [word for word in merged if word not in (one, other)]
        merged.append(_range(lower["low"], upper, other))
        return touching(merged)
    return merged


def _range(low: str | None, upper: re.Match[str], other: str) -> str:
    """The range from the lower end of one to the upper end of another that it touches."""
    if other.startswith("more than "):
        return f"more than {low}{upper['over'] or ''}" if low else "any reading"
    return f"{low} to {upper['end']}" if low else f"less than {upper['end']}"


def share(part: float) -> str:
    """A share as it stands on paper: whole per cent.

    >>> share(0.5149), share(0.004), share(0.0), share(1.0)
    ('51 %', 'under 1 %', 'none', '100 %')
    """
    if 0 < part < 0.005:
        return "under 1 %"
    return f"{100 * part:.0f} %" if part else "none"


def joined(words: Iterable[str]) -> str:
    """Answers in a row.

    >>> joined(["on", "dim", "off"])
    'on, dim or off'
    """
    every = list(words)
    return " or ".join([", ".join(every[:-1]), every[-1]] if len(every) > 1 else every)


def _way(words: str, to: str, size: float, width: float) -> Way:
    room = width - text_width(f"{ARROW} {to}", size, True) - 12
    return Way(tuple(wrapped(words, size, room)), to)
