"""The noise of a quiet run: what turns with the roll order by order, and one turn of it."""

from __future__ import annotations

import numpy as np

from tripmargin.ground.languages import later, say, say_as
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.boxes import Box
from tripmargin.pictures.data import SpreadLike
from tripmargin.pictures.noise_words import NoiseLike, noise_answers
from tripmargin.pictures.page import Cell, Table
from tripmargin.pictures.sheet import Entry, Sheet
from tripmargin.pictures.svg import number, path_of
from tripmargin.pictures.words import plain_number

DASH = "7 4"
MOST = 24
"""Orders drawn; the strongest of the others are in the table."""


def noise_orders_picture(noise: NoiseLike, *, width: float = 720, sun: bool = False) -> str:
    """Orders as bars with their uncertainty, and one turn of what turns with the roll, as SVG.

    Parameters
    ----------
    noise : NoiseLike
    width : float, px
        At least 280; 320 suits a phone.
    sun : bool
        Greatest contrast, for reading outdoors.

    Examples
    --------
    >>> from tripmargin.ground.results import Spread
    >>> from types import SimpleNamespace
    >>> sd = Spread(0.07, low=0.069, high=0.071)
    >>> none = SimpleNamespace(machine="Knot", duration=60.0, floor=sd, share=None, turns=0,
    ...     orders=(), angles=np.empty(0), trace=np.empty(0), threshold=None,
    ...     false_trips_per_hour=None, cured_per_hour=None)
    >>> noise_orders_picture(none)[:4]
    '<svg'
    """
    sheet = Sheet(width, sun)
    sheet.heading(noise.machine, say("noise of a quiet run"), noise_answers(noise))
    if noise.orders:
        _orders(sheet, noise)
    if noise.orders or noise.threshold is not None:
        _turn(sheet, noise)
    sheet.key(_key(sheet, noise))
    sheet.footer(_how_to_read(noise), (), [_source(noise)])
    answers = " ".join(noise_answers(noise))
    title = say("{machine}: noise of a quiet run", machine=noise.machine)
    return sheet.done(title, f"{_source(noise)} {answers}")


def noise_orders_table(noise: NoiseLike) -> Table:
    """One row for each order, then the floor, the share and the rates.

    Returns
    -------
    (headers, rows)
        V, rad and 1/h; empty where something is not known.
    """
    headers = (
        later("quantity"), later("unit"), later("value"), later("low"), later("high"),
        later("sure"),
    )  # fmt: skip
    rows: list[list[Cell]] = []
    for order in noise.orders:
        sure = say("yes") if order.sure else say("no")
        rows.append(
            [
                say("order {number} amplitude", number=order.number),
                "V",
                *_ends(order.amplitude),
                sure,
            ]
        )
        rows.append(
            [say("order {number} phase", number=order.number), "rad", *_ends(order.phase), sure]
        )
    rows.append([say("floor"), "V", *_ends(noise.floor), None])
    rows.append([say("share that turns with the roll"), "", *_ends(noise.share), None])
    rows.append([say("false trips now"), "1/h", *_ends(noise.false_trips_per_hour), None])
    rows.append([say("false trips, roll cured"), "1/h", *_ends(noise.cured_per_hour), None])
    return headers, rows


def _ends(value: SpreadLike | None) -> list[Cell]:
    if value is None:
        return [None, None, None]
    return [float(value.nominal), float(value.low), float(value.high)]


def _source(noise: NoiseLike) -> str:
    seconds = plain_number(noise.duration)
    if not noise.turns:
        return say("From {seconds} s of recording.", seconds=seconds)
    return say(
        "From {seconds} s of recording, {turns} turns of the roll.",
        seconds=seconds,
        turns=noise.turns,
    )


def _how_to_read(noise: NoiseLike) -> str:
    if not noise.orders:
        return say("no part of the noise could be told to turn with the roll.")
    return say(
        "each bar is what comes so many times a turn, its whisker the 95 % interval; open bars do"
        " not stand out of the noise. Below, one turn of what the filled bars come to; in the band"
        " about it lie 95 % of the noise. A trip comes where the noise passes the dashed line."
    )


def _orders(sheet: Sheet, noise: NoiseLike) -> None:
    """Bars of amplitude over the order's number."""
    canvas, look, size = sheet.canvas, sheet.look, sheet.type.small
    drawn = [order for order in noise.orders if order.number <= MOST]
    canvas.text(sheet.type.edge, sheet.y + size, say("amplitude, mV"), size)
    top = sheet.y + size + 10
    height = 0.42 * sheet.width if sheet.narrow else 0.24 * sheet.width
    highest = max(order.amplitude.high for order in drawn)
    up = Scale(0.0, 1.06 * highest or 1.0, top + height, top)
    ticks = up.ticks(4, 1e-3)
    box = Box(sheet.gutter(ticks, 1e-3), top, sheet.width - sheet.type.edge, top + height)
    across = Scale(0.4, len(drawn) + 0.6, box.left, box.right)
    half = 0.32 * (across.at(2) - across.at(1))
    for order in drawn:
        x, y = across.at(order.number), up.at(order.amplitude.nominal)
        fill = look.ink if order.sure else look.paper
        style = {"fill": fill, "stroke": look.ink, "stroke_width": 1.2}
        canvas.rect(x - half, y, 2 * half, box.bottom - y, **style)
    for order in drawn:
        x = across.at(order.number)
        low, high = up.at(order.amplitude.low), up.at(order.amplitude.high)
        whisker = f"M{number(x)} {number(low)}L{number(x)} {number(high)}"
        whisker += f"M{number(x - 3)} {number(high)}L{number(x + 3)} {number(high)}"
        canvas.path(whisker, stroke=look.paper, stroke_width=4)
        canvas.path(whisker, stroke=look.soft, stroke_width=1.8)
    sheet.frame(box)
    sheet.left_axis(box, up, ticks, 1e-3)
    step = max(1, round(len(drawn) / (8 if sheet.narrow else 16)))
    shown = [float(k) for k in range(1, len(drawn) + 1, step)]
    sheet.bottom_axis(box, across, shown, 1.0)
    sheet.y = box.bottom + 12 + size
    canvas.text(box.left, sheet.y + size, say("times a turn"), size)
    sheet.y += size + 12


def _turn(sheet: Sheet, noise: NoiseLike) -> None:
    """One turn of the trace, the noise about it, and the threshold."""
    canvas, look, size = sheet.canvas, sheet.look, sheet.type.small
    canvas.text(sheet.type.edge, sheet.y + size, say("detector's output, V"), size)
    top = sheet.y + size + 10
    height = 0.5 * sheet.width if sheet.narrow else 0.3 * sheet.width
    angles = noise.angles if len(noise.angles) else np.array([0.0, 1.0])
    trace = noise.trace if len(noise.trace) else np.zeros(len(angles))
    band = 1.96 * noise.floor.nominal
    reach = float(np.abs(trace).max() + band)
    if noise.threshold is not None:
        reach = max(reach, noise.threshold)
    up = Scale(-1.12 * reach, 1.12 * reach, top + height, top)
    ticks = up.ticks(6, 1.0)
    box = Box(sheet.gutter(ticks, 1.0), top, sheet.width - sheet.type.edge, top + height)
    across = Scale(0.0, 1.0, box.left, box.right)
    x = across(np.append(angles, 1.0) if angles[-1] < 1 else angles)
    closed = np.append(trace, trace[0]) if len(x) > len(trace) else trace
    upper = np.column_stack([x, up(closed + band)])
    lower = np.column_stack([x, up(closed - band)])[::-1]
    dots = canvas.pattern("dots", look.soft, 0.7)
    canvas.path(path_of(np.concatenate([upper, lower]), closed=True), fill=dots)
    canvas.path(path_of(np.column_stack([x, up(closed)])), stroke=look.ink, stroke_width=2.4)
    if noise.threshold is not None:
        for level in (noise.threshold, -noise.threshold):
            y = up.at(level)
            style = {"stroke_width": 2, "stroke_dasharray": DASH}
            canvas.line(box.left, y, box.right, y, **style)
    sheet.frame(box)
    sheet.left_axis(box, up, ticks, 1.0)
    sheet.bottom_axis(box, across, [0.0, 0.25, 0.5, 0.75, 1.0], 1.0)
    sheet.y = box.bottom + 12 + size
    canvas.text(box.left, sheet.y + size, say_as("axis", "turns of the roll"), size)
    sheet.y += size + 10


def _key(sheet: Sheet, noise: NoiseLike) -> list[Entry]:
    made = []
    if noise.orders:
        made += [
            Entry(say("stands out"), sheet.look.ink),
            Entry(say_as("does not stand out", "does not"), sheet.look.paper),
        ]
    dots = sheet.canvas.pattern("dots", sheet.look.soft, 0.7)
    made.append(Entry(say("95 % of the noise"), dots))
    if noise.threshold is not None:
        made.append(Entry(say("threshold"), dash=DASH))
    return made
