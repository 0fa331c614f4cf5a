"""A measured stop time: the signal, the instants found on it with their intervals, the stop."""

from __future__ import annotations

from typing import Any

import numpy as np

from tripmargin.ground.languages import later, say
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.boxes import Box
from tripmargin.pictures.data import Array
from tripmargin.pictures.sheet import Entry, Sheet
from tripmargin.pictures.stop_time_data import InstantLike, StopTimeLike
from tripmargin.pictures.svg import path_of, shortened, text_width
from tripmargin.pictures.trade_words import instant_words
from tripmargin.pictures.words import measured_ms, plain_number, said

MOST_POINTS = 700
INTERVAL = 0.62
"""Weight of the hatching over an instant's interval."""
_SOURCES = {
    "sound": later("sound"),
    "logger": later("logger"),
    "video frames": later("video frames"),
}


def stop_time_picture(
    machine_name: str, found: StopTimeLike, *, width: float = 720, sun: bool = False,
    notes: bool = True,
) -> str:  # fmt: skip
    """A stop time as SVG.

    Parameters
    ----------
    machine_name : str
    found : StopTimeLike
        Such as `tripmargin.recordings.stop_time` gives.
    width : float, px
        At least 280; 320 suits a phone.
    sun : bool
        Greatest contrast, for reading outdoors.
    notes : bool
        Whether what was noticed and assumed stands under it; a page may say it elsewhere.

    Notes
    -----
    Each instant's line is a group with `data-instant` (its name) and `data-time` (s), the plot
    a group with `data-from`, `data-to` (s), `data-left` and `data-right` (px): a page may let a
    person move them.
    """
    sheet = Sheet(width, sun)
    value, low, high = measured_ms(found.value, found.low, found.high)
    if found.clear:
        answer = say(
            "Stop time {value}: from {low} to {high} in 95 of 100 such measurements.",
            value=value,
            low=low,
            high=high,
        )
    else:
        answer = say(
            "Not clear that this is a stop. If it is one: stop time {value}: from {low} to {high}"
            " in 95 of 100 such measurements.",
            value=value,
            low=low,
            high=high,
        )
    moved = ", ".join(instant_words(each.name) for each in found.instants if each.by_hand)
    answers = [answer, *([say("Moved by hand: {instants}.", instants=moved)] if moved else [])]
    sheet.heading(machine_name, say("stop time"), answers)
    plot = _Plot(sheet, found)
    plot.stop()
    plot.intervals()
    plot.lines()
    plot.marks()
    plot.axes()
    sheet.key(plot.key())
    told = [*(each.words for each in found.troubles), *found.assumed] if notes else []
    sheet.footer(_how_to_read(found), (), [*map(said, told), _source(found)])
    title = say("{machine}: stop time", machine=machine_name)
    return sheet.done(title, f"{answer} {_told(found)}")


def _source(found: StopTimeLike) -> str:
    source = say(_SOURCES[found.source]) if found.source in _SOURCES else said(found.source)
    if found.file:
        return say("From {source}, {file}.", source=source, file=found.file)
    return say("From {source}.", source=source)


def _told(found: StopTimeLike) -> str:
    told = [
        say(
            "{instant} at {time} s",
            instant=instant_words(each.name),
            time=plain_number(each.time, 5),
        )
        for each in found.instants
    ]
    return say("Instants: {instants}.", instants=", ".join(told))


def _how_to_read(found: StopTimeLike) -> str:
    return say(
        "the stop runs from {start} to {end}, the wash between the two strong lines; each end may"
        " lie anywhere in its hatching, in 95 of 100 cases.",
        start=instant_words(found.start),
        end=instant_words(found.end),
    )


class _Plot:
    """The plot on its sheet; times are counted from the stop's first instant, ms."""

    def __init__(self, sheet: Sheet, found: StopTimeLike) -> None:
        self.sheet, self.found = sheet, found
        self.canvas, self.look = sheet.canvas, sheet.look
        ends = {each.name: each for each in found.instants}
        self.first, self.last = ends[found.start], ends[found.end]
        low, high = self._range()
        small = sheet.type.small
        self.rows = self._labels(low, high)
        if len(found.traces) == 1:
            what = said(found.traces[0].what)
            self.canvas.text(sheet.type.edge, sheet.y + small, what, small)
            sheet.y += small + 6
        top = sheet.y + (max((row for _, row, _ in self.rows), default=0) + 1) * (small + 5) + 6
        height = 0.55 * sheet.width if sheet.narrow else 0.3 * sheet.width
        self.up = Scale(*self._heights(low, high), top + height, top)
        self.ticks = self.up.ticks(4) if len(found.traces) == 1 else []
        left = sheet.gutter(self.ticks, 1.0) if self.ticks else sheet.type.edge
        self.box = Box(left, top, sheet.width - sheet.type.edge, top + height)
        self.across = Scale(low, high, left, self.box.right)

    def _range(self) -> tuple[float, float]:
        """Times shown, s: the stop with as much again about it, and every interval's near part."""
        length = max(self.last.time - self.first.time, 1e-3)
        return self.first.time - 0.6 * length, self.last.time + 0.8 * length

    def _labels(self, low: float, high: float) -> list[tuple[InstantLike, int, str]]:
        """Rows for the names above the plot, so that none lies on another."""
        small, right_of = self.sheet.type.small, [-np.inf] * 6
        scale = Scale(low, high, self.sheet.type.edge, self.sheet.width - self.sheet.type.edge)
        made = []
        for each in sorted(self.found.instants, key=lambda one: one.time):
            text = instant_words(each.name)
            if each is not self.first:
                text = f"{text} {plain_number((each.time - self.first.time) * 1e3, 3)} ms"
            x, half = scale.at(each.time), text_width(text, small) / 2 + 4
            row = next((k for k, edge in enumerate(right_of) if x - half > edge), 5)
            right_of[row] = x + half
            made.append((each, row, text))
        return made

    def _heights(self, low: float, high: float) -> tuple[float, float]:
        values = [
            np.asarray(t.values)[(np.asarray(t.times) > low) & (np.asarray(t.times) < high)]
            for t in self.found.traces
        ]
        whole = np.concatenate(values) if values else np.empty(0)
        whole = whole[np.isfinite(whole)]
        if not len(whole) or np.ptp(whole) == 0:
            return -0.1, 1.1
        room = 0.06 * float(np.ptp(whole))
        return float(whole.min()) - room, float(whole.max()) + room

    def _x(self, time: float) -> float:
        return min(max(self.across.at(time), self.box.left), self.box.right)

    def stop(self) -> None:
        """The stop itself, as a wash."""
        x0, x1 = self._x(self.first.time), self._x(self.last.time)
        box = self.box
        self.canvas.rect(x0, box.top, x1 - x0, box.bottom - box.top, fill=self.look.wash)

    def intervals(self) -> None:
        """Where each instant may lie: hatched at the stop's ends, else a bar across its line."""
        fill = self.canvas.pattern("slant", self.look.ink, INTERVAL)
        box = self.box
        for k, (each, _, _) in enumerate(self.rows):
            x0, x1 = self._x(each.low), self._x(each.high)
            if each is self.first or each is self.last:
                if x1 - x0 > 1.5:
                    self.canvas.rect(x0, box.top, x1 - x0, box.bottom - box.top, fill=fill)
                continue
            y = box.top + 8 + 7 * (k % 3)
            style = {"stroke": self.look.ink, "stroke_width": 2}
            self.canvas.line(x0, y, x1, y, **style)
            for x in (x0, x1):
                self.canvas.line(x, y - 3, x, y + 3, **style)

    def lines(self) -> None:
        """The signals: one over the whole plot, several each in a lane with its name."""
        box, small = self.box, self.sheet.type.small
        count = max(len(self.found.traces), 1)
        lane = (box.bottom - box.top) / count
        for k, trace in enumerate(self.found.traces):
            times, values = np.asarray(trace.times), np.asarray(trace.values)
            inside = (times >= self.across.low) & (times <= self.across.high) & np.isfinite(values)
            times, values = _fewer(times[inside], values[inside])
            if len(times) < 2:
                continue
            up = self.up
            if count > 1:
                bottom = box.top + (k + 1) * lane
                room = 0.15 * lane
                up = Scale(*_ends(values), bottom - room, bottom - lane + room + small)
            line = path_of(np.column_stack([self.across(times), up(values)]))
            self.canvas.path(line, stroke=self.look.paper, stroke_width=4)
            self.canvas.path(line, stroke=self.look.ink, stroke_width=1.6)
            if count > 1:
                name = shortened(said(trace.what), small, 0.4 * (box.right - box.left))
                half = text_width(name, small) / 2
                self._plate(box.left + 8 + half, box.top + k * lane + small + 8, name, half)

    def _plate(self, x: float, y: float, text: str, half: float, **style: Any) -> None:
        """A line of text on paper, its baseline at y."""
        small = self.sheet.type.small
        self.canvas.rect(
            x - half - 3, y - small, 2 * half + 6, small + 5, rx=2, fill=self.look.paper
        )
        self.canvas.text(x, y, text, small, text_anchor="middle", **style)

    def marks(self) -> None:
        """Upright lines with their names; the two that bound the stop are the stronger ones."""
        box, small = self.box, self.sheet.type.small
        for each, row, _ in self.rows:
            x = self._x(each.time)
            strong = each is self.first or each is self.last
            colour = self.look.accent if strong else self.look.ink
            y = box.top - 6 - row * (small + 5)
            style = {"stroke": colour, "stroke_width": 2.6 if strong else 1.4}
            data = {"data_instant": each.name, "data_time": f"{each.time:.6f}"}
            self.canvas.line(x, y + 3, x, box.bottom, **style, **data)
        for each, row, text in self.rows:
            strong = each is self.first or each is self.last
            colour = self.look.accent if strong else self.look.ink
            half = text_width(text, small, bold=strong) / 2
            edge = self.sheet.type.edge
            at = min(max(self._x(each.time), edge + half), self.sheet.width - edge - half)
            bold = {"font_weight": "bold"} if strong else {}
            self._plate(at, box.top - 6 - row * (small + 5), text, half, fill=colour, **bold)

    def axes(self) -> None:
        """Frame, numbers, ms from the first instant."""
        sheet, box = self.sheet, self.box
        data = {
            "data_from": f"{self.across.low:.6f}", "data_to": f"{self.across.high:.6f}",
            "data_left": f"{box.left:.1f}", "data_right": f"{box.right:.1f}",
        }  # fmt: skip
        style = {"fill": "none", "stroke": self.look.ink, "stroke_width": 1.5}
        width, height = box.right - box.left, box.bottom - box.top
        self.canvas.rect(box.left, box.top, width, height, **style, **data)
        if self.ticks:
            sheet.left_axis(box, self.up, self.ticks, 1.0)
        since = Scale(
            self.across.low - self.first.time, self.across.high - self.first.time,
            box.left, box.right,
        )  # fmt: skip
        sheet.bottom_axis(box, since, since.ticks(4 if sheet.narrow else 8, 1e-3), 1e-3)
        sheet.y = box.bottom + 12 + sheet.type.small
        words = say("ms from {start}", start=instant_words(self.found.start))
        size = sheet.type.small
        at = box.right - text_width(words, size)
        self.canvas.text(at, sheet.y + size, words, size)
        sheet.y += size + 4

    def key(self) -> list[Entry]:
        """What lines and hatching stand for."""
        fill = self.canvas.pattern("slant", self.look.ink, INTERVAL)
        made = [Entry(say("the stop"), self.look.wash), Entry(say("where its ends may lie"), fill)]
        if len(self.rows) > 2:
            made.append(Entry(say("the other instants' intervals"), dash=""))
        return made


def _ends(values: Array) -> tuple[float, float]:
    """Least and greatest, apart."""
    low, high = float(values.min()), float(values.max())
    return (low, high) if high > low else (low - 0.5, high + 0.5)


def _fewer(times: Array, values: Array) -> tuple[Array, Array]:
    """At most `MOST_POINTS` points, each stretch's least and greatest kept."""
    step = -(-len(times) // (MOST_POINTS // 2))
    if step <= 2:
        return times, values
    count = len(times) // step
    rows = values[: count * step].reshape(count, step)
    first = np.arange(count) * step
    places = np.sort(np.concatenate([first + rows.argmin(axis=1), first + rows.argmax(axis=1)]))
    return times[places], values[places]
