"""The page around a plot: heading, axes, key, and the lines under it that say what it shows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tripmargin.ground.languages import say
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.boxes import Box
from tripmargin.pictures.look import Type, look_for, type_for
from tripmargin.pictures.svg import Canvas, text_width, wrapped
from tripmargin.pictures.words import MACHINE_NOT_PEOPLE, assumed_words, plain_number

NARROWEST, WIDEST = 280.0, 4000.0  # px; below the first nothing can be read


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a key: a filled swatch, or a line, and what it stands for."""

    text: str
    fill: str = "none"
    dash: str | None = None


class Sheet:
    """A picture being laid out from the top down; `y` is where the next thing goes.

    `least` is the smallest size of letters, px.
    """

    def __init__(self, width: float, sun: bool, least: float = 0.0) -> None:
        if not NARROWEST <= width <= WIDEST:
            raise ValueError(
                say(
                    "width = {width:g}: a picture is {least:g} to {most:g} px wide.",
                    width=width,
                    least=NARROWEST,
                    most=WIDEST,
                )
            )
        sizes = type_for(width)
        self.type = replace(sizes, small=max(sizes.small, least), body=max(sizes.body, least))
        self.width, self.look = float(width), look_for(sun)
        self.canvas = Canvas(self.width, self.look)
        self.y = self.type.edge

    @property
    def narrow(self) -> bool:
        """Whether it is laid out for a phone."""
        return self.width < 520

    @property
    def inner(self) -> float:
        """Width between the edges, px."""
        return self.width - 2 * self.type.edge

    def paragraph(self, text: str, size: float, bold: bool = False, soft: bool = False) -> None:
        """Lines of text across the page."""
        style = {"font_weight": "bold"} if bold else {}
        colour = self.look.soft if soft else self.look.ink
        for line in wrapped(text, size, self.inner * 0.97, bold):
            self.y += size * 1.3
            self.canvas.text(self.type.edge, self.y - size * 0.3, line, size, fill=colour, **style)

    def heading(self, machine_name: str, what: str, answers: Sequence[str]) -> None:
        """Whose picture it is, of what, and the answer that it gives."""
        sizes: Type = self.type
        self.paragraph(f"{machine_name.strip()}: {what}", sizes.title, bold=True)
        self.y += 2
        for answer in answers:
            self.paragraph(answer, sizes.body)
        self.y += 8

    def key(self, entries: Sequence[Entry]) -> None:
        """Swatches with their meanings, in as many rows as they need."""
        size, swatch, x = self.type.small, 22.0, self.type.edge
        row = size + 9
        self.y += 6
        for entry in entries:
            needed = swatch + 6 + text_width(entry.text, size) * 1.05
            if x > self.type.edge and x + needed > self.width - self.type.edge:
                x, self.y = self.type.edge, self.y + row
            self._swatch(x, self.y + row / 2, entry)
            self.canvas.text(x + swatch + 6, self.y + row / 2 + size * 0.36, entry.text, size)
            x += needed + 14
        self.y += row + 2

    def _swatch(self, x: float, middle: float, entry: Entry) -> None:
        ink = self.look.ink
        if entry.dash is None:
            style = {"fill": entry.fill, "stroke": ink, "stroke_width": 1}
            self.canvas.rect(x, middle - 7, 22, 14, **style)
        else:
            dash = {"stroke_dasharray": entry.dash} if entry.dash else {}
            self.canvas.line(x, middle, x + 22, middle, stroke_width=2, **dash)

    def footer(self, read_it: str, assumed: Sequence[str], notes: Sequence[str] = ()) -> None:
        """How to read it in one line, then the small print."""
        self.y += 4
        self.paragraph(say("Read it: {how}", how=read_it), self.type.body)
        self.y += 4
        small = [assumed_words(tuple(assumed)), *notes, say(MACHINE_NOT_PEOPLE)]
        self.paragraph(" ".join(part for part in small if part), self.type.small, soft=True)
        self.y += self.type.edge * 0.8

    def done(self, title: str, description: str) -> str:
        """The finished SVG text."""
        return self.canvas.done(self.y, title, description)

    def frame(self, box: Box) -> None:
        """The plot's outline."""
        width, height = box.right - box.left, box.bottom - box.top
        style = {"fill": "none", "stroke": self.look.ink, "stroke_width": 1.5}
        self.canvas.rect(box.left, box.top, width, height, **style)

    def left_axis(self, box: Box, scale: Scale, ticks: Sequence[float], unit: float) -> None:
        """Tick marks and numbers left of a plot."""
        size = self.type.small
        for tick in ticks:
            y = scale.at(tick)
            self.canvas.line(box.left - 5, y, box.left, y, stroke_width=1.5)
            text = plain_number(tick / unit)
            self.canvas.text(box.left - 8, y + size * 0.36, text, size, text_anchor="end")

    def bottom_axis(self, box: Box, scale: Scale, ticks: Sequence[float], unit: float) -> None:
        """Tick marks and numbers under a plot."""
        size = self.type.small
        for tick in ticks:
            x = scale.at(tick)
            self.canvas.line(x, box.bottom, x, box.bottom + 5, stroke_width=1.5)
            text = plain_number(tick / unit)
            half = text_width(text, size) / 2
            at = min(max(x, self.type.edge + half), self.width - self.type.edge - half)
            self.canvas.text(at, box.bottom + 8 + size, text, size, text_anchor="middle")

    def gutter(self, ticks: Sequence[float], unit: float) -> float:
        """Where a plot's left edge may stand so that its numbers fit, px."""
        widest = max(
            (text_width(plain_number(t / unit), self.type.small) for t in ticks), default=0
        )
        return self.type.edge + widest + 10
