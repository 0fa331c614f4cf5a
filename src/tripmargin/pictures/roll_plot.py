"""A plot across the lower front roll by height above it: what a reach map is drawn on."""

from __future__ import annotations

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.boxes import Box, around
from tripmargin.pictures.data import Array
from tripmargin.pictures.fields import Field, along
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import plate_size
from tripmargin.pictures.words import length, length_unit

TINTS = (
    0.62,
    0.46,
    0.32,
    0.21,
    0.12,
    0.05,
)  # share of accent over paper, from the keenest seeing down


class RollPlot:
    """The plot itself, on its sheet; `field` is what is drawn, and who draws sets it.

    Parameters
    ----------
    places, heights : ndarray, (x,) and (h,), m
    values : ndarray, (h, x)
        What the plot is of; `values` holds them in rising order of the axes.
    """

    field: Field

    def __init__(
        self, sheet: Sheet, places: Array, heights: Array, values: Array, us: bool
    ) -> None:
        self.sheet, self.us = sheet, us
        self.canvas, self.look = sheet.canvas, sheet.look
        self.unit_name, self.unit = length_unit(us)
        values = np.asarray(values, dtype=float)
        across, values = along(places, values, 1, alone=lambda x: (x - 0.005, x + 0.005))
        self.height_grid, self.values = along(
            heights, values, 0, alone=lambda h: (h - 0.005, h + 0.005)
        )
        small, edge = sheet.type.small, sheet.type.edge
        what = say("Height above the roll, {unit}", unit=self.unit_name)
        self.canvas.text(edge, sheet.y + small, what, small)
        top, tall = sheet.y + small + 10, float(self.height_grid[-1])
        wide = float(across[-1] - across[0])
        inner = sheet.width - 2 * edge - 30
        aim = 200.0 if sheet.narrow else 270.0
        self.stretch = max(int(aim / (tall * inner / wide)), 1)
        drawn = min(tall * inner / wide * self.stretch, 1.6 * aim)
        self.up = Scale(min(0.0, float(self.height_grid[0])), tall, top + drawn, top)
        self.ticks = self.up.ticks(5, self.unit)
        left = sheet.gutter(self.ticks, self.unit)
        self.box = Box(left, top, sheet.width - edge, top + drawn)
        self.across = Scale(float(across[0]), float(across[-1]), left, self.box.right)
        self.place_grid = across

    def field_of(self, values: Array) -> Field:
        """Values on the plot's own grid as a field, px."""
        return Field(self.across(self.place_grid), self.up(self.height_grid), values)

    def tint(self, k: int) -> str:
        """Fill of the k-th band from the smallest ball up, as a colour without transparency."""
        share = TINTS[min(k, len(TINTS) - 1)]
        pairs = zip(_channels(self.look.accent), _channels(self.look.paper), strict=True)
        return "#" + "".join(f"{round(a * share + p * (1 - share)):02x}" for a, p in pairs)

    def _on_lines(self, level: float, text: str, taken: list[Box]) -> None:
        """A plate on the longer pieces of a line, where it touches no other plate."""
        extent = plate_size([text], self.sheet.type.small)
        pieces = sorted(self.field.lines(level), key=lambda p: (-_path_length(p), p[0, 0]))
        for points in pieces[: 2 if text[0].isdigit() else 1]:
            if _path_length(points) < 2 * extent[0]:
                continue
            for part in (0.5, 0.3, 0.7, 0.15, 0.85):
                x, y = points[int(part * (len(points) - 1))]
                box = around(float(x), float(y), extent, 1.0)
                if self.box.holds(box) and not any(box.touches(other) for other in taken):
                    self.canvas.plate(float(x), float(y), [text], self.sheet.type.small)
                    taken.append(box)
                    break

    def axes_and_roll(self) -> None:
        """Frame, numbers, and the roll below as a ribbed body."""
        sheet, box, small = self.sheet, self.box, self.sheet.type.small
        sheet.frame(box)
        sheet.left_axis(box, self.up, self.ticks, self.unit)
        deep = small + 12
        style = {"fill": self.look.paper, "stroke": self.look.ink, "stroke_width": 2}
        self.canvas.rect(box.left, box.bottom, box.right - box.left, deep, rx=4, **style)
        for k in range(1, 24):
            x = box.left + (box.right - box.left) * k / 24
            self.canvas.line(x, box.bottom + 2, x, box.bottom + deep - 2, stroke_width=1)
        centre = (box.left + box.right) / 2
        self.canvas.plate(centre, box.bottom + deep / 2, [say("lower front feed roll")], small)
        under = Box(box.left, box.top, box.right, box.bottom + deep)
        ticks = self.across.ticks(5 if sheet.narrow else 8, self.unit)
        sheet.bottom_axis(under, self.across, ticks, self.unit)
        base = under.bottom + 11 + small * 2.2
        what = say("Place across the roll, {unit} from its middle", unit=self.unit_name)
        self.canvas.text(box.right, base, what, small, text_anchor="end")
        sheet.y = base + 2

    def notes(self) -> list[str]:
        """What the drawing does to the map, for the small print."""
        notes: list[str] = []
        if self.stretch > 1:
            notes.append(
                say("Heights are drawn {times} times larger than widths.", times=self.stretch)
            )
        lowest = float(self.height_grid[0])
        if lowest > 0:
            notes.append(say("Not computed below {height}.", height=length(lowest, self.us)))
        return notes


def _channels(colour: str) -> list[int]:
    return [int(colour[k : k + 2], 16) for k in (1, 3, 5)]


def _path_length(points: Array) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())
