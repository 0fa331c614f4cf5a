"""Drawings beside the questions that a meter answers: sensor, amplifier, solenoid."""

from __future__ import annotations

from math import sin

from tripmargin.ground.languages import say, say_as
from tripmargin.pictures.question_shapes import INK, THIN, Drawing, Point, around


def coil_resistance(d: Drawing) -> None:
    """The sensor's plug is apart; the meter reads across the sensor's two leads."""
    d.box(60, 18, 116, 34, rx=4)
    for left, right in ((44, 60), (176, 192)):
        d.box(left, 30, right - left, 10)
    _coils(d, 76, 35, 5, 17)
    d.label(68, 12, say("sensor"), "start")
    d.line([(192, 35), (208, 35), (208, 76), (164, 76)])
    ends = _apart(d, 152, 82)
    one, two = d.meter(42, 108, "\N{OHM SIGN}")
    d.lead([one, (31, 144), (112, 144), (112, 98), (ends[1][0] - 4, ends[1][1])])
    d.lead([two, (53, 137), (98, 137), (98, 76), (ends[0][0] - 4, ends[0][1])])
    d.box(196, 96, 14, 28, rx=3)
    d.line([(210, 110), (238, 110)])
    d.label(200, 142, say("unplugged"))


def rotation(d: Drawing) -> None:
    """The sensor's shaft end with its mark, against the mark on the frame."""
    x, y, r = 112.0, 86.0, 50.0
    d.crop(2, 6, 238, 28)
    d.arrow((10, 17), (46, 17), d.look.ink, 1.6)
    d.label(206, 21, say("crop"))
    d.circle(x, y, r, stroke=d.look.soft)
    d.circle(x, y, 26, fill=d.look.paper)
    d.dashed([(x, y), (x, 40)])
    d.dashed([(x, y), around(x, y, 47, -48, -47)[0]])
    d.line([(x, y), around(x, y, 26, -48, -47)[0]], stroke_width=4)
    d.area([(x, 59), (x - 5, 48), (x + 5, 48)], fill=d.look.ink)
    d.turning(x, y, 40, -90, -50, d.look.accent)
    d.line([(x - 6, 52), (52, 52)], stroke_width=THIN)
    d.label(4, 48, say("mark on"), "start")
    d.label(4, 61, say("the frame"), "start")
    d.line([(128, 70), (170, 92)], stroke_width=THIN)
    d.label(172, 92, say("mark on"), "start")
    d.label(172, 105, say("the shaft"), "start")


def noise(d: Drawing) -> None:
    """The empty rolls turn behind their guards; a meter hangs on the amplifier's test point."""
    d.roll(40, 40, 28, 16)
    d.turning(40, 40, 18, 215, 340)
    d.dashed([(80, 6), (80, 74)])
    d.label(40, 86, say("no crop"))
    d.line([(40, 40), (96, 40)])
    d.box(96, 20, 62, 42)
    d.area([(110, 26), (110, 56), (136, 41)])
    d.line([(136, 41), (158, 41), (172, 41)])
    d.circle(176, 41, 5, fill=d.look.paper, stroke=d.look.accent, stroke_width=2.4)
    d.line([(127, 62), (127, 72)])
    for k, half in enumerate((9.0, 6.0, 3.0)):
        d.line([(127 - half, 72 + 4.0 * k), (127 + half, 72 + 4.0 * k)])
    one, two = d.meter(208, 110, "V ~")
    d.lead([one, (197, 142), (164, 142), (164, 92), (176, 92), (176, 41)])
    d.lead([two, (219, 146), (150, 146), (150, 74), (127, 74)])
    d.label(206, 30, say("test point"))
    wave = [(8 + k, 120 + 6 * sin(k * 0.9) * sin(k * 0.31 + 1)) for k in range(110)]
    d.line(wave, stroke_width=1.4)
    for y in (114.0, 126.0):
        d.line([(8, y), (118, y)], stroke=d.look.accent, stroke_width=1.4, stroke_dasharray="4 3")
    d.asked(62, 142, say("noise, rms"))


def supply(d: Drawing) -> None:
    """The plug stays on; the meter reads across it from outside, engine running."""
    _solenoid(d, 16, 24)
    d.line([(96, 42), (116, 42)])
    d.line([(96, 58), (116, 58)])
    d.box(116, 32, 26, 36, rx=3)
    for y in (42.0, 58.0):
        d.line([(142, y), (236, y)])
    d.label(232, 36, "+", "end", font_weight="bold")
    d.label(232, 76, "\N{MINUS SIGN}", "end", font_weight="bold")
    one, two = d.meter(190, 116, "V =")
    d.lead([one, (179, 146), (150, 146), (150, 58)])
    d.lead([two, (201, 142), (224, 142), (224, 84), (158, 84), (158, 42)])
    d.label(129, 24, say("plug"))
    d.label(56, 96, say("hold winding"))
    d.label(72, 136, say("engine running"))


def winding_resistance(d: Drawing) -> None:
    """The plug is apart; of the two windings the one with many thin turns is read."""
    d.box(12, 14, 104, 66, rx=4)
    _coils(d, 28, 30, 4, 18, weight=3.4, colour=d.look.soft)
    _coils(d, 24, 60, 9, 9, weight=1.8, colour=d.look.accent)
    d.line([(100, 30), (136, 30)], stroke=d.look.soft)
    d.line([(105, 60), (136, 60)])
    d.line([(28, 30), (20, 30), (20, 60), (24, 60)])
    d.line([(20, 45), (20, 72), (136, 72)])
    for y in (30.0, 60.0, 72.0):
        d.circle(138, y, 2.6, fill=d.look.ink, stroke_width=0.5)
    d.box(166, 22, 24, 58, rx=3)
    d.line([(190, 51), (236, 51)])
    d.label(190, 98, say("unplugged"))
    d.label(206, 16, say("plug"))
    one, two = d.meter(40, 118, "\N{OHM SIGN}")
    d.lead([one, (29, 146), (150, 146), (150, 72), (138, 72)])
    d.lead([two, (51, 139), (144, 139), (144, 60), (138, 60)])
    d.asked(106, 112, say("more ohms"))


def suppression(d: Drawing) -> None:
    """What lies across the hold winding, and what it may be."""
    for y in (18.0, 132.0):
        d.line([(14, y), (104, y)])
        d.circle(14, y, 3, fill=d.look.paper)
    d.label(14, 36, "+", font_weight="bold")
    d.label(14, 124, "\N{MINUS SIGN}", font_weight="bold")
    _upright_coil(d, 48, 18, 132)
    d.line([(104, 18), (104, 132)])
    d.box(86, 50, 36, 50, stroke=d.look.accent, stroke_width=2.6)
    d.canvas.text(104, 82, "?", 22, text_anchor="middle", font_weight="bold", fill=d.look.accent)
    d.line([(124, 75), (132, 75)], stroke=d.look.accent, stroke_width=1.6)
    rows = (
        (22.0, "diode", say("diode")),
        (58.0, "zener", say("zener")),
        (94.0, "resistor", say("resistor")),
        (130.0, "none", say_as("suppression", "none")),
    )
    for y, word, words in rows:
        d.label(182, y + 4, words, "start")
        if word == "none":
            d.line([(136, y), (146, y)])
            d.line([(166, y), (176, y)])
            continue
        d.line([(136, y), (176, y)])
        if word == "resistor":
            d.box(144, y - 6, 24, 12)
            continue
        d.area([(164, y - 8), (164, y + 8), (149, y)])
        bar = [(149, y - 8), (149, y + 8)]
        if word == "zener":
            bar = [(144, y - 10), *bar, (154, y + 10)]
        d.line(bar, stroke_width=2.2)


def _coils(
    d: Drawing, x: float, y: float, many: int, wide: float, weight: float = INK, colour: str = ""
) -> None:
    """A winding that lies: half rounds side by side."""
    points: list[Point] = []
    for k in range(many):
        points += around(x + wide * (k + 0.5), y, wide / 2, -180, 0)
    d.line(points, stroke_width=weight, stroke=colour or d.look.ink)


def _upright_coil(d: Drawing, x: float, top: float, bottom: float) -> None:
    points: list[Point] = [(x, top), (x, top + 24)]
    high = (bottom - top - 48) / 5
    for k in range(5):
        points += around(x, top + 24 + high * (k + 0.5), high / 2, -90, 90)
    d.line([*points, (x, bottom)])


def _solenoid(d: Drawing, x: float, y: float) -> None:
    """A solenoid in its housing, its plunger to the left."""
    d.box(x, y, 80, 52, rx=4)
    _coils(d, x + 10, y + 28, 6, 10)
    d.box(x - 12, y + 20, 12, 12)


def _apart(d: Drawing, x: float, y: float) -> tuple[Point, Point]:
    """Half a plug with its two pins to the left; where the pins are."""
    d.box(x, y - 14, 14, 28, rx=3)
    pins = ((x - 8, y - 7), (x - 8, y + 7))
    for px, py in pins:
        d.line([(x, py), (px, py)], stroke_width=2.6)
    return pins
