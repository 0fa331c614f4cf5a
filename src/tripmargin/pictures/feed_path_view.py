"""The side view itself: rolls, sensor, crop, shear bar, cutterhead, and the piece on its way."""

from __future__ import annotations

from math import cos, pi, sin

import numpy as np

from tripmargin.ground.errors import QuantityError
from tripmargin.pictures.course import bar_fill, fan_fill, runs
from tripmargin.pictures.feed_path_frame import Frame
from tripmargin.pictures.feed_path_motion import Group, Motion, Style, Way, stands_still
from tripmargin.pictures.feed_path_parts import FeedPath, FeedRaceLike
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import Canvas, number, path_of

DASH = "5 4"
SMALLEST = 7.0  # px across, of a piece as drawn
_MARK = 10.0  # px across, of a piece that is not a ball
_FLUTES = 24


def ball_diameter(piece: str | None) -> float | None:
    """Diameter of a piece in words, m; None for one that is not a ball.

    >>> ball_diameter("20 mm ball"), ball_diameter("M12x40 bolt")
    (0.02, None)
    """
    from tripmargin.sensing import Piece

    try:
        made = None if piece is None else Piece.from_text(piece)
    except QuantityError:
        return None
    return made.dimensions[0] if made is not None and made.kind == "ball" else None


class View:
    """Draws into a frame; what moves is drawn where it ends, and moves there if it is played."""

    def __init__(
        self,
        sheet: Sheet,
        frame: Frame,
        path: FeedPath,
        race: FeedRaceLike | None,
        way: Way | None,
        motion: Motion | None,
        us: bool,
    ) -> None:
        self.sheet, self.frame, self.path, self.race = sheet, frame, path, race
        self.way, self.motion, self.us = way, motion, us
        self.look = sheet.look
        box = frame.box
        self.group = Group(sheet.canvas)
        self.size = (box.right - box.left, box.bottom - box.top)
        self.radius = path.drawn_radius
        height = None if race is None else race.height
        if height is None:
            height = path.drawn_crop / 2 if path.middle is None else path.middle
        self.level = frame.y(self.radius + height)

    def draw(self) -> None:
        """Everything, clipped to the frame."""
        self._crop()
        self._cutterhead()
        self._shear_bar()
        self._roll(0.0, 1)
        self._roll(2 * self.radius + self.path.drawn_crop, -1)
        self._sensor()
        self._passage()
        box = self.frame.box
        window = self.group.clip("view", (box.left, box.top, *self.size))
        self.group.close(clip_path=window, data_part="side view")

    @property
    def piece_size(self) -> float:
        """Of the piece as drawn, px across."""
        diameter = None if self.race is None else ball_diameter(self.race.piece)
        return _MARK if diameter is None else max(diameter * self.frame.scale, SMALLEST)

    def _crop(self) -> None:
        frame, top = self.frame, self.frame.y(self.radius + self.path.drawn_crop)
        floor, end = frame.y(self.radius), frame.x(self.path.drawn_bar[0])
        fill = self.group.pattern("dots", self.look.soft, 0.55)
        dash: Style = {} if self.path.crop is not None else {"stroke_dasharray": DASH}
        wide = end - frame.box.left
        self.group.rect(frame.box.left, top, wide, floor - top, fill=fill, data_part="crop")
        for y in (top, floor):
            self.group.line(frame.box.left, y, end, y, stroke=self.look.soft, **dash)

    def _roll(self, height: float, sign: int) -> None:
        """A roll about its axis: the lower one turns with the clock, the upper one against it."""
        known = sign > 0 and self.path.radius is not None
        r = self.radius * self.frame.scale
        turned = Group(self.group)
        inner = Group(turned)
        for k in range(_FLUTES):
            angle = 2 * pi * k / _FLUTES
            one, two = (0.94, 0.995) if k else (0.8, 0.995)
            ends = [part * r * f(angle) for part in (one, two) for f in (sin, cos)]
            thick = 1.5 if k else 4.0
            x1, y1, x2, y2 = ends
            inner.line(x1, -y1, x2, -y2, stroke=self.look.soft, stroke_width=thick)
        if self.motion is not None and self.way is not None:
            self.motion.turning(inner, self.way, sign)
        inner.close()
        dash: Style = {} if known else {"stroke_dasharray": DASH}
        name = "lower roll" if sign > 0 else "upper roll"
        style: Style = {"fill": "none", "stroke": self.look.ink, "stroke_width": 2, **dash}
        turned.element("circle", cx=0, cy=0, r=r, data_part=name, **style)
        turned.element("circle", cx=0, cy=0, r=2, fill=self.look.ink)
        at = f"{number(self.frame.x(0.0))} {number(self.frame.y(height))}"
        turned.close(transform=f"translate({at})")

    def _sensor(self) -> None:
        """The sensor's section, turned about the roll's axis; it stands still."""
        turned, s = Group(self.group), self.frame.scale
        fills = {
            "keeper": self.look.soft,
            "magnet": magnet_fill(turned),
            "winding": self.look.paper,
        }
        for block in self.path.blocks:
            x, y = (block.y - block.width / 2) * s, -(block.z + block.height / 2) * s
            wide, high = block.width * s, block.height * s
            style: Style = {
                "stroke": self.look.ink,
                "stroke_width": 1.2,
                "data_part": block.kind,
            }
            turned.rect(x, y, wide, high, fill=self.look.paper)
            turned.rect(x, y, wide, high, fill=fills[block.kind], **style)
            if block.kind == "winding":
                cross(turned, x, y, wide, high)
        at = f"{number(self.frame.x(0.0))} {number(self.frame.y(0.0))}"
        turned.close(transform=f"translate({at}) rotate({number(-self.path.rotation)})")

    def _shear_bar(self) -> None:
        frame, (nominal, low, high) = self.frame, self.path.drawn_bar
        x, y = frame.x(nominal), frame.y(self.radius)
        depth = depth_of_bar(self)
        if high > low:
            reach = (frame.x(low), frame.x(high) - frame.x(low))
            top = frame.y(self.radius + self.path.drawn_crop)
            fill = bar_fill(self.sheet)
            self.group.rect(reach[0], top, reach[1], y - top, fill=fill, data_part="bar tolerance")
        body = np.array([(x, y), (x, y + depth), (x - 1.6 * depth, y + depth)])
        self.group.path(path_of(body, closed=True), fill=self.look.paper)
        dashed = {"stroke": self.look.ink, "stroke_width": 1.5, "stroke_dasharray": DASH}
        self.group.path(path_of(body, closed=True), **dashed)
        known: Style = {} if self.path.bar is not None else {"stroke_dasharray": DASH}
        up = y - 0.22 * self.radius * frame.scale
        self.group.line(x, y + 5, x, up, stroke_width=4, data_part="shear bar edge", **known)

    def _cutterhead(self) -> None:
        frame, r = self.frame, 1.25 * self.radius * self.frame.scale
        style: Style = {
            "stroke": self.look.ink,
            "stroke_width": 1.5,
            "stroke_dasharray": DASH,
        }
        x, y = frame.x(self.path.drawn_bar[0]) + r, frame.y(self.radius)
        self.group.element("circle", cx=x, cy=y, r=r, fill="none", data_part="cutterhead", **style)

    def _passage(self) -> None:
        """The way of the piece, where it may stand, where it is caught, where it stands."""
        if self.race is None or self.way is None:
            return
        frame, group = self.frame, self.group
        begin, end = (frame.x(float(p)) for p in (self.way.places[0], self.way.places[-1]))
        caught = runs(self.race)
        if caught:
            begin = frame.x(float(self.race.position[0]))
            if begin - frame.box.left > 36:  # from the left it comes
                tail = frame.box.left + 14
                group.line(tail, self.level, begin - 12, self.level, stroke_width=1.2)
                arrow_head(group, begin - 7, self.level, 9.0, self.look.ink)
        if stands_still(self.race):
            self._fan()
        for colour, wide in ((self.look.paper, 4.5), (self.look.ink, 2.0)):
            last = min(end, frame.box.right - 9)
            group.line(begin, self.level, last, self.level, stroke=colour, stroke_width=wide)
        if end > frame.box.right - 9:
            arrow_head(group, frame.box.right - 1, self.level, 10.0, self.look.ink)
        if caught:
            group.ring(begin, self.level)
        self._piece()

    def _fan(self) -> None:
        """Where the piece may lie when the feed stands: between least and greatest."""
        race, frame = self.race, self.frame
        assert race is not None
        low, high = float(race.position_low[-1]), float(race.position_high[-1])
        one, two = frame.x(low), min(frame.x(high), frame.box.right)
        half = max(0.75 * self.piece_size, 8.0)
        box = (one, self.level - half, two - one, 2 * half)
        self.group.rect(*box, fill=self.look.paper)
        style: Style = {
            "stroke": self.look.accent,
            "stroke_width": 1.2,
            "data_part": "may stand",
        }
        self.group.rect(*box, fill=fan_fill(self.sheet), **style)

    def _piece(self) -> None:
        """The piece at the end of its way, or over the sensor where nothing stops it."""
        assert self.way is not None
        assert self.race is not None
        frame, moved = self.frame, Group(self.group)
        end = frame.x(float(self.way.places[-1]))
        if not stands_still(self.race):
            begin = frame.x(float(self.race.position[0])) + 24 if runs(self.race) else 0.0
            end = max(frame.x(0.0), begin)
        style: Style = {
            "fill": self.look.ink,
            "stroke": self.look.paper,
            "stroke_width": 1.5,
        }
        moved.element("circle", cx=0, cy=0, r=self.piece_size / 2, data_part="piece", **style)
        if self.motion is not None:
            keys = [
                (float(t), f"{frame.x(float(p)):.2f} {self.level:.2f}")
                for t, p in zip(self.way.times, self.way.places, strict=True)
            ]
            self.motion.animate(moved, "transform", keys, kind="translate")
        moved.close(transform=f"translate({number(end)} {number(self.level)})")


def depth_of_bar(view: View) -> float:
    """Of the shear bar's body as drawn, px."""
    return max(0.3 * view.radius * view.frame.scale, 12.0)


def magnet_fill(canvas: Canvas) -> str:
    """Of a magnet's section."""
    return canvas.pattern("slant", canvas.look.ink, 1.0)


def cross(canvas: Canvas, x: float, y: float, width: float, height: float) -> None:
    """A winding's section: a rectangle crossed out, as on electrical drawings."""
    for y1, y2 in ((y, y + height), (y + height, y)):
        canvas.line(x, y1, x + width, y2, stroke_width=1)


def arrow_head(canvas: Canvas, x: float, y: float, head: float, colour: str) -> None:
    """A head at the end of a level line; a negative one points left."""
    half = abs(head) * 0.55
    corners = np.array([(x, y), (x - head, y - half), (x - head, y + half)])
    canvas.path(path_of(corners, closed=True), fill=colour)
