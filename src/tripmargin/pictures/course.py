"""The course of the metal to the shear bar: its fan, its nominal way, and the margin."""

from __future__ import annotations

from math import isfinite

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.boxes import Box, around
from tripmargin.pictures.data import Array, RaceLike
from tripmargin.pictures.margins import margin_words
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import path_of, plate_size
from tripmargin.pictures.words import length


def fan_fill(sheet: Sheet) -> str:
    """Where the metal may be."""
    return sheet.canvas.pattern("stripes", sheet.look.accent, 0.55, sheet.look.wash)


def bar_fill(sheet: Sheet) -> str:
    """Where the shear bar's edge may be."""
    return sheet.canvas.pattern("backslant", sheet.look.ink, 1.3)


def runs(race: RaceLike) -> bool:
    """Whether there is a stop to draw: the piece is caught and its way was computed."""
    return race.margin is not None and len(race.times) > 0


def course_end(race: RaceLike) -> float:
    """Where a time axis may end: a little after the last of the three ways is at rest, s."""
    times = np.asarray(race.times if runs(race) else (), dtype=float)
    if len(times) < 2:
        return float(times.max(initial=0.0))
    last = int(np.flatnonzero(_moving(race)).max(initial=0)) + 1
    return min(float(times[last]) * 1.15, float(times[-1]))


def _moving(race: RaceLike) -> Array:
    """Whether anything moves noticeably in each step of time, shape (nt - 1,)."""
    ways = np.stack([race.position, race.position_low, race.position_high])
    return np.asarray(np.abs(np.diff(ways, axis=1)).max(axis=0) > 1e-4 * np.ptp(ways))


class Course:
    """Position against time, in a box on a sheet."""

    def __init__(
        self, sheet: Sheet, race: RaceLike, box: Box, across: Scale, up: Scale, *, us: bool
    ) -> None:
        self.sheet, self.race, self.box, self.us = sheet, race, box, us
        self.canvas, self.look = sheet.canvas, sheet.look
        self.across, self.up = across, up
        self.taken: list[Box] = []
        self.times = self._times()
        self.nominal = self._points(race.position)
        self.low, self.high = self._points(race.position_low), self._points(race.position_high)

    def _times(self) -> Array:
        """Times up to the right edge; what has come to rest stays there until then."""
        if not runs(self.race):
            return np.empty(0)
        given, end = np.asarray(self.race.times, dtype=float), self.across.high
        if len(given) > 1 and given[-1] < end and not _moving(self.race)[-1]:
            given = np.append(given, end)
        return np.unique(np.minimum(given, end))

    def _points(self, position: Array) -> Array:
        if not len(self.times):
            return np.empty((0, 2))
        given = np.asarray(self.race.times), np.asarray(position, dtype=float)
        return np.stack([self.across(self.times), self.up(np.interp(self.times, *given))], axis=1)

    def fan(self) -> None:
        """Where the metal may be, with every input within its limits."""
        if not len(self.times):
            return
        outline = np.concatenate([self.low, self.high[::-1]])
        self.canvas.path(path_of(outline, closed=True), fill=fan_fill(self.sheet))
        for side in (self.low, self.high):
            self.canvas.path(path_of(side), stroke=self.look.accent, stroke_width=1.2)

    def way(self) -> None:
        """The shear bar within its tolerance, and the nominal way of the metal if it is caught."""
        box, bar = self.box, self.race.sensor_to_shear_bar
        y1, y2 = self.up.at(bar.high), self.up.at(bar.low)
        thick = max(y2 - y1, 5.0)
        top = (y1 + y2 - thick) / 2
        for fill in (self.look.paper, bar_fill(self.sheet)):
            self.canvas.rect(box.left, top, box.right - box.left, thick, fill=fill)
        middle = self.up.at(bar.nominal)
        self.canvas.line(box.left, middle, box.right, middle, stroke_width=2.5)
        self.taken.append(Box(box.left, top, box.right, top + thick))
        if len(self.nominal):
            for colour, width in ((self.look.paper, 6), (self.look.ink, 3)):
                self.canvas.path(path_of(self.nominal), stroke=colour, stroke_width=width)

    def labels(self) -> None:
        """The shear bar's name, and why there is no way where there is none."""
        box, bar, size = self.box, self.taken[-1], self.sheet.type.small
        way = length(self.race.sensor_to_shear_bar.nominal, self.us)
        one = [say("shear bar {way}, knives beyond", way=way)]
        two = [say("shear bar {way}", way=way), say("knives beyond")]
        for lines in (one, two):  # in two lines where one would hide the way
            extent = plate_size(lines, size)
            left, right = box.left + extent[0] / 2 + 5, box.right - extent[0] / 2 - 5
            above, below = bar.top - extent[1] / 2 - 3, bar.bottom + extent[1] / 2 + 3
            spots = [(left, above), (left, below), (right, below), (right, above)]
            free = [spot for spot in spots if self._free(spot, extent)]
            if free:
                break
        self._plate((free or spots)[0], lines, size)
        if not len(self.times):
            lines = [say("Not caught"), say("the signal stays under the threshold")]
            self._plate(
                ((box.left + box.right) / 2, (2 * box.bottom + box.top) / 3),
                lines,
                self.sheet.type.body,
            )

    def margin(self) -> None:
        """The margin as a dimension arrow where the metal stands, with its value."""
        margin, size = self.race.margin, self.sheet.type.body
        if margin is None or not len(self.nominal):
            return
        if not isfinite(margin.nominal):
            self._runs_on()
            return
        x, stands = float(self.nominal[-1, 0]) - 14, float(self.nominal[-1, 1])
        bar = self.up.at(self.race.sensor_to_shear_bar.nominal)
        self.canvas.line(x, stands, x, bar, stroke=self.look.paper, stroke_width=6)
        self.canvas.arrow(x, stands, bar, self.look.ink)
        lines = [margin_words(margin.nominal, self.race.notes, self.us)]
        extent = plate_size(lines, size)
        x = max(x - extent[0] / 2 - 8, self.box.left + extent[0] / 2 + 3)
        # Beside the arrow where the gap is wide enough, else as near to it as nothing is hidden.
        spots = [(x, float(y)) for y in np.arange(self.box.top, self.box.bottom, 3.0)]
        middle = (stands + bar) / 2
        free = [spot for spot in spots if self._free(spot, extent)]
        spot = min(free, key=lambda at: abs(at[1] - middle), default=(x, middle))
        self._plate(spot, lines, size)

    def _runs_on(self) -> None:
        """Say at the end of the way that there is no rest and no margin."""
        lines, size = [say("The feed runs on"), say("no rest, no margin")], self.sheet.type.body
        extent = plate_size(lines, size)
        x = self.box.left + extent[0] / 2 + 5
        end = float(self.nominal[-1, 1])
        grid = [
            (float(across), float(y))
            for across in np.arange(x, self.box.right, 6.0)
            for y in np.arange(self.box.top, self.box.bottom, 4.0)
        ]
        free = [spot for spot in grid if self._free(spot, extent)]
        near = float(self.nominal[-1, 0]), end
        spot = min(
            free, key=lambda at: np.hypot(at[0] - near[0], at[1] - near[1]), default=(x, end)
        )
        self._plate(spot, lines, size)

    def instant(self, x: float, text: str, before: bool) -> None:
        """Name an instant beside its line, as low as nothing is hidden."""
        size = self.sheet.type.small
        extent = plate_size([text], size)
        x += (-1 if before else 1) * (extent[0] / 2 + 2)
        half = extent[0] / 2 + 3  # clear of the frame
        x = min(max(x, self.box.left + half), self.box.right - half)
        lowest = self.box.bottom - extent[1] / 2 - 3
        spots = [(x, float(y)) for y in np.arange(lowest, self.box.top, -3.0)]
        free = [spot for spot in spots if self._free(spot, extent)]
        clear = [spot for spot in free if self._clear(spot, extent, self.low, self.high)]
        self._plate((clear or free or spots)[0], [text], size)

    def _plate(self, spot: tuple[float, float], lines: list[str], size: float) -> None:
        self.canvas.plate(*spot, lines, size)
        self.taken.append(around(*spot, plate_size(lines, size)))

    def _free(self, spot: tuple[float, float], extent: tuple[float, float]) -> bool:
        """Whether a label there would hide nothing: no other label, no shear bar, no way."""
        label = around(*spot, extent)
        if not self.box.holds(label) or any(label.touches(other) for other in self.taken):
            return False
        return self._clear(spot, extent, self.nominal, self.nominal)

    def _clear(
        self, spot: tuple[float, float], extent: tuple[float, float], under: Array, over: Array
    ) -> bool:
        """Whether a label there stands clear of what lies between two ways."""
        if not len(under):
            return True
        label = around(*spot, extent)
        x = np.linspace(label.left, label.right, 60)
        bottom, top = (np.interp(x, way[:, 0], way[:, 1]) for way in (under, over))
        return bool(np.all((bottom < label.top - 3) | (top > label.bottom + 3)))
