"""Where a test piece goes over the lower front roll: a front view, to scale."""

from __future__ import annotations

from tripmargin.ground.languages import say
from tripmargin.ground.units import shown
from tripmargin.machine import Machine
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width
from tripmargin.pictures.trade_words import piece_words

_SPARE = 0.12  # share of the width beside the roll: walls and shaft ends
_ROOM = 2.2  # heights of the crop that are drawn over the roll, at least
_HEAD = 7.0  # px, of a dimension's head
_IN_THE_MIDDLE = 0.5e-3  # m, a piece no further off goes over the middle
_SMALLEST = 4.0  # px, radius: a small piece is drawn larger, so that it is seen


def pass_place_picture(
    machine: Machine,
    name: str,
    diameter: float,
    *,
    x: float,
    height: float,
    width: float = 360,
    sun: bool = False,
    us: bool = False,
) -> str:
    """The front view of the roll as SVG, with the piece at its place.

    Parameters
    ----------
    machine : Machine
    name : str
        Of the piece.
    diameter : float, m
        Its size across, as drawn; a small one is drawn larger.
    x, height : float, m
        Of its middle: across the roll from its middle, right positive, seen the way that the crop
        goes; above the roll's top.
    width : float, px
        At least 280; 360 suits a phone.
    sun, us : bool
        Greatest contrast; inches.

    Returns
    -------
    str
        An SVG document.

    Raises
    ------
    NotKnownError
        If the machine file does not give the roll.

    Notes
    -----
    Drawn for this project. The places of the sensor's magnets in the roll are those of the machine
    file.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> curlew = load_machine("curlew")
    >>> made = pass_place_picture(curlew, "16 mm ball", 0.016, x=-0.163, height=0.07)
    >>> "163 mm" in made, "70 mm" in made
    (True, True)
    """
    long, thick, depth = machine.need(
        "a front view", "feed.roll_width", "feed.roll_diameter", "feed.crop_depth"
    )
    sheet = Sheet(width, sun)
    view = _View(sheet, long.nominal, thick.nominal, max(depth.high, height, 0.02))
    view.roll(machine)
    view.piece(x, height, diameter, us)
    sheet.y = view.bottom + 14
    scale = say("Seen the way that the crop goes. To scale, but for the piece where it is small.")
    sheet.paragraph(scale, sheet.type.small, soft=True)
    sheet.y += 4
    title = say("Where to pass: {piece}", piece=piece_words(name))
    return sheet.done(title, _told(x, height, us))


def _told(x: float, height: float, us: bool) -> str:
    """The same in words."""
    distance, above = (shown(value, "length", us=us) for value in (abs(x), height))
    if abs(x) < _IN_THE_MIDDLE:
        return say(
            "Front view of the lower front roll. The piece goes over the roll's middle,"
            " {height} above the roll.",
            height=above,
        )
    if x < 0:
        return say(
            "Front view of the lower front roll. The piece goes {distance} left of the roll's"
            " middle, {height} above the roll.",
            distance=distance,
            height=above,
        )
    return say(
        "Front view of the lower front roll. The piece goes {distance} right of the roll's"
        " middle, {height} above the roll.",
        distance=distance,
        height=above,
    )


class _View:
    """The roll and what is over it; metres to pixels."""

    def __init__(self, sheet: Sheet, long: float, thick: float, depth: float) -> None:
        self.sheet, self.look, self.canvas = sheet, sheet.look, sheet.canvas
        self.long, self.thick = long, thick
        self.scale = sheet.inner / (long * (1 + _SPARE))
        self.middle = sheet.width / 2
        self.top = sheet.y + 26 + _ROOM * depth * self.scale  # of the lower roll
        self.bottom = self.top + thick * self.scale

    def at(self, x: float, height: float) -> tuple[float, float]:
        """A place in px."""
        return self.middle + x * self.scale, self.top - height * self.scale

    def roll(self, machine: Machine) -> None:
        """The roll between its walls, its flutes, and where the sensor's magnets are in it."""
        canvas, ink = self.canvas, self.look.ink
        left, right = (self.at(end * self.long / 2, 0.0)[0] for end in (-1, 1))
        axis = (self.top + self.bottom) / 2
        for wall, way in ((left - 5, -1), (right + 5, 1)):
            canvas.line(
                wall, self.sheet.y + 22, wall, self.bottom + 6, stroke=ink, stroke_width=2.5
            )
            canvas.line(wall, axis, wall + 9 * way, axis, stroke=ink, stroke_width=6)
        canvas.rect(left, self.top, right - left, self.bottom - self.top, fill=self.look.paper,
                    stroke=ink, stroke_width=1.8)  # fmt: skip
        for part in (0.12, 0.3, 0.7, 0.88):
            y = self.top + part * (self.bottom - self.top)
            canvas.line(left, y, right, y, stroke=self.look.soft, stroke_width=0.8)
        size = self.sheet.type.small
        if machine.sensor is not None:
            half = max(4.0, 0.1 * (self.bottom - self.top))
            for one in machine.sensor.assemblies:
                x = self.at(one.centre[0].nominal, 0.0)[0]
                canvas.rect(x - half, axis - half, 2 * half, 2 * half, fill=self.look.wash,
                            stroke=ink, stroke_width=1, stroke_dasharray="3 2")  # fmt: skip
            words = say("the sensor's magnets, inside the roll")
            self._label(self.middle, self.bottom - 8, words, size)
        y = self.sheet.y + 11
        canvas.text(left + 4, y, say("left"), size, text_anchor="start")
        canvas.text(right - 4, y, say("right"), size, text_anchor="end")

    def piece(self, x: float, height: float, diameter: float, us: bool) -> None:
        """The piece, and the two lengths that say where it goes."""
        canvas, accent, size = self.canvas, self.look.accent, self.sheet.type.body
        px, py = self.at(x, height)
        canvas.line(self.middle, self.sheet.y + 22, self.middle, self.bottom, stroke=self.look.soft,
                    stroke_width=1, stroke_dasharray="7 3 2 3")  # fmt: skip
        across = self.sheet.y + 30
        if abs(x) >= _IN_THE_MIDDLE:
            canvas.line(px, across - 5, px, py, stroke=accent, stroke_width=1)
            self._between((self.middle, across), (px, across))
            words = shown(abs(x), "length", us=us)
            middle = (self.middle + px) / 2
            room = text_width(words, size, bold=True) / 2 + 6
            at = middle if abs(px - self.middle) > 2 * room else px - room * (1 if x < 0 else -1)
            self._label(at, across - 6, words, size, bold=True)
        up = px + (20 if x < 0 else -20)
        canvas.line(px, py, up, py, stroke=accent, stroke_width=1)
        self._between((up, self.top), (up, py))
        words = shown(height, "length", us=us)
        beside = up + (text_width(words, size, bold=True) / 2 + 9) * (1 if x < 0 else -1)
        self._label(beside, (self.top + py) / 2 + 5, words, size, bold=True)
        radius = max(diameter / 2 * self.scale, _SMALLEST)
        canvas.element("circle", cx=px, cy=py, r=radius, fill=accent, stroke=self.look.ink,
                       stroke_width=1.5)  # fmt: skip

    def _between(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """A dimension line with a head at either end; a short one has none."""
        (x1, y1), (x2, y2) = start, end
        accent = self.look.accent
        self.canvas.line(x1, y1, x2, y2, stroke=accent, stroke_width=2)
        long = abs(x2 - x1) + abs(y2 - y1)
        if long < 2.5 * _HEAD:
            return
        ux, uy = (x2 - x1) / long * _HEAD, (y2 - y1) / long * _HEAD
        for (x, y), way in (((x1, y1), 1), ((x2, y2), -1)):
            one = f"{x + way * ux - uy / 2:.1f} {y + way * uy + ux / 2:.1f}"
            two = f"{x + way * ux + uy / 2:.1f} {y + way * uy - ux / 2:.1f}"
            self.canvas.path(f"M{x:.1f} {y:.1f}L{one}L{two}Z", fill=accent)

    def _label(self, x: float, y: float, words: str, size: float, *, bold: bool = False) -> None:
        """Words on paper, so that they are read over any line."""
        wide = text_width(words, size, bold=bold) + 4
        edge = self.sheet.type.edge
        x = min(max(x, edge + wide / 2), self.sheet.width - edge - wide / 2)
        self.canvas.rect(x - wide / 2, y - 0.85 * size, wide, size + 3, fill=self.look.paper)
        style = {"font_weight": "bold", "fill": self.look.accent} if bold else {}
        self.canvas.text(x, y, words, size, text_anchor="middle", **style)
