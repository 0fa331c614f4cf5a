"""Drawings beside the questions about pawl, ratchet and the piece that must be stopped."""

from __future__ import annotations

from tripmargin.ground.languages import say
from tripmargin.pictures.question_shapes import THIN, Drawing, Point, around


def clearance(d: Drawing) -> None:
    """The pawl held off its ratchet; the gap to the tooth's tip."""
    x, y, r = 96.0, 210.0, 120.0
    d.line(_teeth(x, y, r, r - 16, 26, range(-4, 5)), stroke_width=2)
    d.label(60, 134, say("ratchet"))
    _pawl(d, (206, 34), (104, 66))
    tip = (96.0, 90.0)
    for (px, py), far in (((104.0, 68.0), 132.0), (tip, 132.0)):
        d.line([(px - 62, py), (far - 34, py)], stroke=d.look.accent, stroke_width=THIN)
    d.between((60, 68), (60, 90), 24)
    d.asked(52, 83, say("gap"), "end")
    d.label(112, 32, say("pawl"))
    d.label(204, 84, say("gauge"), "start")
    d.box(104, 75, 96, 9, fill=d.look.soft, stroke_width=THIN)


def ratchet_teeth(d: Drawing) -> None:
    """All teeth of the ratchet, counted round from one that is marked."""
    x, y, r, many = 108.0, 78.0, 58.0, 16
    d.line(_teeth(x, y, r, r - 11, many), stroke_width=2)
    d.axis(x, y)
    d.circle(x, y, 11)
    for k in range(4):
        turn = -90 + 360 / many * k
        px, py = around(x, y, r - 21, turn + 4, turn + 5)[0]
        d.asked(px, py + 4, str(k + 1))
    d.turning(x, y, r - 21, 5, 236, d.look.accent)
    _pawl(d, (214, 16), (150, 24))
    d.label(206, 54, say("pawl"))


def ratchet_turns(d: Drawing) -> None:
    """One turn of the roll, and how many of the ratchet."""
    d.roll(66, 66, 50, 24)
    d.turning(66, 66, 34, -90, 240)
    d.line(_teeth(190, 66, 34, 27, 14), stroke_width=2)
    d.axis(190, 66)
    d.turning(190, 66, 18, -90, 240, d.look.accent)
    for end in (-1, 1):
        d.dashed([(66, 66 + 9 * end), (190, 66 + 6 * end)])
    d.label(66, 136, say("roll: 1 turn"))
    d.asked(190, 136, say("ratchet: ? turns"))


def must_stop(d: Drawing) -> None:
    """A ball, a bolt, a flat bar: the piece that the verdict is about."""
    d.circle(58, 62, 34, fill=d.canvas.pattern("dots", d.look.soft, 0.5, d.look.paper))
    for x in (24.0, 92.0):
        d.line([(x, 62), (x, 124)], stroke=d.look.accent, stroke_width=THIN)
    d.dimension((24, 116), (92, 116))
    d.label(58, 143, say("ball"))
    d.area([(132, 20), (146, 20), (146, 52), (132, 52)])
    d.area([(146, 27), (222, 27), (222, 45), (146, 45)])
    for k in range(8):
        d.line([(176 + 6 * k, 27), (172 + 6 * k, 45)], stroke_width=THIN)
    d.label(178, 70, say("bolt"))
    d.area([(132, 92), (222, 92), (228, 100), (228, 118), (138, 118), (132, 110)])
    d.line([(132, 110), (222, 110), (222, 92)], stroke_width=THIN)
    d.line([(222, 110), (228, 118)], stroke_width=THIN)
    d.label(178, 136, say("flat piece"))


def _teeth(
    x: float, y: float, outer: float, inner: float, many: int, which: range | None = None
) -> list[Point]:
    """A ratchet's outline, all round or some teeth of it: steep on one side of each tooth."""
    points: list[Point] = []
    for k in which or range(many + 1):
        turn = -90 + 360 * k / many
        tip, foot = (around(x, y, radius, turn, turn + 1)[0] for radius in (outer, inner))
        points += [tip, foot]
    return points if which else points[:-1]


def _pawl(d: Drawing, pivot: Point, tip: Point) -> None:
    """A pawl from its pivot to its tip, which points at the ratchet."""
    (px, py), (tx, ty) = pivot, tip
    d.area([(px, py - 10), (tx + 10, ty - 20), (tx, ty), (tx + 4, ty + 2), (tx + 26, ty - 6),
            (px, py + 10)])  # fmt: skip
    d.circle(px, py, 10, fill=d.look.paper)
    d.circle(px, py, 3, fill=d.look.ink)
