"""Each pawl's gap in its window: where it is, and where it should be."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from tripmargin.ground.languages import numeral, say
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.sheet import Entry, Sheet
from tripmargin.pictures.svg import path_of, text_width
from tripmargin.pictures.trade_words import pawl_title, pawl_words
from tripmargin.pictures.words import length_unit
from tripmargin.stopping.setting.step_words import between, gap_words

if TYPE_CHECKING:
    from tripmargin.stopping.setting import Steps
    from tripmargin.stopping.setting.rounds import Known

_TALL = 20.0  # px, of the window's bar
_ROOM = 0.12  # of the scale's span, beside what is shown


def pawl_gaps_picture(
    plan: Steps,
    known: Mapping[str, Known],
    *,
    width: float = 360,
    sun: bool = False,
    us: bool = False,
) -> str:
    """One bar a pawl as SVG: the window, where a gap may stay, the gap now, the aim.

    Parameters
    ----------
    plan : Steps
    known : mapping of pawl to Known
        The gaps as they are known now.
    width : float, px
        At least 280; 360 suits a phone.
    sun, us : bool
        Greatest contrast; inches.

    Examples
    --------
    >>> from tripmargin.machine import load_machine
    >>> from tripmargin.stopping import pawl_steps
    >>> from tripmargin.stopping.setting.rounds import known_gaps
    >>> plan = pawl_steps(load_machine("curlew"), lower_gap=0.0062, upper_gap=0.0041)
    >>> made = pawl_gaps_picture(plan, known_gaps(plan.adjusters, plan.readings, ()))
    >>> "6.2 mm" in made, "upper pawl" in made
    (True, True)
    """
    sheet = Sheet(width, sun)
    window, canvas = plan.adjusters.window, sheet.canvas
    hatched = canvas.pattern("slant", sheet.look.soft, 0.7)
    window_entry = Entry(say("window of the file"), hatched)
    sheet.key([window_entry, Entry(say("may stay there"), sheet.look.accent)])
    note = say("Ring: the gap now, its line holds 95 %. Arrow: the aim.")
    sheet.paragraph(note, sheet.type.small, soft=True)
    spans = [(one.gap - 2 * one.sd, one.gap + 2 * one.sd) for one in known.values()]
    low, high = min(window[0], *(a for a, _ in spans)), max(window[1], *(b for _, b in spans))
    edge, spare = sheet.type.edge, _ROOM * (high - low)
    scale = Scale(max(low - spare, 0.0), high + spare, edge + 4, sheet.width - edge - 4)
    for aim in plan.aims.pawls:
        one = known[aim.pawl]
        sheet.y += 6
        sheet.paragraph(pawl_title(aim.pawl), sheet.type.body, bold=True)
        _bar(sheet, scale, window, aim.room, hatched)
        _marks(sheet, scale, one, aim.gap, us)
    _ticks(sheet, scale, us)
    told = "; ".join(_told(aim.pawl, known[aim.pawl], aim.gap, us) for aim in plan.aims.pawls)
    described = say("Window {window}. {pawls}.", window=between(*window, us), pawls=told)
    return sheet.done(say("The gaps in their window"), described)


def _told(pawl: str, one: Known, aim: float, us: bool) -> str:
    name, gap, wanted = pawl_words(pawl), gap_words(one.gap, us), gap_words(aim, us)
    if one.fresh:
        return say("{pawl}: measured {gap}, aim {aim}", pawl=name, gap=gap, aim=wanted)
    return say("{pawl}: reckoned {gap}, aim {aim}", pawl=name, gap=gap, aim=wanted)


def _bar(
    sheet: Sheet,
    scale: Scale,
    window: tuple[float, float],
    room: tuple[float, float] | None,
    hatched: str,
) -> None:
    """The window, and in it where a reading may stay."""
    top = sheet.y + sheet.type.small + 16
    left, right = (scale.at(end) for end in window)
    style = {"stroke": sheet.look.ink, "stroke_width": 1.5}
    sheet.canvas.rect(left, top, right - left, _TALL, fill=hatched, **style)
    if room is not None:
        a, b = (scale.at(end) for end in room)
        sheet.canvas.rect(a, top, b - a, _TALL, fill=sheet.look.accent)
    sheet.canvas.line(scale.start, top + _TALL / 2, left, top + _TALL / 2, stroke_width=1)
    sheet.canvas.line(right, top + _TALL / 2, scale.end, top + _TALL / 2, stroke_width=1)


def _marks(sheet: Sheet, scale: Scale, one: Known, aim: float, us: bool) -> None:
    """The gap now on the bar, the aim under it, each with its number."""
    canvas, look, size = sheet.canvas, sheet.look, sheet.type.small
    top = sheet.y + size + 16
    middle = top + _TALL / 2
    now, goal = scale.at(one.gap), scale.at(aim)
    ends = [scale.at(max(one.gap + way * 2 * one.sd, scale.low)) for way in (-1, 1)]
    for colour, wide in ((look.paper, 6.0), (look.ink, 2.5)):
        canvas.line(ends[0], middle, ends[1], middle, stroke=colour, stroke_width=wide)
    foot = top + _TALL + 2
    corners = np.array([(goal, foot), (goal - 8, foot + 12), (goal + 8, foot + 12)])
    canvas.path(path_of(corners, closed=True), fill=look.accent)
    canvas.ring(now, middle)
    gap = gap_words(one.gap, us)
    words = say("now {gap}", gap=gap) if one.fresh else say("now, reckoned: {gap}", gap=gap)
    _centred(sheet, now, top - 6, words, size)
    _centred(sheet, goal, foot + 14 + size, say("aim {gap}", gap=gap_words(aim, us)), size)
    sheet.y = foot + 20 + size


def _centred(sheet: Sheet, x: float, y: float, words: str, size: float) -> None:
    half = text_width(words, size, bold=True) / 2
    edge = sheet.type.edge
    at = min(max(x, edge + half), sheet.width - edge - half)
    sheet.canvas.text(at, y, words, size, text_anchor="middle", font_weight="bold")


def _ticks(sheet: Sheet, scale: Scale, us: bool) -> None:
    """The scale, once for all pawls."""
    name, unit = length_unit(us)
    y, size = sheet.y + 6, sheet.type.small
    sheet.canvas.line(scale.start, y, scale.end, y, stroke_width=1.5)
    ticks = scale.ticks(4 if sheet.narrow else 8, unit)
    for tick in ticks:
        x = scale.at(tick)
        sheet.canvas.line(x, y, x, y + 5, stroke_width=1.5)
        words = numeral(tick / unit, ".4g")
        if tick == ticks[-1]:
            words = f"{words} {name}"
        sheet.canvas.text(x, y + 8 + size, words, size, text_anchor="middle")
    sheet.y = y + size + 8 + sheet.type.edge
