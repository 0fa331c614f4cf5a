"""The drift chart: values over time with their uncertainty, the average that remembers, limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from math import isfinite

import numpy as np

from tripmargin.ground.languages import say, say_as, say_many
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.boxes import Box
from tripmargin.pictures.date_ticks import DAY, date_ticks
from tripmargin.pictures.sheet import Entry, Sheet
from tripmargin.pictures.svg import number, path_of
from tripmargin.pictures.words import plain_number

DASH = "6 4"
MOST = 400
"""Marks of one picture; the newest."""
LEAST = 12.0
"""px, of letters at whatever width."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One value: its time, s since 1970, and the ends of its bar, in the values' SI unit.

    `kind` is "value", "baseline" (it set what is usual) or "signal" (the average is out there).
    """

    time: float
    value: float
    low: float
    high: float
    kind: str = "value"


@dataclass(frozen=True, slots=True)
class DriftChart:
    """What a drift chart shows.

    Attributes
    ----------
    what : str
        Such as "stop time".
    unit, size : str, float
        The unit of the axis, and how many SI it is; for a rate, per unit: 1 over its SI.
    marks : tuple of Mark
        In the order of time.
    bars : str
        What the bars are, such as "95 % interval".
    averages, lower, upper : tuple of float
        One a mark, or empty: the weighted average and its limits.
    limits : (low, high)
        What the machine's file allows; None: no limit on that side.
    answers : tuple of str
        What the picture says, in sentences.
    source : str
        Where it is from.
    """

    what: str
    unit: str
    size: float
    marks: tuple[Mark, ...]
    bars: str
    averages: tuple[float, ...] = ()
    lower: tuple[float, ...] = ()
    upper: tuple[float, ...] = ()
    limits: tuple[float | None, float | None] = (None, None)
    answers: tuple[str, ...] = ()
    source: str = ""


def drift_chart_picture(
    machine_name: str, chart: DriftChart, *, width: float = 720, sun: bool = False
) -> str:
    """A drift chart as SVG.

    Parameters
    ----------
    machine_name : str
    chart : DriftChart
        With one mark at least.
    width : float, px
        At least 280; 320 suits a phone.
    sun : bool
        Greatest contrast, for reading outdoors.

    Raises
    ------
    ValueError
        If there is no mark, or averages and marks differ in number.

    Examples
    --------
    >>> marks = (Mark(0.0, 0.05, 0.049, 0.051), Mark(86400.0, 0.052, 0.051, 0.053))
    >>> drift_chart_picture("Knot", DriftChart("stop time", "ms", 1e-3, marks, "2 sd"))[:4]
    '<svg'
    """
    _check(chart)
    chart = _newest(chart)
    sheet = Sheet(width, sun, least=LEAST)
    sheet.heading(machine_name, chart.what, chart.answers)
    plot = _Plot(sheet, chart)
    plot.beyond_limits()
    plot.usual()
    plot.bars()
    plot.average()
    plot.marks()
    plot.axes()
    sheet.key(plot.key())
    sheet.footer(_how_to_read(chart), (), [chart.source] if chart.source else [])
    first, last = chart.marks[0], chart.marks[-1]
    value = f"{plain_number(last.value / chart.size)} {chart.unit}".rstrip()
    described = say_many(
        "{count} value from {first} to {last}; the last is {value}.",
        "{count} values from {first} to {last}; the last is {value}.",
        len(chart.marks),
        first=_day(first.time),
        last=_day(last.time),
        value=value,
    )
    return sheet.done(f"{machine_name}: {chart.what}", " ".join((described, *chart.answers)))


def _check(chart: DriftChart) -> None:
    if not chart.marks:
        raise ValueError("A drift chart needs one value at least.")
    for row in (chart.averages, chart.lower, chart.upper):
        if row and len(row) != len(chart.marks):
            raise ValueError(f"{len(row)} averages or limits for {len(chart.marks)} values.")


def _newest(chart: DriftChart) -> DriftChart:
    if len(chart.marks) <= MOST:
        return chart
    from dataclasses import replace

    cut = {k: getattr(chart, k)[-MOST:] for k in ("marks", "averages", "lower", "upper")}
    return replace(chart, **cut)


def _how_to_read(chart: DriftChart) -> str:
    if chart.averages:
        return say(
            "a dot is a value, its bar the {bars}; the line is the average that counts newer values"
            " more, and while the machine is as usual it keeps between the dashed lines. A diamond"
            " marks where it does not.",
            bars=chart.bars,
        )
    return say("a dot is a value, its bar the {bars}.", bars=chart.bars)


def _day(time: float) -> str:
    return f"{datetime.fromtimestamp(time, UTC):%Y-%m-%d}"


class _Plot:
    """The plot on its sheet."""

    def __init__(self, sheet: Sheet, chart: DriftChart) -> None:
        self.sheet, self.chart, self.canvas, self.look = sheet, chart, sheet.canvas, sheet.look
        small = sheet.type.small
        self.canvas.text(
            sheet.type.edge, sheet.y + small, chart.unit or say_as("axis", "number"), small
        )
        top = sheet.y + small + 10
        height = 0.6 * sheet.width if sheet.narrow else 0.38 * sheet.width
        low, high = _range(chart)
        self.up = Scale(low, high, top + height, top)
        self.ticks = self.up.ticks(4 if sheet.narrow else 6, chart.size)
        left = sheet.gutter(self.ticks, chart.size)
        self.box = Box(left, top, sheet.width - sheet.type.edge, top + height)
        first, last = chart.marks[0].time, chart.marks[-1].time
        # Whole days, UTC, so that the label of a day stands among its values; and marks stand clear
        # of the frame, so that the first and the last are seen whole.
        start, end = first // DAY * DAY, (last // DAY + 1) * DAY
        room = 0.03 * (end - start)
        self.across = Scale(start - room, end + room, left, self.box.right)
        self.x = self.across([mark.time for mark in chart.marks])

    def _y(self, value: float) -> float:
        return min(max(self.up.at(value), self.box.top), self.box.bottom)

    def beyond_limits(self) -> None:
        """What lies beyond the machine's limits, hatched."""
        low, high = self.chart.limits
        fill = self.canvas.pattern("slant", self.look.ink, 0.62)
        box = self.box
        for limit, edge in ((low, box.bottom), (high, box.top)):
            if limit is None:
                continue
            y = self._y(limit)
            top, bottom = min(y, edge), max(y, edge)
            self.canvas.rect(box.left, top, box.right - box.left, bottom - top, fill=fill)
            self.canvas.line(box.left, y, box.right, y, stroke_width=2)

    def usual(self) -> None:
        """The limits of the average, dashed."""
        for row in (self.chart.lower, self.chart.upper):
            if row:
                y = np.clip(self.up(row), self.box.top, self.box.bottom)
                style = {"stroke": self.look.ink, "stroke_width": 1.2, "stroke_dasharray": DASH}
                self.canvas.path(path_of(np.column_stack([self.x, y])), **style)

    def bars(self) -> None:
        """How sure each value is."""
        parts = []
        for x, mark in zip(self.x, self.chart.marks, strict=True):
            high = mark.high if isfinite(mark.high) else self.up.high
            y0, y1 = self._y(mark.low), self._y(high)
            parts.append(f"M{number(x)} {number(y0)}L{number(x)} {number(y1)}")
            parts += [f"M{number(x - 3)} {number(y)}L{number(x + 3)} {number(y)}" for y in (y0, y1)]
        self.canvas.path("".join(parts), stroke=self.look.soft, stroke_width=1.2)

    def average(self) -> None:
        """The average that remembers."""
        if self.chart.averages:
            y = np.clip(self.up(self.chart.averages), self.box.top, self.box.bottom)
            line = path_of(np.column_stack([self.x, y]))
            self.canvas.path(line, stroke=self.look.paper, stroke_width=5)
            self.canvas.path(line, stroke=self.look.ink, stroke_width=2.4)

    def marks(self) -> None:
        """Dots; open where they set what is usual; a diamond on the average where it is out."""
        for kinds, fill in ((("value", "signal"), self.look.ink), (("baseline",), self.look.paper)):
            dots = "".join(
                _dot(x, self._y(m.value))
                for x, m in zip(self.x, self.chart.marks, strict=True)
                if m.kind in kinds
            )
            self.canvas.path(dots, fill=fill, stroke=self.look.ink, stroke_width=1.2)
        middle = self.chart.averages or [m.value for m in self.chart.marks]
        diamonds = "".join(
            _diamond(x, self._y(value))
            for x, value, m in zip(self.x, middle, self.chart.marks, strict=True)
            if m.kind == "signal"
        )
        self.canvas.path(diamonds, fill=self.look.paper, stroke=self.look.ink, stroke_width=2)

    def axes(self) -> None:
        """Frame, numbers, dates."""
        sheet, box, size = self.sheet, self.box, self.sheet.type.small
        sheet.frame(box)
        sheet.left_axis(box, self.up, self.ticks, self.chart.size)
        for x, text in date_ticks(self.across, size):
            self.canvas.line(x, box.bottom, x, box.bottom + 5, stroke_width=1.5)
            self.canvas.text(x, box.bottom + 8 + size, text, size, text_anchor="middle")
        sheet.y = box.bottom + 12 + size

    def key(self) -> list[Entry]:
        """What lines and hatching stand for."""
        made = []
        if self.chart.averages:
            made += [Entry(say("average"), dash=""), Entry(say("usual limits"), dash=DASH)]
        if any(limit is not None for limit in self.chart.limits):
            fill = self.canvas.pattern("slant", self.look.ink, 0.62)
            made.append(Entry(say("beyond the machine file's limit"), fill))
        return made


def _range(chart: DriftChart) -> tuple[float, float]:
    """Lowest and highest value shown; a few very long bars may leave the frame."""
    highs = [m.high for m in chart.marks if isfinite(m.high)]
    lows = [m.low for m in chart.marks if isfinite(m.low)]
    shown: list[float] = [m.value for m in chart.marks]
    shown += [*chart.averages, *chart.lower, *chart.upper]
    shown += [limit for limit in chart.limits if limit is not None]
    if highs:
        shown.append(float(np.quantile(highs, 0.8)))
    if lows:
        shown.append(float(np.quantile(lows, 0.2)))
    low, high = min(shown), max(shown)
    room = 0.08 * (high - low) or max(abs(high), chart.size) * 0.1
    return (low if low == 0 else low - room), high + room


def _dot(x: float, y: float, r: float = 3.0) -> str:
    ends = f"{number(r)} {number(r)} 0 1 0"
    return f"M{number(x - r)} {number(y)}a{ends} {number(2 * r)} 0a{ends} {number(-2 * r)} 0Z"


def _diamond(x: float, y: float, r: float = 7.0) -> str:
    return path_of(np.array([(x - r, y), (x, y - r), (x + r, y), (x, y + r)]), closed=True)


def marks_from(
    times: Sequence[float], values: Sequence[float], halves: Sequence[float],
    signals: Sequence[int], judged_from: int,
) -> tuple[Mark, ...]:  # fmt: skip
    """Marks of a series: bars of half widths, signals by place, the first ones a baseline."""
    out = set(signals)
    return tuple(
        Mark(
            t, v, v - half, v + half,
            "signal" if k in out else "baseline" if k < judged_from else "value",
        )
        for k, (t, v, half) in enumerate(zip(times, values, halves, strict=True))
    )  # fmt: skip
