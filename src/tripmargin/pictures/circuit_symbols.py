"""Symbols of circuit parts, upright between two leads, after the general style of IEC 60617.

Drawn from memory of that style and simplified. A symbol stands 12 px above and below its middle.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from tripmargin.circuit import (
    ByModule,
    ByPlunger,
    ByRelay,
    BySwitch,
    Contact,
    Part,
)
from tripmargin.pictures.svg import Canvas, number

HALF = 12.0  # px, from the middle of a symbol to its leads
WEIGHTS = {"live": 3.6, "under voltage": 2.0, "dead": 1.0}  # px, lines by what the part carries


@dataclass(frozen=True, slots=True)
class Standing:
    """How a part stands: its mark, what it shows, and whether its p end is above."""

    part: Part
    mark: str
    shows: str = ""
    p_above: bool = True


@dataclass(frozen=True, slots=True)
class Pen:
    """Where a symbol goes, and in which colours."""

    canvas: Canvas
    x: float
    y: float
    colour: str

    def path(self, data: str, **style: Any) -> None:
        """A path whose coordinates, px, count from the middle of the symbol."""
        style.setdefault("stroke", self.colour)
        style.setdefault("stroke_width", 1.6)
        style.setdefault("stroke_linejoin", "round")
        self.canvas.path(_moved(data, self.x, self.y), **style)


def colour_of(mark: str, canvas: Canvas) -> str:
    """Colour of the lines of a part."""
    look = canvas.look
    return {"live": look.accent, "under voltage": look.ink, "dead": look.soft}[mark]


def draw_symbol(canvas: Canvas, x: float, y: float, standing: Standing) -> None:
    """A part's symbol with its middle at (x, y), px; its first element names the part.

    A part without a name is a sample, for the key.
    """
    part, mark = standing.part, standing.mark
    pen = Pen(canvas, x, y, colour_of(mark, canvas))
    weight = {"live": 2.6, "under voltage": 1.8, "dead": 1.1}[mark]
    draw = _SYMBOLS.get(part.kind, _box)
    named = {"data_part": part.name, "data_mark": mark, "data_shows": standing.shows}
    attributes = named if part.name else {}
    draw(pen, standing, {"stroke_width": weight, **attributes})


def _moved(data: str, x: float, y: float) -> str:
    """Path data of absolute M, L, A, Z commands, shifted."""
    out = []
    for word in data.split():
        if "," in word:
            a, b = word.lstrip("MLA").split(",")
            head = word[0] if word[0] in "MLA" else ""
            out.append(f"{head}{number(float(a) + x)},{number(float(b) + y)}")
        else:
            out.append(word)
    return " ".join(out)


Style = dict[str, Any]


def _circle(radius: float, x: float = 0.0, y: float = 0.0) -> str:
    arc = f"A {radius:g} {radius:g} 0 0 1"
    return f"M{x - radius:g},{y:g} {arc} {x + radius:g},{y:g} {arc} {x - radius:g},{y:g} Z"


def _box(pen: Pen, standing: Standing, style: Style) -> None:
    pen.path("M-7,-12 L7,-12 L7,12 L-7,12 Z", **style)


def _resistor(pen: Pen, standing: Standing, style: Style) -> None:
    pen.path("M-5,-12 L5,-12 L5,12 L-5,12 Z", **style)


def _load(pen: Pen, standing: Standing, style: Style) -> None:
    pen.path("M-9,-12 L9,-12 L9,12 L-9,12 Z M-9,12 L9,-12", **style)


def _fuse(pen: Pen, standing: Standing, style: Style) -> None:
    thread = "M0,-12 L0,-5 M0,5 L0,12 M-4,-4 L4,4" if standing.shows == "blown" else "M0,-12 L0,12"
    pen.path(f"M-5,-12 L5,-12 L5,12 L-5,12 Z {thread}", **style)


def _wire(pen: Pen, standing: Standing, style: Style) -> None:
    weight = WEIGHTS[standing.mark]
    pen.path("M0,-12 L0,12", **{**style, "stroke_width": weight})
    pen.path("M-5,4 L5,-4", stroke_width=1.2)


def _connector(pen: Pen, standing: Standing, style: Style) -> None:
    pen.path("M-7,6 A 7 7 0 0 1 7,6 M0,-1 L0,12", **style)
    pen.path("M0,-12 L0,-7", stroke_width=style["stroke_width"])
    pen.path("M-2.5,-9 L2.5,-9 L2.5,-2 L-2.5,-2 Z", fill=pen.colour, stroke_width=1)


def _ground(pen: Pen, standing: Standing, style: Style) -> None:
    pen.path("M0,-12 L0,12 M-10,-4 L10,-4 M-7,0 L7,0 M-4,4 L4,4", **style)


def _winding(pen: Pen, standing: Standing, style: Style) -> None:
    bumps = " ".join(f"A 4 4 0 0 1 0,{y}" for y in (-4, 4, 12))
    pen.path(f"M0,-12 {bumps}", **style)


def _coil(pen: Pen, standing: Standing, style: Style) -> None:
    fill = {"fill": pen.colour} if standing.shows == "pulled" else {}
    pen.path("M-11,-7 L11,-7 L11,7 L-11,7 Z", **{**style, **fill})
    pen.path("M0,-12 L0,-7 M0,7 L0,12", stroke_width=style["stroke_width"])


def _lamp(pen: Pen, standing: Standing, style: Style) -> None:
    paper = pen.canvas.look.paper
    lit = standing.shows == "on"
    pen.path(_circle(10), **{**style, "fill": pen.colour if lit else paper})
    if standing.shows in ("dim", "flicker"):
        pen.path("M-10,0 A 10 10 0 0 0 10,0 Z", fill=pen.colour, stroke_width=0.5)
    cross = {"stroke": paper} if lit else {}
    pen.path("M-7,-7 L7,7 M-7,7 L7,-7", stroke_width=1.6, **cross)
    if standing.shows == "dim":
        pen.path("M0,0 L7,7 M0,0 L-7,7", stroke=paper, stroke_width=1.6)
    pen.path("M0,-12 L0,-10 M0,10 L0,12", stroke_width=style["stroke_width"])
    if lit or standing.shows == "flicker":
        rays = "M-11,-6 L-14,-8 M-11,6 L-14,8 M-13,0 L-16,0"
        pen.path(rays, stroke_width=1.6)


def _triangle(way: int) -> str:
    """A diode's triangle; its tip is the end that the current leaves by."""
    return f"M-8,{-7 * way} L8,{-7 * way} L0,{7 * way} Z"


def _diode(pen: Pen, standing: Standing, style: Style) -> None:
    way = 1 if standing.p_above else -1
    fill = pen.canvas.look.paper
    bar = f"M-8,{7 * way} L8,{7 * way} M0,-12 L0,-7 M0,7 L0,12"
    pen.path(f"{_triangle(way)} {bar}", **{**style, "fill": fill})


def _led(pen: Pen, standing: Standing, style: Style) -> None:
    way = 1 if standing.p_above else -1
    _diode(pen, standing, style)
    if standing.shows in ("on", "flicker"):
        pen.path(_triangle(way), fill=pen.colour, stroke_width=1)
    elif standing.shows == "dim":
        pen.path(f"M-8,{-7 * way} L0,{-7 * way} L0,{7 * way} Z", fill=pen.colour, stroke_width=1)
    for y in (-2.0, 5.0):
        arrow = f"M-9,{y:g} L-16,{y - 5:g} M-16,{y - 5:g} L-12.5,{y - 4.8:g} M-16,{y - 5:g} "
        pen.path(arrow + f"L-14,{y - 1.6:g}", stroke_width=1.2)


def _buzzer(pen: Pen, standing: Standing, style: Style) -> None:
    fill = {"on": pen.colour, "dim": pen.canvas.look.paper}.get(standing.shows)
    filled = {"fill": fill} if fill else {}
    pen.path("M-2,-11 L-2,11 A 11 11 0 0 1 -2,-11 Z", **{**style, **filled})
    pen.path("M0,-12 L0,-7 L-2,-7 M-2,7 L0,7 L0,12", stroke_width=style["stroke_width"])
    if standing.shows in ("on", "dim", "flicker"):
        arcs = "M4,-5 A 6 6 0 0 1 4,5" + (
            " M8,-8 A 10 10 0 0 1 8,8" if standing.shows == "on" else ""
        )
        pen.path(arcs, stroke_width=1.8)


def _source(pen: Pen, standing: Standing, style: Style) -> None:
    way = 1 if standing.p_above else -1
    long, short = -3 * way, 3 * way
    pen.path(f"M0,-12 L0,-3 M0,3 L0,12 M-11,{long} L11,{long}", **style)
    pen.path(f"M-6,{short} L6,{short}", stroke_width=4)
    pen.path(f"M-11,{-8 * way} L-5,{-8 * way} M-8,{-8 * way - 3} L-8,{-8 * way + 3}")


def _contact(pen: Pen, standing: Standing, style: Style) -> None:
    closed = standing.shows == "closed"
    weight = style["stroke_width"]
    blade = "M0,8 L0,-8" if closed else "M0,8 L-9,-7"
    pen.path(blade, **{**style, "stroke_width": max(weight, 1.6), "stroke_linecap": "round"})
    pen.path("M0,-12 L0,-10.5 M0,10.5 L0,12", stroke_width=weight)
    paper = pen.canvas.look.paper
    pen.path(f"{_circle(2.4, 0, -8)} {_circle(2.4, 0, 8)}", fill=paper, stroke_width=1.4)
    part = standing.part
    by = part.by if isinstance(part, Contact) else None
    start = -2 if closed else -6
    if by is not None:
        pen.path(f"M{start},0 L-14,0", stroke_width=1.1, stroke_dasharray="3 2")
    pen.path(_MOVERS.get(type(by), ""), stroke_width=1.3)


_MOVERS: dict[type, str] = {
    BySwitch: "M-14,-5 L-14,5 M-17,-5 L-14,-5 M-17,5 L-14,5",  # a handle
    ByRelay: "M-14,-3 L-20,-3 L-20,3 L-14,3 Z",  # a small coil
    ByModule: "M-14,0 L-17,-4 L-20,0 L-17,4 Z",  # a small rhomb
    ByPlunger: _circle(3, -17, 0),  # a roller
}

_SYMBOLS: dict[str, Callable[[Pen, Standing, Style], None]] = {
    "resistor": _resistor,
    "suppression": _resistor,
    "load": _load,
    "fuse": _fuse,
    "wire": _wire,
    "connector": _connector,
    "ground": _ground,
    "winding": _winding,
    "coil": _coil,
    "lamp": _lamp,
    "led": _led,
    "buzzer": _buzzer,
    "diode": _diode,
    "source": _source,
    "contact": _contact,
}
"""By kind of part; a kind that is not here is drawn as a box."""


def arrow_head(canvas: Canvas, x: float, y: float, down: bool) -> None:
    """A head on a lead that tells which way the current goes."""
    way = 1 if down else -1
    pen = Pen(canvas, x, y, canvas.look.accent)
    pen.path(f"M-5,{-4 * way} L5,{-4 * way} L0,{5 * way} Z", fill=pen.colour, stroke_width=0.5)


def hatched_ring(canvas: Canvas, x: float, y: float) -> None:
    """A ring round a part that shows something else than on a sound machine."""
    fill = canvas.pattern("slant", canvas.look.ink, 0.9, canvas.look.paper)
    pen = Pen(canvas, x, y, canvas.look.ink)
    pen.path(f"{_circle(17.5)} {_circle(12.5)}", fill=fill, fill_rule="evenodd", stroke_width=1.0)
