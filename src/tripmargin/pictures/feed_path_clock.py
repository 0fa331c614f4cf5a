"""Beside the feed path: a clock in ms, and each pawl with its ratchet, out of scale."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, cos, degrees, isfinite, pi, radians, sin

import numpy as np

from tripmargin.ground.languages import say
from tripmargin.pictures.feed_path_motion import Group, Motion, Style, Way, wheel_keys
from tripmargin.pictures.feed_path_parts import FeedPath, PawlParts, drawn_teeth
from tripmargin.pictures.feed_path_view import DASH
from tripmargin.pictures.lanes import Bar, Lane
from tripmargin.pictures.sheet import Sheet
from tripmargin.pictures.svg import number, path_of, shortened, text_width
from tripmargin.pictures.trade_words import pawl_words
from tripmargin.pictures.words import length

DIGIT = 30.0  # px, height of the clock's digits
_WIDE = 0.556 * DIGIT * 1.07  # px, of one bold digit
_TIP, _DEEP = 25.0, 7.0  # px: ratchet's tip circle, and the most that a tooth is deep
_PIVOT = (32.0, -38.0)  # px, of the pawl, from the ratchet's middle
_LIFTED = 15.0  # degrees that a lifted pawl stands above the teeth
CLOCK_WIDE, PAWL_LEAST, HIGH = 108.0, 92.0, 112.0


@dataclass(frozen=True, slots=True)
class PawlRun:
    """A pawl's swing and its wait for a tooth, on the race's time, s."""

    name: str
    swing: Bar
    tooth: Bar | None

    @property
    def caught(self) -> float:
        """When its tip sits behind a tooth."""
        return self.tooth.ends if self.tooth is not None else self.swing.ends


def pawl_runs(lanes: list[Lane]) -> list[PawlRun]:
    """The pawls among the rows of stages."""
    found = []
    for lane in lanes:
        kind, _, name = lane.bars[0].stage.name.partition(" ")
        if kind == "swing" and name:
            found.append(PawlRun(name, lane.bars[0], lane.bars[1] if lane.bars[1:] else None))
    return found


def pawl_wide(sheet: Sheet) -> float:
    """Room for a pawl with the words under it, px."""
    widest = text_width(say("gap {gap}", gap=length(0.01234, False)), sheet.type.small)
    return max(PAWL_LEAST, widest * 1.06 + 12)


def draw_clock(sheet: Sheet, x: float, y: float, instant: float, motion: Motion | None) -> None:
    """Whole milliseconds since the signal; without motion, those at the end."""
    canvas, small = sheet.canvas, sheet.type.small
    ends = int(instant * 1e3 + 1e-6)
    base, columns = y + DIGIT, max(len(str(ends)), 2)
    if motion is None:
        canvas.text(x, base, str(ends).zfill(columns), DIGIT, font_weight="bold")
    else:
        for column in range(columns):
            power = 10 ** (columns - 1 - column)
            _digit(sheet, x + column * _WIDE, base, (power, ends), motion)
    weight = {"font_weight": "bold"}
    canvas.text(x + columns * _WIDE + 6, base, "ms", sheet.type.body, **weight)
    lines = [say("since the signal")]
    if motion is not None:
        lines.append(slowed_words(motion.slow))
    for k, line in enumerate(lines):
        canvas.text(x, base + (k + 1) * small * 1.4, line, small)


def draw_no_rest(sheet: Sheet, x: float, y: float) -> None:
    """In the clock's place, where the feed never stands."""
    base = y + DIGIT
    sheet.canvas.text(x, base, say("no rest"), 0.7 * DIGIT, font_weight="bold")
    below = base + sheet.type.small * 1.4
    sheet.canvas.text(x, below, say("the feed runs on"), sheet.type.small)


def slowed_words(slow: float) -> str:
    """How slow it plays.

    >>> slowed_words(20.0), slowed_words(1.0)
    ('slowed 20 times', 'at true speed')
    """
    return say("at true speed") if slow == 1 else say("slowed {times:g} times", times=slow)


def _digit(sheet: Sheet, x: float, base: float, reads: tuple[int, int], motion: Motion) -> None:
    """One digit: a strip of ten behind a window, which steps up as the time goes on."""
    power, ends = reads
    window = Group(sheet.canvas)
    strip = Group(window)
    step = DIGIT * 1.2
    spans = "".join(
        f'<tspan x="{number(x)}" y="{number(base + k * step)}">{k}</tspan>' for k in range(10)
    )
    style = {"font_size": DIGIT, "font_weight": "bold", "fill": sheet.look.ink}
    strip.element("text", spans, x=x, y=base, **style)
    keys = [(motion.begins, "0 0")]
    for count in range(power, ends + 1, power):
        keys.append((count * 1e-3, f"0 {number(-(count // power % 10) * step)}"))
    motion.animate(strip, "transform", keys, kind="translate", steps=True)
    strip.close(transform=f"translate(0 {number(-(ends // power % 10) * step)})")
    box = (x, base - 0.85 * DIGIT, _WIDE, DIGIT * 1.05)
    clip = window.clip(f"clock-{power}", box)
    window.close(clip_path=clip, aria_hidden="true", data_part=f"clock {power}")


def draw_pawl(
    sheet: Sheet,
    x: float,
    y: float,
    path: FeedPath,
    run: PawlRun,
    way: Way | None,
    motion: Motion | None,
    us: bool,
) -> None:
    """A pawl falling into its ratchet; drawn where the stop leaves it."""
    parts, small = path.pawl(run.name), sheet.type.small
    cx, cy = x + _TIP + 2, y + _TIP + 22
    _wheel(sheet, cx, cy, parts, run, way, motion)
    arm, (right, up) = Group(sheet.canvas), _PIVOT
    along = np.array([-right, -_root(parts) - up])
    across = np.array([along[1], -along[0]]) / np.hypot(*along)
    corners = [along, along + 4.5 * across, 6 * across, -3 * across]
    if across[1] > 0:  # the pawl's body lies above the line from its pivot to its tip
        corners = [along, along - 4.5 * across, -6 * across, 3 * across]
    shape = path_of(np.array(corners), closed=True)
    arm.path(shape, fill=sheet.look.ink, data_part=f"pawl {run.name}")
    lifted, touches = _angles(parts, run, way)
    ends = 0.0 if isfinite(run.caught) and way is not None else lifted
    if motion is not None and way is not None:
        keys = [(motion.begins, lifted), (run.swing.begins, lifted), (run.swing.ends, touches)]
        keys.append((run.caught, 0.0))
        known = [(t, f"{angle:.2f}") for t, angle in keys if isfinite(t)]
        motion.animate(arm, "transform", known, kind="rotate")
    pivot = f"translate({number(cx + right)} {number(cy + up)})"
    spun = Group(sheet.canvas)
    spun.element("g", "".join(arm.parts), transform=f"rotate({number(ends)})")
    spun.close(transform=pivot)
    style: Style = {
        "fill": sheet.look.paper,
        "stroke": sheet.look.ink,
        "stroke_width": 1.5,
    }
    sheet.canvas.element("circle", cx=cx + right, cy=cy + up, r=4, **style)
    words = [pawl_words(run.name)]
    if parts.clearance is not None:
        words.append(say("gap {gap}", gap=length(parts.clearance, us)))
    for k, text in enumerate(words):
        text = shortened(text, small, pawl_wide(sheet) - 8)
        sheet.canvas.text(x, cy + _TIP + (k + 1) * small * 1.3, text, small)


def _root(parts: PawlParts) -> float:
    """Radius of the ratchet between its teeth, px; fine teeth are less deep."""
    return _TIP - min(_DEEP, 0.6 * 2 * pi * _TIP / drawn_teeth(parts))


def _angles(parts: PawlParts, run: PawlRun, way: Way | None) -> tuple[float, float]:
    """Degrees that the pawl stands above its seat: lifted, and as it meets the tooth's back."""
    over = degrees(asin((_TIP - _root(parts)) / np.hypot(_PIVOT[0], _PIVOT[1] + _root(parts))))
    touches = 0.0
    if way is not None and isfinite(run.caught) and run.caught > run.swing.ends:
        turn = way.turn_at(run.caught) - way.turn_at(run.swing.ends)
        pitches = turn * (parts.ratio or 1.0) * drawn_teeth(parts) / (2 * pi)
        touches = over * min(pitches, 1.0)
    return over + _LIFTED, touches


def _wheel(
    sheet: Sheet,
    cx: float,
    cy: float,
    parts: PawlParts,
    run: PawlRun,
    way: Way | None,
    motion: Motion | None,
) -> None:
    """The ratchet, a tooth's face at the pawl's tip; it turns with the clock until caught."""
    teeth, points, root = drawn_teeth(parts), [], _root(parts)
    for k in range(teeth):
        for part, r in ((0.0, root), (1.0, _TIP)):
            angle = radians(-90) + 2 * pi * (k + part) / teeth
            points.append((r * cos(angle), r * sin(angle)))
    wheel = Group(sheet.canvas)
    style: Style = {"stroke": sheet.look.ink, "stroke_width": 1.5}
    dash = {} if parts.teeth == teeth else {"stroke_dasharray": DASH}
    named = {"data_part": f"ratchet {run.name}", "data_teeth": str(teeth)}
    wheel.path(path_of(np.array(points), closed=True), **style, **dash, **named)
    wheel.element("circle", cx=0, cy=0, r=2, fill=sheet.look.ink)
    wheel.line(0, 0, 0, -root + 4, stroke=sheet.look.soft, stroke_width=3)
    if motion is not None and way is not None:
        keys = wheel_keys(way, run.caught, parts.ratio or 1.0)
        motion.animate(wheel, "transform", keys, kind="rotate")
    spun = Group(sheet.canvas)
    spun.element("g", "".join(wheel.parts))
    spun.close(transform=f"translate({number(cx)} {number(cy)})")
