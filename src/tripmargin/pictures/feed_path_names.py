"""The names in the feed path's side view, and its ruler."""

from __future__ import annotations

from math import cos, radians, sin

from tripmargin.ground.languages import say, say_as
from tripmargin.pictures.axes import INCH
from tripmargin.pictures.boxes import Box, around
from tripmargin.pictures.course import runs
from tripmargin.pictures.feed_path_motion import stands_still
from tripmargin.pictures.feed_path_view import View, depth_of_bar
from tripmargin.pictures.svg import plate_size, text_width
from tripmargin.pictures.words import length


class Names:
    """Writes on a view that has been drawn."""

    def __init__(self, view: View) -> None:
        self.view, self.sheet, self.frame, self.path = view, view.sheet, view.frame, view.path
        self.race, self.way, self.us = view.race, view.way, view.us
        self.radius, self.level = view.radius, view.level
        self.taken: list[Box] = []
        crop = self.path.crop
        self.crop_lines = [say("crop")]
        if crop is not None:
            self.crop_lines = [say("crop to"), length(crop, self.us)]

    def draw(self) -> None:
        """All of them, on top of the view."""
        frame, size, r = self.frame, self.sheet.type.small, self.radius
        canvas, box = self.sheet.canvas, frame.box
        x, bar = frame.x(0.0), frame.x(self.path.drawn_bar[0])
        known = [] if self.path.radius is None else [length(2 * r, self.us)]
        up = self._sensor_name(x)
        roll = frame.y(-0.42 * up * r)
        for k, line in enumerate([say("lower roll"), *known]):
            canvas.text(x, roll + (k - 0.15) * size * 1.25, line, size, text_anchor="middle")
        middle, floor = (bar + box.right) / 2 + 4, frame.y(r)
        canvas.text(middle, floor + size * 2.2, say("cutterhead"), size, text_anchor="middle")
        below = floor + depth_of_bar(self.view) + size * 1.25
        canvas.text(bar, below, say("shear bar"), size, text_anchor="end")
        self._crop_name()
        self._piece_names()
        self._upper_roll(x, box.top + size * 0.85)
        self._ruler()

    def _upper_roll(self, x: float, y: float) -> None:
        """The upper roll's name, beside the piece's names where it would hide them."""
        words, size = [say("upper roll")], self.sheet.type.small
        extent = plate_size(words, size)
        hidden = [name for name in self.taken if name.touches(around(x, y, extent, 0.0))]
        if hidden:
            x = max(name.right for name in hidden) + extent[0] / 2 + 3
        self.sheet.canvas.plate(x, y, words, size, font_weight="normal")

    def _sensor_name(self, x: float) -> int:
        """The sensor's name on its inner side; whether the sensor faces up (1) or down (-1)."""
        turn = radians(self.path.rotation)
        ends = [
            (block.y + a * block.width / 2) * sin(turn)
            + (block.z + b * block.height / 2) * cos(turn)
            for block in self.path.blocks
            for a in (-1, 1)
            for b in (-1, 1)
        ]
        if not ends:
            return 1
        up = 1 if sum(ends) >= 0 else -1
        size, edge = self.sheet.type.small, min(ends) if up > 0 else max(ends)
        y = self.frame.y(edge) + up * (size * 0.75 + 3)
        self.sheet.canvas.text(x, y + size * 0.36, say("sensor"), size, text_anchor="middle")
        return up

    def _crop_name(self) -> None:
        box, size, crop = self.frame.box, self.sheet.type.small, self.path.crop
        y = self.frame.y(self.radius) + size * 1.3
        for k, line in enumerate(self.crop_lines):
            self.sheet.canvas.text(box.left, y + k * size * 1.25, line, size)
        top, floor = (self.frame.y(self.radius + h) for h in (crop or 0.0, 0.0))
        if crop is not None:
            self.sheet.canvas.arrow(box.left + 5, floor, top, self.sheet.look.ink)

    def _piece_names(self) -> None:
        """Caught above its ring, standing under the piece, each kept on the page."""
        if self.race is None or self.way is None:
            return
        off = max(self.view.piece_size / 2, 8.0) + self.sheet.type.small * 0.95
        if not runs(self.race):
            self._name(self.frame.x(0.0), self.level - off, say("not caught"))
            return
        begin = self.frame.x(float(self.race.position[0]))
        right = self._name(begin, self.level - off, say("caught"))
        if stands_still(self.race):
            self._standing(self.frame.x(float(self.way.places[-1])), off, right)

    def _standing(self, x: float, off: float, caught: float) -> None:
        """Under the piece, or above it and behind the other name where it would hide the sensor."""
        size, frame = self.sheet.type.small, self.frame
        stands = say_as("piece", "stands")
        wide, high = plate_size([stands], size)
        across = [abs(block.y) + block.width / 2 for block in self.path.blocks]
        beside = max(text_width(line, size) for line in self.crop_lines) + 4
        below = max(x, frame.box.left + wide / 2 + beside)
        near = abs(below - frame.x(0.0)) < max(across, default=0.0) * frame.scale + wide / 2
        if near and self.level + off + high / 2 > frame.y(self.radius) + 2:
            self._name(max(x, caught + wide / 2 + 3), self.level - off, stands)
            return
        self._name(x, self.level + off, stands, clear=beside)

    def _name(self, x: float, y: float, text: str, clear: float = 12.0) -> float:
        """A word at a point, on the page and clear of its left edge; gives where it ends, px."""
        size, box = self.sheet.type.small, self.frame.box
        extent = plate_size([text], size)
        half = extent[0] / 2
        x = min(max(x, box.left + half + clear), box.right - half)
        self.taken.append(around(x, y, extent, 0.0))
        self.sheet.canvas.plate(x, y, [text], size)
        return x + half

    def _ruler(self) -> None:
        """A length to scale, in the free corner under the shear bar."""
        if self.path.radius is None and self.path.bar is None:
            return
        size, box = self.sheet.type.small, self.frame.box
        unit = INCH if self.us else 1e-3
        room = box.right - self.frame.x(self.radius) - 8
        steps = (1, 2, 3, 4) if self.us else (20, 50, 100, 150)
        fit = [step for step in steps if step * unit * self.frame.scale <= max(room, 30.0)]
        long = (fit or steps)[-1 if fit else 0] * unit
        y, right = box.bottom - 4, box.right - 2
        left = right - long * self.frame.scale
        canvas = self.sheet.canvas
        canvas.line(left, y, right, y, stroke_width=2, data_part="ruler", data_length=str(long))
        for x in (left, right):
            canvas.line(x, y - 4, x, y + 4, stroke_width=2)
        canvas.text(right, y - 7, f"{length(long, self.us)}", size, text_anchor="end")
