"""Where one piece is seen: across the roll by height, its signal over the threshold."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from tripmargin.ground.languages import later, say
from tripmargin.ground.units import percent
from tripmargin.pictures.boxes import Box, around
from tripmargin.pictures.page import Cell, Table
from tripmargin.pictures.roll_plot import RollPlot
from tripmargin.pictures.sheet import Entry, Sheet
from tripmargin.pictures.svg import plate_size
from tripmargin.pictures.trade_words import piece_title, piece_words
from tripmargin.pictures.words import length_unit, plain_number, said, speed

if TYPE_CHECKING:
    from tripmargin.sensing.piece_reach import PieceReach

LEVELS = np.array([1.5, 2, 3, 5, 8, 12, 20, 30, 50, 100, 200, 300, 500, 1000, 2000, 5000])
_LEAST = 1e-3  # of the threshold; a null has no signal, and no logarithm
MIDDLES = later("Every tolerance is taken at its middle, and noise is left out.")
ROOM = later(
    "Heights are those of the piece's middle; ways to lie in which it would reach into the roll are"
    " left out."
)


def piece_reach_picture(
    reach: PieceReach, attitude: str, *, width: float = 720, sun: bool = False, us: bool = False
) -> str:
    """The signal of a piece at each place and height, as SVG.

    Parameters
    ----------
    reach : PieceReach
    attitude : "worst", "typical" or "best"
        Of the ways that it may lie, see `PieceReach.at`.
    width : float, px
        At least 280; 360 suits a phone.
    sun : bool
        Greatest contrast, for reading outdoors.
    us : bool
        Lengths in inches.
    """
    sheet = Sheet(width, sun)
    answers = piece_reach_answers(reach, attitude, us)
    what = say("where the {piece} is seen", piece=piece_words(reach.piece))
    sheet.heading(reach.machine_name, what, answers)
    plot = _Plot(sheet, reach, attitude, us)
    plot.regions()
    plot.labels()
    plot.axes_and_roll()
    sheet.key(plot.entries())
    sheet.footer(
        say(
            "you look along the crop's path, over the roll. Each line carries how many times the"
            " threshold the signal is there; where it is hatched the signal stays under the"
            " threshold, and the piece is not seen."
        ),
        reach.assumed,
        [*plot.notes(), say(MIDDLES), say(ROOM), *map(said, reach.notes)],
    )
    return sheet.done(say("Reach map of {machine}", machine=reach.machine_name), " ".join(answers))


def piece_reach_answers(reach: PieceReach, attitude: str, us: bool) -> list[str]:
    """Where it is seen, how it lies there, and how strong its signal is."""
    signal, share = reach.at(attitude), reach.seen(attitude)
    at = say(
        "{piece}, {lying}, at {speed}",
        piece=piece_title(reach.piece),
        lying=lying_words(reach, attitude),
        speed=speed(reach.speed, us),
    )
    if share <= 0:
        seen = say("{at}: seen nowhere.", at=at)
    elif share >= 1:
        seen = say("{at}: seen everywhere.", at=at)
    else:
        seen = say("{at}: seen at {share} of places and heights.", at=at, share=percent(share))
    low, high = (plain_number(float(end), 2) for end in (signal.min(), signal.max()))
    if low == high:
        return [seen, say("Its signal is {times} times the threshold.", times=low)]
    return [
        seen,
        say("Its signal runs from {low} to {high} times the threshold.", low=low, high=high),
    ]


def lying_words(reach: PieceReach, attitude: str) -> str:
    """How the piece lies in this map, in words."""
    if len(reach.lying) == 1:
        return said(reach.lying[0])
    if attitude == "typical":
        return say(
            "typical attitude: half of {count} ways to lie give more, half less",
            count=len(reach.lying),
        )
    word, share = reach.mostly(attitude)
    lies = say("{lying} everywhere", lying=said(word))
    if share < 1:
        lies = say("{lying} at {share} of places", lying=said(word), share=percent(share))
    if attitude == "worst":
        return say("worst attitude at each place: {lies}", lies=lies)
    return say("best attitude at each place: {lies}", lies=lies)


def piece_reach_table(reach: PieceReach, us: bool) -> Table:
    """One row for each height and place: the signal in times the threshold, and how it lies.

    Returns
    -------
    (headers, rows)
    """
    name, unit = length_unit(us)
    at = {attitude: reach.at(attitude) for attitude in ("worst", "typical", "best")}
    places = [
        (h, x, plain_number(height / unit), plain_number(place / unit))
        for h, height in enumerate(reach.heights)
        for x, place in enumerate(reach.places)
    ]
    rows: list[list[Cell]]
    where = (say("height, {unit}", unit=name), say("place, {unit}", unit=name))
    if len(reach.lying) == 1:
        rows = [[height, place, _cell(at["worst"][h, x])] for h, x, height, place in places]
        return (*where, say("signal, of threshold")), rows
    worst, best = reach.lies("worst"), reach.lies("best")
    headers = (
        *where,
        say("worst, of threshold"),
        say("lying then"),
        say("typical"),
        say("best"),
        say("lying then"),
    )
    rows = [
        [
            height, place, _cell(at["worst"][h, x]), said(worst[h][x]),
            _cell(at["typical"][h, x]), _cell(at["best"][h, x]), said(best[h][x]),
        ]
        for h, x, height, place in places
    ]  # fmt: skip
    return headers, rows


def _cell(signal: float) -> str:
    return plain_number(float(signal), 3)


class _Plot(RollPlot):
    """The signal over the threshold, place by place."""

    def __init__(self, sheet: Sheet, reach: PieceReach, attitude: str, us: bool) -> None:
        super().__init__(sheet, reach.places, reach.heights, reach.at(attitude), us)
        self.field = self.field_of(np.log(np.maximum(self.values, _LEAST)))
        low, high = max(float(self.values.min()), 1.0), float(self.values.max())
        above: list[float] = []
        if high > low:
            # Even steps of the logarithm: the signal falls about as a power of the height.
            wanted = np.geomspace(low, high, (3 if sheet.narrow else 4) + 2)[1:-1]
            near = np.abs(np.log(LEVELS) - np.log(wanted)[:, None]).argmin(axis=1)
            above = [float(v) for v in np.unique(LEVELS[near]) if low < v < high]
        self.levels = [1.0, *above]  # the threshold is always the first

    def _hatched(self) -> str:
        return self.canvas.pattern("slant", self.look.ink, 0.62, self.look.paper)

    def _tint_of(self, k: int) -> str:
        """Fill of the band above the k-th level: the stronger the signal, the deeper."""
        return self.tint(len(self.levels) - 1 - k)

    def regions(self) -> None:
        """Bands of tint, a line at each level, the threshold as a heavy line, under it hatched."""
        edges = [*np.log(self.levels), np.inf]
        for k, (low, high) in enumerate(pairwise(edges)):
            region = self.field.region(low, high)
            self.canvas.path(region, fill=self._tint_of(k), fill_rule="evenodd")
        unseen = self.field.region(float(np.log(_LEAST)) - 1.0, 0.0)
        self.canvas.path(unseen, fill=self._hatched(), fill_rule="evenodd")
        for level in self.levels[1:]:
            line = self.field.line(float(np.log(level)))
            self.canvas.path(line, stroke=self.look.accent, stroke_width=1.5)
        self.canvas.path(self.field.line(0.0), stroke=self.look.ink, stroke_width=3)

    def labels(self) -> None:
        """How many times the threshold, on each line; where nothing is seen, that."""
        taken: list[Box] = []
        if float(self.values.max()) < 1.0:
            words, size = [say("Not seen anywhere")], self.sheet.type.body
            middle = (self.box.left + self.box.right) / 2, (self.box.top + self.box.bottom) / 2
            self.canvas.plate(*middle, words, size)
            taken.append(around(*middle, plate_size(words, size)))
            return
        for level in self.levels:
            text = say("just seen")
            if level != 1.0:
                text = say("{count} times", count=plain_number(level))
            self._on_lines(float(np.log(level)), text, taken)

    def entries(self) -> list[Entry]:
        """The key: the bands from the threshold up, and what is not seen."""
        most, entries = float(self.values.max()), []
        for k, level in enumerate(self.levels if most >= 1.0 else []):
            end = self.levels[k + 1] if k + 1 < len(self.levels) else None
            low = plain_number(level)
            span = say("over {size}", size=low)
            if end is not None:
                span = say("{low} to {high}", low=low, high=plain_number(end))
            words = say("{span} times the threshold", span=span) if k == 0 else span
            entries.append(Entry(words, self._tint_of(k)))
        if float(self.values.min()) < 1.0:
            entries.append(Entry(say("under the threshold: not seen"), self._hatched()))
        return entries
