"""Under the feed path: the stages of the stop as rows, which fill as they happen."""

from __future__ import annotations

from math import isfinite

from tripmargin.ground.languages import say
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.boxes import Box
from tripmargin.pictures.feed_path_motion import Group, Motion
from tripmargin.pictures.feed_path_view import arrow_head
from tripmargin.pictures.lanes import Bar, Lane, lane_words
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import number, shortened, text_width

MS = 1e-3
_HEAD = 9.0  # px, of the arrow of a stage without end


class Stages:
    """Rows of names and bars on one time axis, from the signal to the end."""

    def __init__(self, sheet: Sheet, lanes: list[Lane], ends: float, motion: Motion | None) -> None:
        self.sheet, self.lanes, self.motion = sheet, lanes, motion
        self.canvas, self.look = sheet.canvas, sheet.look
        small = sheet.type.small
        self.row = small + 12
        names = min(0.47 * sheet.inner, 250.0)
        left = sheet.type.edge + names
        top = sheet.y + 4
        self.box = Box(left, top, sheet.width - sheet.type.edge, top + self.row * len(lanes) + 4)
        self.room = names - 12
        self.across = Scale(0.0, max(ends, MS), left, self.box.right - 2)

    def draw(self) -> None:
        """Rows, axis, and the line that runs over them if it is played."""
        box, sheet = self.box, self.sheet
        sheet.frame(box)
        for k, lane in enumerate(self.lanes):
            middle = box.top + 2 + (k + 0.5) * self.row
            self._name(lane, middle)
            for bar in lane.bars:
                self._bar(bar, middle)
        ticks = self.across.ticks(4 if sheet.narrow else 7, MS)
        sheet.bottom_axis(box, self.across, ticks, MS)
        base = box.bottom + 11 + sheet.type.small * 2.2
        what = say("Time since the signal, ms")
        self.canvas.text(box.right, base, what, sheet.type.small, text_anchor="end")
        if self.motion is not None:
            self._now(self.motion)
        sheet.y = base + 4

    def _name(self, lane: Lane, middle: float) -> None:
        size, left = self.sheet.type.small, self.sheet.type.edge
        words = lane_words(lane)
        fit = [text for text in words if text_width(text, size) * 1.06 <= self.room]
        text = fit[0] if fit else shortened(words[-1], size, self.room / 1.06)
        begins, ends = lane.bars[0].begins, lane.bars[-1].ends
        if self.motion is not None and isfinite(begins):
            lit = Group(self.canvas)
            half = self.row / 2 - 2
            style = {"fill": self.look.wash, "stroke": self.look.ink, "stroke_width": 2}
            lit.rect(left - 4, middle - half, self.room + 8, 2 * half, rx=3, **style)
            keys = [(self.motion.begins, "0"), (begins, "1")]
            if isfinite(ends):
                keys.append((ends, "0"))
            self.motion.animate(lit, "opacity", keys, steps=True)
            lit.close(opacity=0, data_part=f"lit {lane.name}")
        self.canvas.text(left + 2, middle + size * 0.36, text, size)

    def _bar(self, bar: Bar, middle: float) -> None:
        if not isfinite(bar.begins):
            return
        half, end = self.row * 0.3, isfinite(bar.ends)
        one = self.across.at(bar.begins)
        two = self.across.at(bar.ends) if end else self.box.right - _HEAD
        wide = max(two - one, 0.0)
        tooth = bar.stage.name.startswith("tooth ")
        look, canvas = self.look, self.canvas
        fill = canvas.pattern("slant", look.accent, 0.8, look.wash) if tooth else look.accent
        outline = {"fill": "none", "stroke": look.accent, "stroke_width": 1}
        grown = Group(canvas)
        style = {"fill": fill, "data_part": f"bar {bar.stage.name}"}
        if self.motion is None:
            grown.rect(one, middle - half, wide, 2 * half, **style)
        else:
            ends = bar.ends if end else self.motion.ends
            keys = [(bar.begins, "0"), (ends, f"{wide:.2f}")]
            inner = Group(grown)
            self.motion.animate(inner, "width", keys)
            at = {"x": one, "y": middle - half, "width": wide, "height": 2 * half}
            inner.close("rect", **at, **style)
        grown.close()
        canvas.rect(one, middle - half, wide, 2 * half, **outline)
        if not end:
            arrow_head(canvas, self.box.right - 1, middle, _HEAD, look.accent)

    def _now(self, motion: Motion) -> None:
        """The line that says how far the time has run."""
        line = Group(self.canvas)
        for colour, wide in ((self.look.paper, 4.0), (self.look.ink, 2.0)):
            line.line(0, self.box.top, 0, self.box.bottom, stroke=colour, stroke_width=wide)
        start, end = self.across.at(0.0), self.across.at(motion.ends)
        keys = [(0.0, f"{start:.2f} 0"), (motion.ends, f"{end:.2f} 0")]
        motion.animate(line, "transform", keys, kind="translate")
        line.close(transform=f"translate({number(end)} 0)", data_part="now")
