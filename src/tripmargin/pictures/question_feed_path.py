"""Drawings beside the questions about rolls, crop, shear bar and cutterhead."""

from __future__ import annotations

from tripmargin.ground.languages import say, say_as
from tripmargin.pictures.question_shapes import THIN, Drawing, around


def roll_diameter(d: Drawing) -> None:
    """The roll between two straight edges."""
    d.roll(120, 64, 44, 24)
    _sensor_inside(d, 120, 64, 44)
    for x in (72.0, 164.0):
        d.box(x, 10, 4, 122)
    d.dimension((76, 126), (164, 126))
    d.label(66, 24, say("straight edge"), "end")
    d.arrow((20, 64), (52, 64), d.look.soft, 1.4)
    d.label(36, 78, say("feed"))


def roll_width(d: Drawing) -> None:
    """The roll from the front, between the frame's walls."""
    for x in (22.0, 206.0):
        d.solid([(x, 12), (x + 12, 12), (x + 12, 108), (x, 108)])
    for left, right in ((34, 46), (194, 206)):
        d.box(left, 66, right - left, 10)
    for top, fill in ((16.0, d.look.soft), (50.0, d.look.ink)):
        height = 20.0 if top < 20 else 42.0
        d.box(46, top, 148, height, stroke=fill)
        for k in range(1, 6 if height > 30 else 3):
            y = top + height * k / (6 if height > 30 else 3)
            d.line([(46, y), (194, y)], stroke_width=THIN, stroke=d.look.soft)
    for x in (46.0, 194.0):
        d.line([(x, 96), (x, 132)], stroke=d.look.accent, stroke_width=THIN)
    d.dimension((46, 122), (194, 122))
    d.label(120, 141, say("from the front"))


def sensor_to_shear_bar(d: Drawing) -> None:
    """From above the lower roll's axis along the crop to the shear bar's edge."""
    _passage(d, 2, 176)
    _sensor_inside(d, 62, 104, 36)
    _bar_and_cutterhead(d, 176, 68)
    for x, end in ((62.0, 104.0), (176.0, 68.0)):
        d.line([(x, 36), (x, end)], stroke=d.look.accent, stroke_width=1.4, stroke_dasharray="4 3")
    d.box(62, 51, 114, 16, stroke="none")
    d.dimension((62, 59), (176, 59))
    d.label(176, 104, say("shear bar"), "end")
    d.line([(74, 85), (112, 126)], stroke_width=THIN)
    d.label(114, 134, say("sensor"), "start")


def crop_depth(d: Drawing) -> None:
    """The upper roll at its lowest and at its highest."""
    d.crop(2, 78, 238, 98)
    d.roll(96, 138, 40)
    d.circle(96, 38, 40)
    d.dashed(around(96, -8, 40, 10, 170))
    d.line([(96, 98), (234, 98)], stroke=d.look.accent, stroke_width=THIN)
    for x, top, word in ((158.0, 78.0, say("least")), (206.0, 32.0, say("greatest"))):
        d.line([(96, top), (x + 10, top)], stroke=d.look.accent, stroke_width=THIN)
        d.dimension((x, top), (x, 98))
        d.asked(x, 114, word)
    d.arrow((8, 88), (40, 88), d.look.ink, 1.6)


def slip(d: Drawing) -> None:
    """A mark on the mat lags behind a mark on the roll."""
    d.crop(2, 12, 238, 30)
    d.roll(60, 66, 36)
    d.turning(60, 66, 24, 215, 330)
    d.arrow((10, 21), (40, 21), d.look.ink, 1.6)
    d.box(108, 10, 5, 22, fill=d.look.accent, stroke="none")
    d.label(120, 47, say("mark on the mat"), "start")
    roll, crop = say_as("way of the", "roll"), say_as("way of the", "crop")
    for y, end, word, fill in (
        (116.0, 228.0, roll, d.look.soft),
        (136.0, 190.0, crop, d.look.paper),
    ):
        d.label(6, y + 4, word, "start")
        d.box(40, y - 5, end - 40, 10, fill=fill)
    d.line([(190, 84), (190, 141)], stroke=d.look.accent, stroke_width=THIN)
    d.line([(228, 84), (228, 121)], stroke=d.look.accent, stroke_width=THIN)
    d.dimension((190, 94), (228, 94))
    d.asked(184, 98, say("lags"), "end")


def knives(d: Drawing) -> None:
    """Each knife that passes one spot of the shear bar, counted."""
    x, y, r, many = 150.0, 76.0, 54.0, 8
    _drum(d, x, y, r, many)
    d.crop(2, 60, 84, 76)
    d.solid([(94, 76), (94, 94), (60, 94)])
    d.circle(95, 75, 6, fill="none", stroke=d.look.accent, stroke_width=2.4)
    for k in range(many):
        px, py = around(x, y, r - 17, 180 + 360 * k / many, 181 + 360 * k / many)[0]
        d.asked(px, py + 4, str(k + 1))
    d.turning(x, y, 20, 330, 210)
    d.label(36, 118, say("one spot of"))
    d.label(36, 131, say("the shear bar"))
    d.line([(68, 108), (91, 82)], stroke_width=THIN)


def cutterhead_speed(d: Drawing) -> None:
    """A meter without contact reads a mark on the drum's shaft from outside the guard."""
    _drum(d, 72, 76, 50, 8)
    d.turning(72, 76, 30, 380, 160, d.look.accent)
    d.circle(72, 76, 12, fill=d.look.paper)
    d.box(76, 70, 7, 4, fill=d.look.ink, stroke="none")
    d.dashed([(132, 12), (132, 138)])
    d.label(136, 24, say("guard"), "start")
    d.line([(82, 73), (176, 88)], stroke=d.look.accent, stroke_width=1.6, stroke_dasharray="3 3")
    d.box(176, 70, 50, 36, rx=4)
    d.box(184, 76, 36, 18, stroke_width=THIN)
    d.asked(202, 89, say("rpm"))
    d.area([(202, 106), (222, 106), (222, 140), (206, 140)])
    d.asked(72, 144, say("turns a minute"))


def cut_lengths(d: Drawing) -> None:
    """Cut crop behind the shear bar: the shortest and the longest cut on offer."""
    for top, cut, word in ((28.0, 14.0, say("shortest")), (100.0, 34.0, say("longest"))):
        d.crop(2, top, 72, top + 18)
        d.arrow((10, top + 9), (38, top + 9), d.look.ink, 1.6)
        d.solid([(72, top + 18), (72, top + 32), (48, top + 32)])
        d.area([(74, top - 14), (80, top - 14), (74, top + 17)], fill=d.look.ink)
        x = 94.0
        while x + cut < 236:
            d.crop(x, top, x + cut, top + 18)
            for side in (x, x + cut):
                d.line([(side, top), (side, top + 18)], stroke_width=THIN)
            x += cut + 8
        for side in (94.0, 94.0 + cut):
            line = [(side, top - 16), (side, top)]
            d.line(line, stroke=d.look.accent, stroke_width=THIN)
        if cut > 20:
            d.dimension((94, top - 10), (94 + cut, top - 10))
            d.asked(94 + cut + 8, top - 6, word, "start")
        else:
            d.between((94, top - 10), (94 + cut, top - 10), 12)
            d.asked(94 + cut + 18, top - 6, word, "start")


def _passage(d: Drawing, left: float, right: float) -> None:
    """Both front rolls with the mat between them."""
    d.crop(left, 50, right, 68)
    d.roll(62, 104, 36)
    d.circle(62, 14, 36)
    d.axis(62, 14)
    d.arrow((6, 59), (26, 59), d.look.ink, 1.6)


def _sensor_inside(d: Drawing, x: float, y: float, radius: float) -> None:
    """The sensor as a block inside the roll, towards the crop."""
    wide, slant = radius * 0.8, d.canvas.pattern("slant", d.look.ink, 0.6, d.look.paper)
    d.box(x - wide / 2, y - radius * 0.72, wide, radius * 0.32, fill=slant, stroke_width=1.3)


def _bar_and_cutterhead(d: Drawing, edge: float, floor: float) -> None:
    """The shear bar's edge, and the circle of the knives behind it."""
    d.solid([(edge, floor), (edge, floor + 20), (edge - 34, floor + 20)])
    d.line(around(edge + 43, floor + 4, 41, -180, 180), stroke_width=1.4, stroke_dasharray="5 4")
    for turn in (182, 232, 132):
        one, two = (around(edge + 43, floor + 4, r, turn, turn + 1)[0] for r in (30, 41))
        d.line([one, two], stroke_width=3)


def _drum(d: Drawing, x: float, y: float, radius: float, many: int) -> None:
    """A cutterhead from its end: a drum with knives on its rim."""
    d.circle(x, y, radius - 8, stroke_width=1.4)
    d.line(around(x, y, radius, -180, 180), stroke=d.look.soft, stroke_width=THIN,
           stroke_dasharray="4 4")  # fmt: skip
    for k in range(many):
        turn = 180 + 360 * k / many
        tip = around(x, y, radius, turn, turn + 1)[0]
        heel = around(x, y, radius - 8, turn + 9, turn + 10)[0]
        back = around(x, y, radius - 8, turn + 1, turn + 2)[0]
        d.area([tip, heel, back], fill=d.look.ink, stroke_width=1)
    d.axis(x, y)
