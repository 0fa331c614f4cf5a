"""What the small drawings beside the questions are made of: lines, rolls, dimensions, meters."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, hypot, pi, sin
from typing import Any

import numpy as np

from tripmargin.pictures.look import look_for
from tripmargin.pictures.svg import Canvas, path_of, text_width

WIDE, HIGH = 240.0, 150.0  # px
LETTERS = 11.0  # px; nothing smaller is read in the sun
INK, THIN, STRONG = 1.8, 1.1, 2.4  # px, widths of lines: parts, what is beside them, the dimension
DASH = "5 4"
_EDGE = 1.0  # px; half a line's width stays inside the sheet

Point = tuple[float, float]


def around(x: float, y: float, radius: float, start: float, end: float) -> list[Point]:
    """Points on an arc, px; angles in degrees with the clock from the right, as the eye sees it."""
    steps = max(2, int(abs(end - start) * radius / 180) + 1)
    turns = np.linspace(start, end, steps) * pi / 180
    return [(x + radius * cos(t), y + radius * sin(t)) for t in turns]


class Drawing:
    """One small drawing, px from the top left; what would leave the sheet is cut off."""

    def __init__(self, sun: bool) -> None:
        self.look = look_for(sun)
        self.canvas = Canvas(WIDE, self.look)

    def line(self, points: Sequence[Point], **style: Any) -> None:
        """A line through points, cut at the sheet's edge."""
        style = {"stroke": self.look.ink, "stroke_width": INK, "stroke_linejoin": "round", **style}
        self.canvas.path("".join(path_of(np.array(run)) for run in _inside(points)), **style)

    def area(self, points: Sequence[Point], fill: str = "", **style: Any) -> None:
        """A closed shape, of paper unless told otherwise."""
        style = {"stroke": self.look.ink, "stroke_width": INK, "stroke_linejoin": "round", **style}
        held = [(min(max(x, 0.0), WIDE), min(max(y, 0.0), HIGH)) for x, y in points]
        self.canvas.path(
            path_of(np.array(held), closed=True), fill=fill or self.look.paper, **style
        )

    def box(self, x: float, y: float, wide: float, high: float, **style: Any) -> None:
        """An upright rectangle."""
        style = {"stroke": self.look.ink, "stroke_width": INK, "fill": self.look.paper, **style}
        self.canvas.rect(x, y, wide, high, **style)

    def circle(self, x: float, y: float, radius: float, **style: Any) -> None:
        """A whole circle, or the part of it that lies on the sheet."""
        if "fill" in style:
            style = {"stroke": self.look.ink, "stroke_width": INK, **style}
            self.canvas.element("circle", cx=x, cy=y, r=radius, **style)
        else:
            self.line(around(x, y, radius, -180, 180), **style)

    def label(self, x: float, y: float, text: str, at: str = "middle", **style: Any) -> None:
        """A word on paper, so that it is read over any pattern; y is its baseline.

        A long one is moved until it stands on the sheet.
        """
        wide = text_width(text, LETTERS, bold="font_weight" in style)
        wanted = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[at] * wide
        left = max(min(wanted, WIDE - wide - _EDGE), _EDGE)
        x += left - wanted
        self.canvas.rect(left - 2, y - 0.8 * LETTERS, wide + 4, LETTERS + 2, fill=self.look.paper)
        self.canvas.text(x, y, text, LETTERS, text_anchor=at, **style)

    def asked(self, x: float, y: float, text: str, at: str = "middle") -> None:
        """The word at what is asked for."""
        self.label(x, y, text, at, fill=self.look.accent, font_weight="bold")

    def dimension(self, start: Point, end: Point) -> None:
        """What is measured: from here to there, with a head at either end and a bar across it."""
        self.line([start, end], stroke=self.look.accent, stroke_width=STRONG)
        (x1, y1), (x2, y2) = start, end
        long = hypot(x2 - x1, y2 - y1)
        across = ((y2 - y1) / long * 6, -(x2 - x1) / long * 6)
        for (x, y), other in ((start, end), (end, start)):
            self._head(other, (x, y), min(8.0, long / 2.5))
            bar = [(x + across[0], y + across[1]), (x - across[0], y - across[1])]
            self.line(bar, stroke=self.look.accent, stroke_width=1.4)

    def between(self, start: Point, end: Point, tail: float = 20.0) -> None:
        """A gap too narrow for heads inside it: two arrows point at its ends from outside."""
        (x1, y1), (x2, y2) = start, end
        long = hypot(x2 - x1, y2 - y1)
        away = ((x2 - x1) / long * tail, (y2 - y1) / long * tail)
        self.arrow((x1 - away[0], y1 - away[1]), start, self.look.accent)
        self.arrow((x2 + away[0], y2 + away[1]), end, self.look.accent)

    def arrow(self, start: Point, end: Point, colour: str = "", weight: float = STRONG) -> None:
        """A line with a head at its end."""
        colour = colour or self.look.ink
        self.line([start, end], stroke=colour, stroke_width=weight)
        self._head(start, end, 8.0, colour)

    def turning(
        self, x: float, y: float, radius: float, start: float, end: float, colour: str = ""
    ) -> None:
        """An arc with a head: which way a part turns."""
        colour = colour or self.look.ink
        points = around(x, y, radius, start, end)
        self.line(points, stroke=colour, stroke_width=STRONG)
        back = 9.0 / radius * 180 / pi * (1 if end > start else -1)
        self._head(around(x, y, radius, end - back, end)[0], points[-1], 9.0, colour)

    def _head(self, start: Point, end: Point, size: float, colour: str = "") -> None:
        (x1, y1), (x2, y2) = start, end
        long = hypot(x2 - x1, y2 - y1)
        ux, uy = (x2 - x1) / long * size, (y2 - y1) / long * size
        corners = [(x2, y2), (x2 - ux + uy / 2, y2 - uy - ux / 2),
                   (x2 - ux - uy / 2, y2 - uy + ux / 2)]  # fmt: skip
        self.area(corners, fill=colour or self.look.accent, stroke="none")

    def roll(self, x: float, y: float, radius: float, marks: int = 20) -> None:
        """A fluted roll from its end, its axis as a cross."""
        for k in range(marks):
            turn = 360 * k / marks
            one, two = (around(x, y, radius * part, turn, turn + 1)[0] for part in (0.86, 0.99))
            self.line([one, two], stroke_width=THIN, stroke=self.look.soft)
        self.circle(x, y, radius)
        self.axis(x, y)

    def axis(self, x: float, y: float) -> None:
        """The middle of what turns."""
        for step in ((4, 0), (0, 4)):
            ends = [(x - step[0], y - step[1]), (x + step[0], y + step[1])]
            self.line(ends, stroke_width=THIN)

    def crop(self, left: float, top: float, right: float, bottom: float) -> None:
        """The mat of crop, seen from the side."""
        dots = self.canvas.pattern("dots", self.look.soft, 0.6)
        self.canvas.rect(left, top, right - left, bottom - top, fill=dots)
        for y in (top, bottom):
            self.line([(left, y), (right, y)], stroke=self.look.soft, stroke_width=THIN)

    def solid(self, points: Sequence[Point]) -> None:
        """A fixed part, hatched as cut metal is."""
        self.area(points, fill=self.canvas.pattern("slant", self.look.ink, 0.6, self.look.paper))

    def dashed(self, points: Sequence[Point]) -> None:
        """An aid, or a part in another position."""
        self.line(points, stroke=self.look.soft, stroke_width=1.4, stroke_dasharray=DASH)

    def meter(self, x: float, y: float, shows: str) -> tuple[Point, Point]:
        """A hand meter with its middle at (x, y); its two sockets."""
        self.box(x - 23, y - 28, 46, 56, rx=5)
        self.box(x - 17, y - 22, 34, 18, stroke_width=THIN)
        self.canvas.text(x, y - 8.5, shows, 13, text_anchor="middle", font_weight="bold",
                         fill=self.look.accent)  # fmt: skip
        self.circle(x, y + 7, 6, fill=self.look.paper, stroke_width=THIN)
        self.line([(x, y + 7), (x + 3, y + 2)], stroke_width=THIN)
        sockets = ((x - 11, y + 21), (x + 11, y + 21))
        for socket in sockets:
            self.circle(*socket, 2.5, fill=self.look.ink, stroke_width=0.5)
        return sockets

    def lead(self, points: Sequence[Point]) -> None:
        """A meter's lead; its tip is a spot where it touches."""
        self.line(points, stroke=self.look.accent, stroke_width=STRONG)
        self.circle(*points[-1], 3.2, fill=self.look.accent, stroke="none")

    def done(self, title: str, description: str) -> str:
        """The finished drawing."""
        return self.canvas.done(HIGH, title, description)


def _inside(points: Sequence[Point]) -> list[list[Point]]:
    """The runs of a line that lie on the sheet; arcs are finely stepped, so no cut is computed."""
    runs: list[list[Point]] = [[]]
    for x, y in points:
        if _EDGE <= x <= WIDE - _EDGE and _EDGE <= y <= HIGH - _EDGE:
            runs[-1].append((x, y))
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if len(run) > 1]
