"""The feed path in side view, to scale: where metal is caught, where it stands; still or played."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.pictures.course import bar_fill, fan_fill, runs
from tripmargin.pictures.feed_path_clock import (
    CLOCK_WIDE,
    HIGH,
    draw_clock,
    draw_no_rest,
    draw_pawl,
    pawl_runs,
    pawl_wide,
    slowed_words,
)
from tripmargin.pictures.feed_path_dimensions import dimensions_of, draw_dimensions, row_height
from tripmargin.pictures.feed_path_frame import Frame, frame_for
from tripmargin.pictures.feed_path_motion import Motion, Way, rests_at, stands_still, way_of
from tripmargin.pictures.feed_path_names import Names
from tripmargin.pictures.feed_path_parts import (
    FeedPath,
    FeedRaceLike,
    MachineLike,
    feed_path_of,
)
from tripmargin.pictures.feed_path_stages import Stages
from tripmargin.pictures.feed_path_view import DASH, View, cross, magnet_fill
from tripmargin.pictures.feed_path_words import (
    answers_of,
    description_of,
    notes_of,
    read_it,
)
from tripmargin.pictures.lanes import lanes_of
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import text_width

SLOWEST = 1000.0


def feed_path_picture(
    machine: MachineLike,
    race: FeedRaceLike | None,
    *,
    width: float = 720,
    sun: bool = False,
    us: bool = False,
    playing: bool = False,
    slow: float = 20.0,
    missing: Sequence[str] = (),
) -> str:
    """The feed path in side view as SVG, drawn to scale from the machine's numbers.

    Parameters
    ----------
    machine : MachineLike
        With the settings of the race, where it is a what-if.
    race : FeedRaceLike or None
        SI; None where it is not known: then the path is drawn without a piece.
    width : float, px
        At least 280; 360 suits a phone.
    sun : bool
        Greatest contrast, for reading outdoors.
    us : bool
        Lengths in inches.
    playing : bool
        The same picture in motion, without a script: it plays as it is loaded, rests, and plays
        again. For a person who wants no motion, leave it out.
    slow : float
        How many times slower than true it plays.
    missing : sequence of str
        Fields for want of which the race is not known, as `NotKnownError.needs` has them.

    Returns
    -------
    str
        An SVG document.

    Raises
    ------
    ValueError
        If the width or `slow` cannot be, or the race's arrays hold a value that is not finite.

    Notes
    -----
    What the machine file does not give is dashed and said to be schematic under the picture.
    """
    if not 1 <= slow <= SLOWEST:
        raise ValueError(
            say(
                "slow = {slow:g}: it plays 1 to {most:g} times slower than true.",
                slow=slow,
                most=SLOWEST,
            )
        )
    if race is not None and not np.all(np.isfinite([race.position, race.position_high])):
        raise ValueError("The race's position holds a value that is not finite.")
    sheet, path = Sheet(width, sun), feed_path_of(machine)
    if race is not None:
        path = path.for_race(race)
    answers = answers_of(race, missing, us)
    sheet.heading(machine.name, say("the feed path from the side"), answers)
    _Layout(sheet, path, race, us, slow if playing else None).draw()
    assumed = machine.assumed if race is None else race.assumed
    notes = notes_of(path)
    if playing and race is not None:
        slowed = slowed_words(slow)
        notes.append(say("It plays {slowed}, rests, and begins again.", slowed=slowed))
    sheet.footer(read_it(path, race), assumed, notes)
    told = f"{' '.join(answers)} {description_of(path, race, us)}"
    return sheet.done(say("Feed path of {machine} in side view", machine=machine.name), told)


class _Layout:
    """Dimensions, side view, clock and pawls, stages, key, from the top down."""

    def __init__(
        self,
        sheet: Sheet,
        path: FeedPath,
        race: FeedRaceLike | None,
        us: bool,
        slow: float | None,
    ) -> None:
        self.sheet, self.path, self.race, self.us = sheet, path, race, us
        self.rows = dimensions_of(path, race, us)
        sheet.y += len(self.rows) * row_height(sheet)
        self.frame = frame_for(sheet, path, race)
        self.way = None if race is None else _way(self.frame, path, race)
        self.motion = None
        if slow is not None and self.way is not None:
            times = self.way.times
            self.motion = Motion(float(times[0]), float(times[-1]), slow)

    def draw(self) -> None:
        """All of it; the sheet's `y` ends below the key."""
        sheet, frame, race = self.sheet, self.frame, self.race
        view = View(sheet, frame, self.path, race, self.way, self.motion, self.us)
        draw_dimensions(sheet, frame, self.rows, view.level)
        view.draw()
        Names(view).draw()
        sheet.y = frame.box.bottom + 10
        if race is not None and runs(race):
            self._aside(race)
            lanes, _ = lanes_of(race.stages)
            if lanes:
                Stages(sheet, lanes, self._ends(race), self.motion).draw()
        self._key()

    def _ends(self, race: FeedRaceLike) -> float:
        """When the picture's time ends, s: at rest, or as the piece leaves the picture."""
        return rests_at(race) if self.way is None else float(self.way.times[-1])

    def _aside(self, race: FeedRaceLike) -> None:
        """The clock, and the pawls beside it in as many rows as they need."""
        sheet = self.sheet
        lanes, _ = lanes_of(race.stages)
        edge = sheet.type.edge
        if self.motion is None and not stands_still(race):
            draw_no_rest(sheet, edge, sheet.y + 6)
        else:
            draw_clock(sheet, edge, sheet.y + 6, self._ends(race), self.motion)
        first = x = edge + CLOCK_WIDE
        wide = pawl_wide(sheet)
        for run in pawl_runs(lanes):
            if x > first and x + wide > sheet.width - edge:
                x, sheet.y = first, sheet.y + HIGH
            draw_pawl(sheet, x, sheet.y, self.path, run, self.way, self.motion, self.us)
            x += wide
        sheet.y += HIGH

    def _key(self) -> None:
        """Small samples with their words."""
        sheet, canvas, size = self.sheet, self.sheet.canvas, self.sheet.type.small
        x, row = sheet.type.edge, size + 11
        sheet.y += 6
        for words, draw in self._samples():
            needed = 28 + text_width(words, size) * 1.05
            if x > sheet.type.edge and x + needed > sheet.width - sheet.type.edge:
                x, sheet.y = sheet.type.edge, sheet.y + row
            draw(x, sheet.y + row / 2)
            canvas.text(x + 28, sheet.y + row / 2 + size * 0.36, words, size)
            x += needed + 14
        sheet.y += row + 2

    def _samples(self) -> list[tuple[str, Callable[[float, float], None]]]:
        canvas, look, sheet = self.sheet.canvas, self.sheet.look, self.sheet
        edge = {"stroke": look.ink, "stroke_width": 1}

        def swatch(fill: str) -> Callable[[float, float], None]:
            return lambda x, y: canvas.rect(x, y - 7, 22, 14, fill=fill, **edge)

        def winding(x: float, y: float) -> None:
            canvas.rect(x + 4, y - 7, 14, 14, fill=look.paper, **edge)
            cross(canvas, x + 4, y - 7, 14, 14)

        def piece(x: float, y: float) -> None:
            canvas.element("circle", cx=x + 11, cy=y, r=5, fill=look.ink)

        kinds = {block.kind for block in self.path.blocks}
        samples: list[tuple[str, Callable[[float, float], None]]] = []
        if self.race is not None:
            samples.append((say("the piece"), piece))
            if runs(self.race):
                samples.append((say("where it is caught"), lambda x, y: canvas.ring(x + 11, y)))
            if stands_still(self.race):
                samples.append((say("where it may stand"), swatch(fan_fill(sheet))))
        if self.path.bar is not None and self.path.bar[2] > self.path.bar[1]:
            samples.append((say("where the shear bar may be"), swatch(bar_fill(sheet))))
        samples += [(say("magnet"), swatch(magnet_fill(canvas)))] if "magnet" in kinds else []
        samples += [(say("winding"), winding)] if "winding" in kinds else []
        samples += [(say("keeper"), swatch(look.soft))] if "keeper" in kinds else []
        samples.append((say("crop"), swatch(canvas.pattern("dots", look.soft, 0.55))))
        dashed = {"stroke_width": 2, "stroke_dasharray": DASH}
        samples.append((say("schematic"), lambda x, y: canvas.line(x, y, x + 22, y, **dashed)))
        return samples


def _way(frame: Frame, path: FeedPath, race: FeedRaceLike) -> Way:
    """From the frame's left edge to just outside its right one, or to rest."""
    start, end = frame.left, frame.place(frame.box.right) + 0.02
    return way_of(race, path.drawn_radius, start, end)
