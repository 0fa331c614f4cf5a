"""The protection map as a picture: cut length across, piece size up, three regions."""

from __future__ import annotations

from typing import Any

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.ground.units import percent
from tripmargin.pictures.answers import map_answers
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.boxes import Box, Mask, around
from tripmargin.pictures.data import Array, ProtectionMapLike
from tripmargin.pictures.fields import Field, along
from tripmargin.pictures.sheet import Entry, Sheet
from tripmargin.pictures.svg import plate_size, shortened, text_width
from tripmargin.pictures.trade_words import piece_words
from tripmargin.pictures.words import length, length_unit, plain_number

EVEN = (
    0.5  # protected at least this often: doubtful, below it: not protected (models page, Protected)
)
SHARE = 0.25  # a way of failing is drawn where it has at least this share; one always has


def protection_map_picture(
    pm: ProtectionMapLike,
    *,
    width: float = 720,
    sun: bool = False,
    us: bool = False,
    in_use: float | None = None,
    mark: tuple[float, float] | None = None,
) -> str:
    """The protection map as SVG: where the metal is missed, seen too late, or stopped in time.

    Parameters
    ----------
    pm : ProtectionMapLike
        SI; probabilities of shape (cut lengths, diameters) that sum to 1.
    width : float, px
        At least 280; 360 suits a phone.
    sun : bool
        Greatest contrast, for reading outdoors.
    us : bool
        Lengths in inches.
    in_use : float, m, optional
        The cut length in use: a line across all sizes of metal.
    mark : (float, float), m, optional
        Cut length and ball diameter of one piece: a ring, where the map shows it.

    Returns
    -------
    str
        An SVG document.

    Raises
    ------
    ValueError
        If the probabilities are not finite, do not fit the axes or do not sum to 1.
    """
    _check(pm)
    sheet = Sheet(width, sun)
    sheet.heading(pm.machine_name, say("protection map"), map_answers(pm, us))
    plot = _Plot(sheet, pm, us, in_use)
    plot.regions()
    plot.piece_line()
    taken = plot.labels()
    plot.mark(mark, taken)
    plot.axes()
    plot.key()
    sheet.footer(
        say(
            "find your cut length below, go up to the size of the metal. Solid: stopped before the"
            " knives. Dots: not seen. Slanted lines: seen, but stopped too late. Heavier: surer."
        ),
        pm.assumed,
        [say("Metal may come anywhere across the roll and at any height of the crop.")],
    )
    what = " ".join(map_answers(pm, us))
    title = say("Protection map of {machine}", machine=pm.machine_name)
    return sheet.done(title, f"{what} {_extent(pm, us)}")


def _check(pm: ProtectionMapLike) -> None:
    shape = (len(pm.cut_lengths), len(pm.diameters))
    parts = [np.asarray(part, dtype=float) for part in (pm.missed, pm.too_late, pm.protected)]
    if 0 in shape or any(part.shape != shape for part in parts):
        shapes = ", ".join(str(part.shape) for part in parts)
        raise ValueError(f"The map's regions have shapes {shapes}; its axes ask for {shape}.")
    total = sum(parts)
    if not np.all(np.isfinite(total)) or np.max(np.abs(total - 1.0)) > 1e-6:
        raise ValueError("Missed, too late and protected must sum to 1 at every point of the map.")


def _extent(pm: ProtectionMapLike, us: bool) -> str:
    return say(
        "Cut lengths from {shortest} to {longest} across, balls from {smallest} to {largest} up.",
        shortest=length(min(pm.cut_lengths), us),
        longest=length(max(pm.cut_lengths), us),
        smallest=length(min(pm.diameters), us),
        largest=length(max(pm.diameters), us),
    )


class _Plot:
    """The plot itself, on its sheet."""

    def __init__(self, sheet: Sheet, pm: ProtectionMapLike, us: bool, in_use: float | None) -> None:
        self.sheet, self.pm, self.us, self._in_use = sheet, pm, us, in_use
        self.canvas, self.look = sheet.canvas, sheet.look
        self.unit_name, self.unit = length_unit(us)
        small = sheet.type.small
        what = say("Metal: ball diameter, {unit}", unit=self.unit_name)
        self.canvas.text(sheet.type.edge, sheet.y + small, what, small)
        top = sheet.y + small + 10
        cuts, balls, missed, too_late, protected = _grid(pm)
        height = min(0.62 * sheet.width, 420.0) if not sheet.narrow else 0.78 * sheet.width
        self.up = Scale(balls[0], balls[-1], top + height, top, log=True)
        self.ticks = self.up.ticks(5 if sheet.narrow else 7, self.unit)
        left = sheet.gutter(self.ticks, self.unit)
        self.box = Box(left, top, sheet.width - sheet.type.edge, top + height)
        self.across = Scale(cuts[0], cuts[-1], left, self.box.right)
        x, y = self.across(cuts), self.up(balls)
        self.missed, self.too_late, self.protected = (
            Field(x, y, part.T) for part in (missed, too_late, protected)
        )
        look = self.look
        self.doubtful = self.canvas.pattern("stripes", look.accent, ground=look.wash)

    @property
    def drop(self) -> float | None:
        """Pixel of the longest protected cut, where the map shows it and the piece to stop."""
        cut = self.pm.longest_protected_cut
        shown = self.across.has(cut) and self.up.has(self.pm.must_stop_diameter)
        return self.across.at(cut) if cut is not None and shown else None

    @property
    def in_use(self) -> float | None:
        """Pixel of the cut length in use, where the map shows it."""
        cut = self._in_use
        return self.across.at(cut) if cut is not None and self.across.has(cut) else None

    def regions(self) -> None:
        """Patterns from the least to the most certain, each covering the one before."""
        canvas, look, sure = self.canvas, self.look, self.pm.confidence
        for field, kind in ((self.missed, "dots"), (self.too_late, "slant")):
            light, full = (canvas.pattern(kind, look.ink, w) for w in (0.62, 1.0))
            canvas.path(field.region(SHARE), fill=light, fill_rule="evenodd")
            heavy = field.region(sure)
            canvas.path(heavy, fill=look.paper, fill_rule="evenodd")
            canvas.path(heavy, fill=full, fill_rule="evenodd")
        canvas.path(self.protected.region(EVEN), fill=self.doubtful, fill_rule="evenodd")
        canvas.path(self.protected.region(sure), fill=look.accent, fill_rule="evenodd")
        for level, thick in ((EVEN, 1.5), (sure, 2.0)):
            canvas.path(self.protected.line(level), stroke=look.accent, stroke_width=thick)

    def piece_line(self) -> None:
        """The piece that must be stopped, the longest cut at which it is, and the cut in use."""
        if self.in_use is not None:
            self._cased(self.in_use, self.box.top, self.in_use, self.box.bottom)
        size = self.pm.must_stop_diameter
        if size is None or not self.up.has(size):
            return
        y, box, x = self.up.at(size), self.box, self.drop
        self._cased(box.left, y, box.right, y)
        if x is not None:
            self._cased(x, y, x, box.bottom, dash="5 4")
            self.canvas.ring(x, y)

    def _cased(self, x1: float, y1: float, x2: float, y2: float, dash: str = "") -> None:
        """A line in ink on a broader one in paper, to be seen over any region."""
        self.canvas.line(x1, y1, x2, y2, stroke=self.look.paper, stroke_width=5)
        style = {"stroke_dasharray": dash} if dash else {}
        self.canvas.line(x1, y1, x2, y2, stroke_width=2, **style)

    def labels(self) -> list[Box]:
        """Names inside the regions, where they fit without touching anything; what is taken."""
        box, size, sure = self.box, self.sheet.type.body, self.pm.confidence
        fields = (self.missed, self.too_late, self.protected)
        missed, late, safe = (field.on_mask(box) for field in fields)
        taken: list[Box] = self._piece_label()
        wordings: list[tuple[Mask, list[str]]] = [
            (safe >= sure, [say("Protected"), say("stopped in time")]),
            ((missed >= EVEN) & (safe < EVEN), [say("Missed"), say("not seen")]),
            ((late >= EVEN) & (safe < EVEN), [say("Too late"), say("seen, not stopped")]),
            ((safe >= EVEN) & (safe < sure), [say("Doubtful")]),
            ((safe < EVEN) & (missed < EVEN) & (late < EVEN), [say("Missed or too late")]),
        ]
        for mask, lines in wordings:
            for inner in taken:
                box.blank(mask, inner)
            for some in (lines, lines[:1]):
                extent = plate_size(some, size)
                spot = box.place(mask, *extent)
                if spot is not None:
                    self.canvas.plate(*spot, some, size)
                    taken.append(around(*spot, extent))
                    break
        return taken

    def mark(self, at: tuple[float, float] | None, taken: list[Box]) -> None:
        """A ring at one piece, and its name beside it where that touches nothing."""
        if at is None or not (self.across.has(at[0]) and self.up.has(at[1])):
            return
        x, y, look = self.across.at(at[0]), self.up.at(at[1]), self.look
        for colour, thick in ((look.paper, 8.0), (look.ink, 3.5)):
            style: dict[str, Any] = {"fill": "none", "stroke": colour, "stroke_width": thick}
            self.canvas.element("circle", cx=x, cy=y, r=9, **style)
        size, words = self.sheet.type.small, [say("this piece")]
        extent = plate_size(words, size)
        for dx in (extent[0] / 2 + 15, -extent[0] / 2 - 15):
            box = around(x + dx, y, extent)
            if self.box.holds(box) and not any(box.touches(other) for other in taken):
                self.canvas.plate(x + dx, y, words, size)
                return

    def _piece_label(self) -> list[Box]:
        """Names the line of the piece to stop, at its right end; returns what is now taken."""
        diameter, box, at = self.pm.must_stop_diameter, self.box, self.in_use
        used = [] if at is None else [Box(at - 4, box.top, at + 4, box.bottom)]
        if diameter is None or not self.up.has(diameter):
            return used
        y, size = self.up.at(diameter), self.sheet.type.small
        room = (box.right - box.left - 16) / 1.06
        words = say("must stop: {piece}", piece=piece_words(self.pm.must_stop))
        text = shortened(words, size, room, bold=True)
        extent = plate_size([text], size)
        # Clear of the ring that marks the longest protected cut on the line.
        middle = y - extent[1] / 2 - 7
        if middle - extent[1] / 2 < box.top + 2:
            middle = y + extent[1] / 2 + 7
        x = box.right - extent[0] / 2 - 4
        self.canvas.plate(x, middle, [text], size)
        line = Box(box.left, y - 4, box.right, y + 4)
        taken, drop = [*used, line, around(x, middle, extent)], self.drop
        return taken if drop is None else [*taken, Box(drop - 4, y, drop + 4, box.bottom)]

    def axes(self) -> None:
        """Frame and numbers; cuts on offer as wedges with bold numbers."""
        sheet, box, size, unit = self.sheet, self.box, self.sheet.type.small, self.unit
        sheet.frame(box)
        sheet.left_axis(box, self.up, self.ticks, unit)
        offered = [cut for cut in self.pm.cuts_on_offer if self.across.has(cut)]
        for cut in offered:
            x = self.across.at(cut)
            wedge = f"M{x:.1f} {box.bottom + 1:.1f}l5 9h-10z"
            self.canvas.path(wedge, fill=self.look.ink, stroke="none")
        candidates = [(cut, True) for cut in offered]
        if len(self.pm.cut_lengths) > 1:
            candidates += [(tick, False) for tick in self.across.ticks(5, unit)]
        else:
            candidates += [(float(self.pm.cut_lengths[0]), True)]
        kept: list[tuple[float, float]] = []
        for value, bold in candidates:
            text = plain_number(value / unit)
            half = text_width(text, size, bold) / 2 + 2
            x = self.across.at(value)
            at = min(max(x, sheet.type.edge + half), sheet.width - sheet.type.edge - half)
            if any(at - half < b and at + half > a for a, b in kept):
                continue
            kept.append((at - half, at + half))
            if not bold:
                self.canvas.line(x, box.bottom, x, box.bottom + 6, stroke_width=1.5)
            style = {"font_weight": "bold"} if bold else {}
            base = box.bottom + 12 + size
            self.canvas.text(at, base, text, size, text_anchor="middle", **style)
        title = say("Cut length, {unit}", unit=self.unit_name)
        if offered:
            title = say("Cut length, {unit} (wedge: on offer)", unit=self.unit_name)
        base = box.bottom + 16 + size * 2.1
        self.canvas.text(box.right, base, title, size, text_anchor="end")
        sheet.y = base + 2

    def key(self) -> None:
        """What each pattern stands for."""
        look, sure, doubt = self.look, percent(self.pm.confidence), self.pm.confidence > EVEN
        dots, slant = (self.canvas.pattern(kind, look.ink) for kind in ("dots", "slant"))
        entries = [
            Entry(say("protected: {share} or more", share=sure), look.accent),
            *(
                [Entry(say("doubtful: 50 % to {share}", share=sure), self.doubtful)]
                if doubt
                else []
            ),
            Entry(say("missed"), dots),
            Entry(say("too late"), slant),
        ]
        if self.drop is not None:
            entries.append(Entry(say("longest protected cut"), dash="5 4"))
        if self.in_use is not None:
            entries.append(Entry(say("cut in use"), dash="1 0"))
        self.sheet.key(entries)


def _grid(pm: ProtectionMapLike) -> tuple[Array, Array, Array, Array, Array]:
    """Cut lengths and diameters, at least two of each, and the three probabilities over them."""
    parts = np.array([pm.missed, pm.too_late, pm.protected], dtype=float)
    cuts, parts = along(pm.cut_lengths, parts, 1, alone=lambda cut: (0.9 * cut, 1.1 * cut))
    balls, parts = along(pm.diameters, parts, 2, alone=lambda ball: (ball / 1.2, ball * 1.2))
    return cuts, balls, parts[0], parts[1], parts[2]
