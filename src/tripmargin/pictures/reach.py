"""The reach map as a picture: across the roll by height, the smallest ball that is seen."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.pictures.answers import reach_answers
from tripmargin.pictures.blind_spots import clusters_of
from tripmargin.pictures.boxes import Box, around
from tripmargin.pictures.data import ReachLike
from tripmargin.pictures.roll_plot import RollPlot
from tripmargin.pictures.sheet import Entry, Sheet
from tripmargin.pictures.svg import plate_size, shortened
from tripmargin.pictures.words import length, length_unit, plain_number, said

ROUND = (1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 150, 200, 300)
ROUND_IN = (0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6, 0.75, 1, 1.25, 1.5, 2, 2.5, 3, 4, 6, 8, 12)


def reach_picture(
    reach: ReachLike, *, width: float = 720, sun: bool = False, us: bool = False
) -> str:
    """The reach map as SVG: the smallest ball seen at each place and height.

    Parameters
    ----------
    reach : ReachLike
        SI; `smallest_ball` of shape (heights, places), infinite where none is seen.
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
        If `smallest_ball` does not fit its axes or holds a value that is not positive.
    """
    _check(reach)
    sheet = Sheet(width, sun)
    sheet.heading(reach.machine_name, say("reach of the sensor"), reach_answers(reach, us))
    plot = _Plot(sheet, reach, us)
    plot.regions()
    plot.blind_spots()
    plot.labels()
    plot.axes_and_roll()
    sheet.key(plot.entries())
    sheet.footer(
        say(
            "you look along the crop's path, over the roll. Each line carries the size of the"
            " smallest ball seen there; metal between lines must be at least as large as the larger"
            " number."
        ),
        reach.assumed,
        plot.notes(),
    )
    title = say("Reach map of {machine}", machine=reach.machine_name)
    return sheet.done(title, " ".join(reach_answers(reach, us)))


def _check(reach: ReachLike) -> None:
    balls = np.asarray(reach.smallest_ball, dtype=float)
    shape = (len(reach.heights), len(reach.places))
    if balls.shape != shape:
        raise ValueError(f"smallest_ball has shape {balls.shape}; its axes ask for {shape}.")
    if not np.all(balls > 0):
        raise ValueError("smallest_ball holds a value that is not a positive size.")


def levels_between(low: float, high: float, us: bool, most: int = 5) -> list[float]:
    """Round ball sizes, m, inside a span of sizes: evenly thinned to at most `most`.

    >>> [round(v * 1e3, 1) for v in levels_between(0.0042, 0.021, False)]
    [5.0, 8.0, 10.0, 12.0, 20.0]
    """
    unit = length_unit(us)[1]
    sizes = [v * unit for v in (ROUND_IN if us else ROUND) if low < v * unit < high]
    if len(sizes) <= most:
        return sizes
    picks = np.unique(np.round(np.linspace(0, len(sizes) - 1, most)).astype(int))
    return [sizes[k] for k in picks]


class _Plot(RollPlot):
    """The smallest ball, place by place."""

    def __init__(self, sheet: Sheet, reach: ReachLike, us: bool) -> None:
        super().__init__(sheet, reach.places, reach.heights, reach.smallest_ball, us)
        self.reach, balls = reach, self.values
        self.seen = balls[np.isfinite(balls)]
        # Contours run over the logarithm of the size; "none" counts as far above the largest seen.
        self.none = float(np.log(self.seen.max() * 4)) if len(self.seen) else 0.0
        self.field = self.field_of(np.log(np.where(np.isfinite(balls), balls, np.exp(self.none))))
        self.levels = self._levels()
        self.blocks: list[Box] = []

    def _levels(self) -> list[float]:
        if not len(self.seen):
            return []
        # A few spots near a blind line see only huge balls: they must not use up the levels.
        low, high = float(self.seen.min()), float(np.quantile(self.seen, 0.97))
        levels = levels_between(low, high, self.us, 4 if self.sheet.narrow else 5)
        size = self.reach.must_stop_diameter
        if size is None:
            return levels
        # What the piece to stop has to stay clear of is hatched: sizes above it add nothing there.
        return [level for level in levels if level < size * 0.87] or [v for v in levels if v > size]

    def regions(self) -> None:
        """Bands of tint, a line at each level, the piece to stop as a heavy line, none hatched."""
        size = self.reach.must_stop_diameter
        edges = [-np.inf, *np.log(self.levels), np.inf]
        floor = float(self.field.values.min()) - 1.0
        for k, (low, high) in enumerate(pairwise(edges)):
            region = self.field.region(max(low, floor), high)
            self.canvas.path(region, fill=self.tint(k), fill_rule="evenodd")
        if size is not None:
            unseen = self.field.region(float(np.log(size)))
            fill = self.canvas.pattern("slant", self.look.ink, 0.62, self.look.paper)
            self.canvas.path(unseen, fill=fill, fill_rule="evenodd")
            line = self.field.line(float(np.log(size)))
            self.canvas.path(line, stroke=self.look.ink, stroke_width=3)
        if len(self.seen) < self.field.values.size:
            none = self.field.region(self.none - 0.1)
            fill = self.canvas.pattern("backslant", self.look.ink, 1.3, self.look.paper)
            self.canvas.path(none, fill=fill, fill_rule="evenodd")
        for level in self.levels:
            line = self.field.line(float(np.log(level)))
            self.canvas.path(line, stroke=self.look.accent, stroke_width=1.5)

    def blind_spots(self) -> None:
        """Each blind stretch as a hatched block as high as its row of the map."""
        half = float(np.min(np.diff(self.height_grid))) / 2
        for spot in self.reach.blind:
            x1, x2 = self.across.at(spot.x_low), self.across.at(spot.x_high)
            x1, x2 = (x1, x2) if x2 - x1 >= 6 else ((x1 + x2) / 2 - 3, (x1 + x2) / 2 + 3)
            x1, x2 = max(x1, self.box.left), min(x2, self.box.right)
            y1 = max(self.up.at(spot.height + half), self.box.top)
            y2 = min(self.up.at(spot.height - half), self.box.bottom)
            fill = self.canvas.pattern("backslant", self.look.ink, 1.3, self.look.paper)
            self.canvas.rect(x1, y1, x2 - x1, y2 - y1, fill=fill)
            self.blocks.append(Box(x1, y1, x2, y2))

    def labels(self) -> None:
        """Sizes on their lines, and the names of blind spots beside them."""
        taken = [*self._blind_names(), *self.blocks]
        must = self.reach.must_stop_diameter
        named = [(level, plain_number(level / self.unit)) for level in self.levels]
        if must is not None:
            named.insert(0, (must, say("must stop {size}", size=length(must, self.us))))
        for level, text in named:
            self._on_lines(float(np.log(level)), text, taken)

    def _blind_names(self) -> list[Box]:
        """One name for each kind and stretch of blind spots; returns what is taken."""
        taken: list[Box] = []
        size = self.sheet.type.small
        if not len(self.seen):
            words, body = [say("Nothing is seen")], self.sheet.type.body
            middle = (self.box.left + self.box.right) / 2, (self.box.top + self.box.bottom) / 2
            self.canvas.plate(*middle, words, body)
            taken.append(around(*middle, plate_size(words, body)))
        for spots in clusters_of(self.reach.blind):
            x = self.across.at(sum(s.x_low + s.x_high for s in spots) / 2 / len(spots))
            y = self.up.at(sum(s.height for s in spots) / len(spots))
            lines = [say("Blind"), shortened(said(spots[0].kind), size, 0.5 * self.sheet.width)]
            extent = plate_size(lines, size)
            x = min(max(x, self.box.left + extent[0] / 2 + 2), self.box.right - extent[0] / 2 - 2)
            y = min(max(y, self.box.top + extent[1] / 2 + 2), self.box.bottom - extent[1] / 2 - 2)
            box = around(x, y, extent)
            if not any(box.touches(other) for other in taken):
                self.canvas.plate(x, y, lines, size)
                taken.append(box)
        return taken

    def entries(self) -> list[Entry]:
        """The key: the bands, the line of the piece to stop, and what is not seen."""
        entries: list[Entry] = []
        must = self.reach.must_stop_diameter
        sizes = self.levels if must is None else [v for v in [*self.levels, must] if v <= must]
        if sizes and float(self.field.values.min()) >= np.log(sizes[0]):
            sizes = []
        shown = [plain_number(v / self.unit) for v in sizes]
        for k, size in enumerate(shown):
            if k == 0:
                name = say("smallest ball under {size} {unit}", size=size, unit=self.unit_name)
            else:
                name = say("{low} to {high}", low=shown[k - 1], high=size)
            entries.append(Entry(name, self.tint(k)))
        if shown and must is None:
            entries.append(Entry(say("over {size}", size=shown[-1]), self.tint(len(shown))))
        if must is not None and np.any(self.field.values > np.log(must)):
            unseen = self.canvas.pattern("slant", self.look.ink, 0.62, self.look.paper)
            name = say("{ball} ball not seen", ball=length(must, self.us))
            entries.append(Entry(name, unseen))
        if self.reach.blind or len(self.seen) < self.field.values.size:
            none = self.canvas.pattern("backslant", self.look.ink, 1.3, self.look.paper)
            entries.append(Entry(say("blind"), none))
        return entries
