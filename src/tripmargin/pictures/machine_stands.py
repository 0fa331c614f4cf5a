"""A machine as somebody at it has left it and seen it: for drills, so nothing hidden is drawn.

The picture is made of what the learner did (key, switches, shift) and of what was looked at since;
it is given nothing else, and so can give nothing else away.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, pi, sin
from typing import Any

import numpy as np

from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.faultfinding.suspects.looks import MOVING
from tripmargin.ground.languages import later, say
from tripmargin.ground.languages.own_words import as_written
from tripmargin.pictures.look import look_for, type_for
from tripmargin.pictures.svg import Canvas, path_of, wrapped

LEAST, MOST = 300.0, 760.0  # px
_VIEW = 138.0  # px, height of the side view
_CELL = 86.0  # px, least width of a control or a sign
_KNOB = 15.0

AT_REST = later("Engine off, key out, feed rolls blocked.")
LIVE = later("Engine off, key on.")
RUNS = later("The engine runs: nobody within reach.")
NOT_LOOKED = later("not looked at")
READ_IT = later(
    "What is drawn is what was done and what was looked at since; a dashed outline was not looked"
    " at. A circle is a lamp, a square a buzzer, filled while it is on."
)


@dataclass(frozen=True, slots=True)
class Control:
    """A switch or lever: its name, where it stands, and every place that it has."""

    name: str
    at: str
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sign:
    """A lamp, a buzzer or a movement, and what it showed; empty where nobody looked."""

    name: str
    kind: str
    shows: str = ""


@dataclass(frozen=True, slots=True)
class Stands:
    """How the machine stands.

    Attributes
    ----------
    state : str
    running, live : bool
        Whether the engine runs, whether the key is on.
    controls : tuple of Control
    signs : tuple of Sign
        Those of this state; of a movement called "rolls" the rolls are drawn turning.
    """

    state: str
    running: bool
    live: bool
    controls: tuple[Control, ...]
    signs: tuple[Sign, ...]


def stands_picture(stands: Stands, *, width: float = 360.0, sun: bool = False) -> str:
    """The machine as it stands, as SVG.

    Parameters
    ----------
    stands : Stands
    width : float, px
        From 300 to 760; others are brought there.
    sun : bool

    Examples
    --------
    >>> still = Stands("standing", False, False, (Control("key", "off", ("off", "on")),), ())
    >>> stands_picture(still).startswith("<svg")
    True
    """
    drawing = _Drawing(min(max(width, LEAST), MOST), sun)
    drawing.side_view(stands)
    drawing.cells([_control(drawing, each) for each in stands.controls])
    drawing.cells([_sign(drawing, each) for each in stands.signs])
    title = say("The machine in the state “{state}”", state=as_written(stands.state))
    return drawing.canvas.done(drawing.y + 6, title, description(stands))


def description(stands: Stands) -> str:
    """The same in words."""
    said = [say(_how(stands))]
    said += [
        say("{name}: {at}.", name=as_written(each.name), at=as_written(each.at))
        for each in stands.controls
    ]
    said += [
        say("{name}: {shows}.", name=_called(each), shows=_shown(each)) for each in stands.signs
    ]
    return " ".join(said)


def _called(sign: Sign) -> str:
    """A sign by its name: movements are the tool's words, all else the machine file's."""
    return say(MOVING[sign.name]) if sign.name in MOVING else as_written(sign.name)


def _shown(sign: Sign) -> str:
    return word_said(sign.shows, sign.name) if sign.shows else say(NOT_LOOKED)


def _how(stands: Stands) -> str:
    return RUNS if stands.running else LIVE if stands.live else AT_REST


class _Drawing:
    def __init__(self, width: float, sun: bool) -> None:
        self.look, self.type = look_for(sun), type_for(width)
        self.canvas, self.width, self.y = Canvas(width, self.look), width, 6.0

    def side_view(self, stands: Stands) -> None:
        """Rolls, shear bar and cutterhead from the side; turning only where it was seen."""
        look, canvas = self.look, self.canvas
        size, middle = self.type.body, 58.0
        for line in wrapped(say(_how(stands)), size, self.width - 12, bold=True):
            self.y += size * 1.3
            canvas.text(6, self.y - size * 0.3, line, size, font_weight="bold")
        top = self.y + 4
        if stands.running:
            fill = canvas.pattern("slant", look.soft, 0.5, look.paper)
            canvas.rect(4, top, self.width - 8, _VIEW - 22, fill=fill, stroke=look.ink)
        seen = next((each.shows for each in stands.signs if each.name == "rolls"), "")
        x = self.width * 0.32
        for y, radius, way in ((top + 27, 22.0, -1), (top + middle + 25, 27.0, 1)):
            self._roll(x, y, radius, way if seen == "forward" else -way if seen == "reverse" else 0)
        if not (stands.live or stands.running):
            wedge = [(x - 66, top + 47), (x - 26, top + 52), (x - 66, top + 61)]
            canvas.path(path_of(np.array(wedge), closed=True), fill=look.ink)
        bar = self.width * 0.56
        canvas.rect(bar, top + middle, 16, 26, fill=canvas.pattern("slant", look.ink, 0.6,
                    look.paper), stroke=look.ink, stroke_width=1.5)  # fmt: skip
        self._ring(self.width * 0.78, top + middle - 6, 34)
        for at, words in ((x, say("feed rolls")), (bar + 8, say("shear bar")),
                          (self.width * 0.78, say("cutterhead"))):  # fmt: skip
            canvas.text(at, top + _VIEW - 8, words, self.type.small, text_anchor="middle")
        self.y = top + _VIEW

    def _roll(self, x: float, y: float, radius: float, way: int) -> None:
        self._ring(x, y, radius)
        for k in range(12):
            turn = 2 * pi * k / 12
            one, two = ((x + radius * s * cos(turn), y + radius * s * sin(turn)) for s in (0.8, 1))
            self.canvas.line(*one, *two, stroke=self.look.soft, stroke_width=1.2)
        if way:
            ends = np.linspace(-2.4, 0.6, 14)[::way]
            arc = np.column_stack(
                (x + radius * 0.55 * np.cos(ends), y + radius * 0.55 * np.sin(ends))
            )
            self.canvas.path(path_of(arc), stroke=self.look.ink, stroke_width=2.4)
            self._head(arc[-2], arc[-1])

    def _head(self, before: np.ndarray, tip: np.ndarray) -> None:
        """The head of an arrow, 10 px long, at the end of a line."""
        along = (tip - before) / np.hypot(*(tip - before)) * 10
        across = np.array([-along[1], along[0]]) * 0.6
        back = tip - along * 0.4
        corners = np.array([tip + along * 0.6, back + across, back - across])
        self.canvas.path(path_of(corners, closed=True), fill=self.look.ink)

    def _ring(self, x: float, y: float, radius: float) -> None:
        style: dict[str, Any] = {"stroke": self.look.ink, "stroke_width": 1.8}
        self.canvas.element("circle", cx=x, cy=y, r=radius, fill=self.look.paper, **style)

    def cells(self, drawn: Sequence[Any]) -> None:
        """Controls or signs side by side, in as many rows as they need."""
        if not drawn:
            return
        columns = max(int((self.width - 8) // _CELL), 1)
        wide = (self.width - 8) / columns
        for start in range(0, len(drawn), columns):
            row = drawn[start : start + columns]
            self.canvas.line(4, self.y, self.width - 4, self.y, stroke=self.look.soft)
            lows = [draw(4 + wide * (k + 0.5), self.y + 6, wide - 8) for k, draw in enumerate(row)]
            self.y = max(lows) + 6

    def words(self, x: float, y: float, wide: float, name: str, shows: str, soft: bool) -> float:
        """A name and what it shows, centred under a symbol; where they end."""
        size = self.type.small
        colour = self.look.soft if soft else self.look.ink
        for text, bold in ((name, False), (shows, True)):
            for line in wrapped(text, size, wide, bold=bold):
                y += size * 1.2
                weight = {"font_weight": "bold"} if bold and not soft else {}
                self.canvas.text(x, y, line, size, text_anchor="middle", fill=colour, **weight)
        return y


def _control(drawing: _Drawing, each: Control) -> Any:
    def draw(x: float, y: float, wide: float) -> float:
        look, middle = drawing.look, y + _KNOB + 3
        drawing._ring(x, middle, _KNOB)
        count = max(len(each.places), 2)
        place = each.places.index(each.at) if each.at in each.places else 0
        turn = (-140 + 100 * place / (count - 1)) * pi / 180
        tip = (x + _KNOB * cos(turn), middle + _KNOB * sin(turn))
        drawing.canvas.line(x, middle, *tip, stroke=look.ink, stroke_width=4)
        return drawing.words(
            x, middle + _KNOB, wide, as_written(each.name), as_written(each.at), soft=False
        )

    return draw


def _sign(drawing: _Drawing, each: Sign) -> Any:
    def draw(x: float, y: float, wide: float) -> float:
        look, size, middle = drawing.look, 11.0, y + 14
        fill, dash = look.paper, {}
        if not each.shows:
            dash = {"stroke_dasharray": "3 3"}
        elif each.shows in ("on", "sounds"):
            fill = look.ink
        elif each.shows not in ("off", "silent"):
            fill = drawing.canvas.pattern("stripes", look.ink, 1.0, look.paper)
        style: dict[str, Any] = {"fill": fill, "stroke": look.ink, "stroke_width": 2, **dash}
        if each.kind == "lamp":
            drawing.canvas.element("circle", cx=x, cy=middle, r=size, **style)
        elif each.kind == "buzzer":
            drawing.canvas.rect(x - size, middle - size, 2 * size, 2 * size, **style)
        start = middle + size if each.kind != "movement" else y
        return drawing.words(x, start, wide, _called(each), _shown(each), soft=not each.shows)

    return draw
