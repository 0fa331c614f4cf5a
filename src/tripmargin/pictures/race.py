"""The race as a picture: the metal's way against time, and the stages that must beat it."""

from __future__ import annotations

from math import isfinite

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.pictures.answers import race_answers
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.boxes import Box
from tripmargin.pictures.course import Course, bar_fill, course_end, fan_fill, runs
from tripmargin.pictures.data import RaceLike
from tripmargin.pictures.lanes import Bar, Lane, lane_words, lanes_of
from tripmargin.pictures.sheet import Entry, Sheet
from tripmargin.pictures.svg import path_of, shortened, text_width
from tripmargin.pictures.trade_words import cell_words
from tripmargin.pictures.words import in_ms, length_unit

MS = 1e-3
_HEAD = 9.0  # px, an arrow's head at the edge


def race_picture(race: RaceLike, *, width: float = 720, sun: bool = False, us: bool = False) -> str:
    """The race as SVG: whether the metal stands still before the shear bar.

    Parameters
    ----------
    race : RaceLike
        SI; `times` empty and `margin` None where the piece is not caught.
    width : float, px
        At least 280; 360 suits a phone.
    sun : bool
        Greatest contrast, for reading outdoors.
    us : bool
        Lengths in inches.

    Returns
    -------
    str
        An SVG document.

    Raises
    ------
    ValueError
        If the fan's arrays differ in shape or hold a value that is not finite.
    """
    _check(race)
    sheet = Sheet(width, sun)
    sheet.heading(race.machine_name, say("the race to the shear bar"), race_answers(race, us))
    lanes, caught = lanes_of(race.stages)
    plot = _Plot(sheet, race, lanes, us)
    plot.course.fan()
    plot.instants(caught)
    plot.course.way()
    plot.course.labels()
    plot.course.margin()
    for x, name, before in plot.names:
        plot.course.instant(x, name, before)
    plot.bars()
    plot.axis()
    sheet.key(_entries(sheet, race))
    sheet.footer(_read_it(runs(race), all(lane.ends for lane in lanes)), race.assumed)
    stages = ", ".join(f"{cell_words(s.name)} {in_ms(s.nominal)}" for s in race.stages)
    title = say("Race to the shear bar of {machine}", machine=race.machine_name)
    told = say("Stages: {stages}.", stages=stages)
    return sheet.done(title, " ".join((*race_answers(race, us), told)))


def _check(race: RaceLike) -> None:
    arrays = [race.times, race.position, race.position_low, race.position_high]
    given = [np.asarray(part, dtype=float) for part in arrays]
    if any(part.shape != given[0].shape or part.ndim != 1 for part in given):
        raise ValueError(f"The fan's arrays differ in shape: {[part.shape for part in given]}.")
    if not all(np.all(np.isfinite(part)) for part in given):
        raise ValueError("The fan holds a value that is not finite.")


def _read_it(caught: bool, ends: bool) -> str:
    if caught:
        how = say(
            "the line is the metal on its way to the knives; it must level off before the shear"
            " bar. The bars show which stage takes the time; whiskers and fan, how far each may be"
            " off."
        )
    else:
        how = say(
            "this metal starts no stop. The bars show the stop that would follow a signal; whiskers"
            " show how far each stage may be off."
        )
    if ends:
        return how
    return " ".join((how, say("An arrow to the edge: that stage may never come about.")))


def _entries(sheet: Sheet, race: RaceLike) -> list[Entry]:
    accent, wash = sheet.look.accent, sheet.look.wash
    entries = [Entry(say("stage"), accent)] if race.stages else []
    if any(stage.name.startswith("tooth ") for stage in race.stages):
        tooth = sheet.canvas.pattern("slant", accent, 0.8, wash)
        entries.append(Entry(say("waiting for a tooth"), tooth))
    if runs(race):
        entries.append(Entry(say("where the metal may be"), fan_fill(sheet)))
    return [*entries, Entry(say("shear bar and its tolerance"), bar_fill(sheet))]


class _Plot:
    """The way of the metal above, the stages below, on one time axis."""

    def __init__(self, sheet: Sheet, race: RaceLike, lanes: list[Lane], us: bool) -> None:
        self.sheet, self.race, self.lanes, self.us = sheet, race, lanes, us
        self.canvas, self.look = sheet.canvas, sheet.look
        self.unit_name, self.unit = length_unit(us)
        small, edge = sheet.type.small, sheet.type.edge
        what = say("Metal past the sensor's axis, {unit}", unit=self.unit_name)
        self.canvas.text(edge, sheet.y + small, what, small)
        top = sheet.y + small + 10
        height = 0.36 * sheet.width if not sheet.narrow else 0.6 * sheet.width
        bar = race.sensor_to_shear_bar
        ways = [race.position_low, race.position, race.position_high] if runs(race) else []
        reached = [0.0, bar.high, *np.concatenate([[0.0], *ways]).tolist()]
        self.up = Scale(min(reached), max(reached) * 1.1, top + height, top)
        self.ticks = self.up.ticks(4 if sheet.narrow else 6, self.unit)
        left = sheet.gutter(self.ticks, self.unit)
        self.box = Box(left, top, sheet.width - edge, top + height)
        self.across = Scale(0.0, self._end(), left, self.box.right - 2)
        self.course = Course(sheet, race, self.box, self.across, self.up, us=us)
        self.names: list[tuple[float, str, bool]] = []

    def _end(self) -> float:
        """Where the time axis ends, s: after all that happens, with room for each row's name."""
        lasts = [lane.lasts for lane in self.lanes]
        end = longest = max([course_end(self.race), *lasts]) or 0.05
        across = self.box.right - self.box.left - 2
        for lane, last in zip(self.lanes, lasts, strict=True):
            needed = text_width(lane_words(lane)[-1], self.sheet.type.small) * 1.05 + 12
            if not lane.begins:
                continue
            if lane.bars[0].begins / end * across < needed and needed < across:
                end = max(end, last * across / (across - needed))
        return min(end, 1.6 * longest)

    def instants(self, caught: float) -> None:
        """Dotted lines through both halves where the pawls have caught and the rolls stand."""
        if not runs(self.race) or not self.lanes:
            return
        rest = self.lanes[-1].bars[-1].ends if self.lanes[-1].name == "rest" else caught
        foot = self.box.bottom + self._lanes_height()
        marks = [
            (caught, say("pawls in {time}", time=in_ms(caught)), True),
            (rest, say("at rest {time}", time=in_ms(rest)), False),
        ]
        for instant, words, before in marks if rest > caught else marks[:1]:
            if not isfinite(instant):
                continue
            x = self.across.at(instant)
            self.canvas.line(x, self.box.top, x, foot, stroke_width=1.5, stroke_dasharray="2 3")
            self.names.append((x, words, before))

    @property
    def _lane(self) -> float:
        return self.sheet.type.small + 11

    def _lanes_height(self) -> float:
        return len(self.lanes) * self._lane + 8

    def bars(self) -> None:
        """One row a stage: nominal bar, whisker from low to high, name and value beside it."""
        self.sheet.frame(self.box)
        self.sheet.left_axis(self.box, self.up, self.ticks, self.unit)
        for row, lane in enumerate(self.lanes):
            middle = self.box.bottom + 4 + (row + 0.5) * self._lane
            for k, bar in enumerate(lane.bars):
                self._bar(bar, middle, part=k, of=len(lane.bars))
            self._lane_text(lane, middle)

    def _bar(self, bar: Bar, middle: float, part: int, of: int) -> None:
        look, half = self.look, self._lane * 0.32
        if not isfinite(bar.begins):
            return
        x1, x2 = self._to_edge(bar.begins), self._to_edge(bar.ends)
        tooth = bar.stage.name.startswith("tooth ")
        fill = self.canvas.pattern("slant", look.accent, 0.8, look.wash) if tooth else look.accent
        style = {"fill": fill, "stroke": look.accent, "stroke_width": 1}
        self.canvas.rect(x1, middle - half, x2 - x1, 2 * half, **style)
        if not isfinite(bar.stage.low):
            self._head(middle, look.accent)
            return
        low, high = (bar.begins + t for t in (bar.stage.low, bar.stage.high))
        # Two whiskers in one row stand one above the other, or they would read as one.
        y = middle if of == 1 else middle + (part - (of - 1) / 2) * half * 1.1
        a, b = self._to_edge(low), self._to_edge(high)
        for colour, thick in ((look.paper, 4.0), (look.ink, 1.6)):
            grow = 1.0 if colour == look.paper else 0.0
            self.canvas.line(a - grow, y, b + grow, y, stroke=colour, stroke_width=thick)
            for x in (a, b) if isfinite(high) else (a,):
                self.canvas.line(x, y - 3.5, x, y + 3.5, stroke=colour, stroke_width=thick)
        if not isfinite(high):
            self._head(y, look.ink)

    def _to_edge(self, instant: float) -> float:
        """Pixel of an instant; what never comes goes on to the edge, with room for its arrow."""
        return self.across.at(instant) if isfinite(instant) else self.box.right - _HEAD

    def _head(self, y: float, colour: str) -> None:
        """An arrow's head at the right edge: this goes on."""
        right, half = self.box.right - 1, _HEAD * 0.55
        corners = [(right, y), (right - _HEAD, y - half), (right - _HEAD, y + half)]
        style = {"stroke": self.look.paper, "stroke_width": 1}
        self.canvas.path(path_of(np.array(corners), closed=True), fill=colour, **style)

    def _lane_text(self, lane: Lane, middle: float) -> None:
        size = self.sheet.type.small
        if not lane.begins or not lane.ends:
            self._stuck_text(lane, middle)
            return
        right, left = self.across.at(lane.lasts) + 7, self.across.at(lane.bars[0].begins) - 7
        for text in lane_words(lane):
            wide = text_width(text, size) * 1.05
            fits = right + wide <= self.box.right
            if fits or left - wide >= self.box.left + 4:
                break
        else:
            fits = self.box.right - right > left - self.box.left
            room = self.box.right - right if fits else left - self.box.left - 4
            text = shortened(text, size, room / 1.05)
            wide = text_width(text, size) * 1.05
        x, anchor = (right, "start") if fits else (left, "end")
        start = x if fits else x - wide
        high = size + 4
        self.canvas.rect(start - 2, middle - high / 2, wide + 4, high, fill=self.look.paper)
        self.canvas.text(x, middle + size * 0.36, text, size, text_anchor=anchor)

    def _stuck_text(self, lane: Lane, middle: float) -> None:
        """The name of a row that never begins or may never end: on its arrow, else on its bar."""
        size, box = self.sheet.type.small, self.box
        words, end = lane_words(lane), box.right - 2 * _HEAD
        wide = [text_width(text, size) * 1.05 for text in words]
        rooms = [end - self.across.at(lane.surely) - 8, end - box.left - 8]
        fitting = (k for room in rooms for k, width in enumerate(wide) if width <= room)
        k = next(fitting, len(words) - 1)
        text = shortened(words[k], size, rooms[-1] / 1.05)
        width = text_width(text, size) * 1.05
        start, high = (end - width, self._lane * 0.64 + 2) if lane.begins else (box.left + 7, 0.0)
        self.canvas.rect(start - 4, middle - high / 2, width + 8, high, fill=self.look.paper)
        self.canvas.text(start, middle + size * 0.36, text, size)

    def axis(self) -> None:
        """The time axis under both halves."""
        sheet, foot = self.sheet, self.box.bottom + self._lanes_height()
        under = Box(self.box.left, self.box.bottom, self.box.right, foot)
        sheet.frame(under)
        ticks = self.across.ticks(5 if sheet.narrow else 8, MS)
        sheet.bottom_axis(under, self.across, ticks, MS)
        base = foot + 11 + sheet.type.small * 2.2
        what = say("Time since the signal crossed the threshold, ms")
        self.canvas.text(self.box.right, base, what, sheet.type.small, text_anchor="end")
        sheet.y = base + 2
