"""The threshold's curve: false trips against the smallest ball seen, today's place and a better."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from tripmargin.ground.languages import later, say, say_as
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.boxes import Box, around
from tripmargin.pictures.data import Array
from tripmargin.pictures.page import Cell, Table
from tripmargin.pictures.sheet import Entry, Sheet
from tripmargin.pictures.svg import path_of, plate_size
from tripmargin.pictures.trade_words import piece_words
from tripmargin.pictures.words import length_unit, plain_number

if TYPE_CHECKING:
    from tripmargin.protection import ThresholdCurve
    from tripmargin.protection.setting import ThresholdPoint

MOST, LEAST = 100.0, 1e-4  # 1/h; rarer than the second is practically never
ALLOWED_DASH, PIECE_DASH = "6 4", "2 3"
_DENSE = 300
_CORNERS = {
    "recommended": [(-8, 0), (0, -8), (8, 0), (0, 8)],
    "chosen": [(-6, -6), (6, -6), (6, 6), (-6, 6)],
}  # px


def threshold_curve_picture(
    curve: ThresholdCurve,
    *,
    width: float = 720,
    sun: bool = False,
    us: bool = False,
    chosen: ThresholdPoint | None = None,
) -> str:
    """False trips an hour against the smallest ball seen, as SVG.

    Parameters
    ----------
    curve : ThresholdCurve
    width : float, px
        At least 280; 360 suits a phone.
    sun : bool
        Greatest contrast, for reading outdoors.
    us : bool
        Lengths in inches.
    chosen : ThresholdPoint, optional
        One that a person tries, marked by a square.

    Raises
    ------
    ValueError
        If the false trips are not known, or no ball is seen at any threshold.
    """
    line = _Line.of(curve)
    sheet = Sheet(width, sun)
    sheet.heading(curve.machine_name, say_as("heading", "the threshold"), curve.because_in(us))
    plot = _Plot(sheet, curve, line, us, chosen)
    plot.allowed()
    plot.piece()
    plot.curve()
    plot.axes()
    plot.points()
    sheet.key(plot.key())
    sheet.footer(
        say(
            "along the curve the threshold rises: fewer false trips, but only larger metal is seen."
            " On the thick part both are as asked. What lies on the plot's floor is rarer than it"
            " shows."
        ),
        curve.assumed,
        curve.notes,
    )
    title = say("Threshold of {machine}", machine=curve.machine_name)
    return sheet.done(title, " ".join(curve.because_in(us)))


def threshold_curve_table(curve: ThresholdCurve) -> Table:
    """One row for each threshold of the curve, then today's and the recommended one.

    Returns
    -------
    (headers, rows)
        V, 1/h, m, probabilities from 0 to 1; empty where it is not known or no ball is seen.
    """
    headers = (
        later("which"), later("threshold_V"), later("false_trips_per_hour"),
        later("false_trips_per_hour_noise_high"), later("smallest_ball_m"), later("seen"),
    )  # fmt: skip
    named = [("", point) for point in curve.points] + [("today", curve.today)]
    if curve.recommended is not None:
        named.append(("recommended", curve.recommended))
    rows: list[list[Cell]] = [
        [
            name,
            point.threshold,
            point.false_trips_per_hour,
            point.false_trips_high,
            point.smallest_ball if isfinite(point.smallest_ball) else None,
            point.seen,
        ]
        for name, point in named
    ]
    return headers, rows


class _Line:
    """The curve between its points: thresholds, balls and rates on a fine grid."""

    def __init__(self, thresholds: Array, balls: Array, log_rates: Array) -> None:
        self.at = np.geomspace(thresholds[0], thresholds[-1], _DENSE)
        self.balls = np.interp(np.log(self.at), np.log(thresholds), balls)
        # By Rice the logarithm of the rate is straight in the threshold squared.
        self.rates = np.exp(np.interp(self.at**2, thresholds**2, log_rates))

    @classmethod
    def of(cls, curve: ThresholdCurve) -> _Line:
        points = [p for p in curve.points if isfinite(p.smallest_ball)]
        rates = [p.false_trips_high for p in points]
        if len(points) < 2 or any(rate is None for rate in rates):
            raise ValueError(say("There is no curve of what is not known."))
        known = np.array([rate for rate in rates if rate is not None])
        return cls(
            np.array([p.threshold for p in points]),
            np.array([p.smallest_ball for p in points]),
            np.log(np.maximum(known, 1e-300)),
        )

    def ball(self, threshold: float) -> float:
        """The smallest ball at a threshold, m."""
        return float(np.interp(np.log(threshold), np.log(self.at), self.balls))


class _Plot:
    """The plot on its sheet."""

    def __init__(
        self,
        sheet: Sheet,
        curve: ThresholdCurve,
        line: _Line,
        us: bool,
        chosen: ThresholdPoint | None = None,
    ) -> None:
        self.chosen = chosen
        self.sheet, self.data, self.line = sheet, curve, line
        self.canvas, self.look = sheet.canvas, sheet.look
        self.unit_name, self.unit = length_unit(us)
        small, edge = sheet.type.small, sheet.type.edge
        what = say("False trips an hour by noise alone")
        self.canvas.text(edge, sheet.y + small, what, small)
        top = sheet.y + small + 10
        height = 0.62 * sheet.width if sheet.narrow else 0.4 * sheet.width
        self.up = Scale(LEAST, MOST, top + height, top, log=True)
        self.ticks = [tick for tick in (100.0, 1.0, 0.01, 0.0001) if self.up.has(tick)]
        left = sheet.gutter(self.ticks, 1.0)
        shown = [*line.balls.tolist()]
        for point in (curve.today, chosen):
            if point is not None and isfinite(point.smallest_ball):
                shown.append(point.smallest_ball)
        room = 0.06 * (max(shown) - min(shown))
        self.box = Box(left, top, sheet.width - edge, top + height)
        self.across = Scale(min(shown) - room, max(shown) + room, left, self.box.right)
        self.labels: list[Box] = []

    def _y(self, rate: float) -> float:
        return self.up.at(min(max(rate, LEAST), MOST))

    def allowed(self) -> None:
        """False trips that are put up with."""
        y = self._y(self.data.allowed)
        style = {"stroke_width": 1.5, "stroke_dasharray": ALLOWED_DASH}
        self.canvas.line(self.box.left, y, self.box.right, y, **style)

    def piece(self) -> None:
        """The ball that is seen just where the must-stop piece is."""
        if self.data.acceptable is None:
            return
        x = self.across.at(self.line.ball(self.data.acceptable[1]))
        style = {"stroke_width": 1.5, "stroke_dasharray": PIECE_DASH}
        self.canvas.line(x, self.box.top, x, self.box.bottom, **style)

    def curve(self) -> None:
        """The whole curve, and over it thick the part where both are as asked."""
        x = self.across(self.line.balls)
        y = self.up(np.clip(self.line.rates, LEAST, MOST))
        every = np.column_stack([x, y])
        self.canvas.path(path_of(every), stroke=self.look.ink, stroke_width=1.8)
        if self.data.acceptable is None:
            return
        low, high = self.data.acceptable
        inside = every[(self.line.at >= low) & (self.line.at <= high)]
        if len(inside) > 1:
            style = {"stroke": self.look.accent, "stroke_width": 6, "stroke_linecap": "round"}
            self.canvas.path(path_of(inside), **style)

    def axes(self) -> None:
        """Frame and numbers."""
        sheet, box = self.sheet, self.box
        sheet.frame(box)
        sheet.left_axis(box, self.up, self.ticks, 1.0)
        ticks = self.across.ticks(4 if sheet.narrow else 8, self.unit)
        sheet.bottom_axis(box, self.across, ticks, self.unit)
        base = box.bottom + 11 + sheet.type.small * 2.2
        what = say(
            "Smallest ball seen with {share:.6g} %, {unit}",
            share=100 * self.data.confidence,
            unit=self.unit_name,
        )
        self.canvas.text(box.right, base, what, sheet.type.small, text_anchor="end")
        sheet.y = base + 2

    def points(self) -> None:
        """Today's place, a ring; the recommended, a diamond; a chosen one, a square."""
        best = self.data.recommended
        places = [("today", self.data.today)]
        if best is not None:
            places.append(("recommended", best))
        if self.chosen is not None:
            places.append(("chosen", self.chosen))
        for name, point in places:
            if not isfinite(point.smallest_ball):
                continue
            x, y = self.across.at(point.smallest_ball), self._y(point.false_trips_high or 0.0)
            if name == "today":
                self.canvas.ring(x, y)
            else:
                corners = np.array([x, y]) + np.array(_CORNERS[name], dtype=float)
                style = {"stroke": self.look.accent, "stroke_width": 2.5}
                self.canvas.path(path_of(corners, closed=True), fill=self.look.paper, **style)
            self._label(x, y, name, point)

    def _label(self, x: float, y: float, name: str, point: ThresholdPoint) -> None:
        """A plate beside a point, where it neither leaves the plot nor covers another."""
        named = {"today": say("today"), "recommended": say("recommended")}
        title = named.get(name) or say_as("threshold", "chosen")
        lines = [title, f"{plain_number(point.threshold)} V"]
        size = self.sheet.type.small
        wide, high = plate_size(lines, size)
        aside, above = wide / 2 + 12, high / 2 + 12
        spots = [(0.0, -above), (0.0, -2 * above), (aside, -above), (-aside, -above)]
        spots += [(0.0, above), (aside, above), (-aside, above), (0.0, -3 * above)]
        for dx, dy in spots:
            at = min(max(x + dx, self.box.left + wide / 2 + 3), self.box.right - wide / 2 - 3)
            box = around(at, y + dy, (wide, high))
            if self.box.holds(box) and not any(box.touches(other) for other in self.labels):
                self.labels.append(box)
                self.canvas.plate(at, y + dy, lines, size)
                return

    def key(self) -> list[Entry]:
        """What lines and signs stand for."""
        from tripmargin.protection.setting.threshold_words import rate_words

        made = []
        if self.data.acceptable is not None:
            made.append(Entry(say("both as asked"), self.look.accent))
        allowed = say("false trips put up with: {rate}", rate=rate_words(self.data.allowed))
        made.append(Entry(allowed, dash=ALLOWED_DASH))
        if self.data.acceptable is not None:
            piece = say("{piece} just seen", piece=piece_words(self.data.piece))
            made.append(Entry(piece, dash=PIECE_DASH))
        return made
