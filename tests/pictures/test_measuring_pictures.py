"""The piece's place over the roll, and what was learned as bars: to scale, and in words."""

from __future__ import annotations

import re

import pytest

from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import load_machine
from tripmargin.pictures.learned_bars import LearnedRow, learned_picture
from tripmargin.pictures.look import DAY
from tripmargin.pictures.pass_place import pass_place_picture


def circle(svg: str) -> tuple[float, float]:
    """Where the piece is drawn, px."""
    (found,) = re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', svg)
    return float(found[0]), float(found[1])


def roll(svg: str) -> tuple[float, float, float]:
    """Left, top and width of the roll: the widest rectangle with an outline, px."""
    found = re.findall(
        r'<rect x="([\d.]+)" y="([\d.]+)" width="([\d.]+)"[^>]*stroke-width="1.8"', svg
    )
    x, y, wide = max(found, key=lambda one: float(one[2]))
    return float(x), float(y), float(wide)


@pytest.mark.parametrize("name", ["dunlin", "curlew", "whimbrel", "sanderling"])
@pytest.mark.parametrize("width", [280, 360, 640])
@pytest.mark.parametrize(("x", "height"), [(-0.163, 0.07), (0.2, 0.0), (0.0, 0.03)])
def test_the_piece_lies_to_scale(name: str, width: float, x: float, height: float) -> None:
    machine = load_machine(name)
    (long,) = machine.need("a test", "feed.roll_width")
    svg = pass_place_picture(machine, "16 mm ball", 0.016, x=x, height=height, width=width)
    left, top, wide = roll(svg)
    scale = wide / long.nominal
    cx, cy = circle(svg)
    assert cx == pytest.approx(left + wide / 2 + x * scale, abs=0.3)
    assert cy == pytest.approx(top - height * scale, abs=0.3)
    assert 0 <= cx <= width
    assert "style=" not in svg


def test_it_says_what_it_shows() -> None:
    svg = pass_place_picture(load_machine("curlew"), "<b>", 0.016, x=-0.163, height=0.07, us=True)
    assert "6.417 in left of the roll" in svg
    assert "2.756 in" in svg
    assert "<b>" not in svg.partition("<title")[2]


def test_without_a_roll_there_is_no_picture() -> None:
    machine = load_machine("curlew")
    from dataclasses import replace

    assert machine.feed is not None
    bare = replace(machine, feed=replace(machine.feed, roll_width=None))
    with pytest.raises(NotKnownError, match=r"feed\.roll_width"):
        pass_place_picture(bare, "16 mm ball", 0.016, x=0.0, height=0.0)


def row(before: tuple[float, float, float] | None) -> LearnedRow:
    return LearnedRow("Ball", before, (9.0, 10.0, 11.0), lambda value: f"{value:g} mm")


def test_bars_lie_on_one_scale() -> None:
    svg = learned_picture([row((8.0, 10.0, 13.0))], width=400)
    bars = [
        (float(x), float(wide))
        for x, wide in re.findall(
            r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)" height="15"', svg
        )
    ]
    (x1, w1), (x2, w2) = bars
    assert w2 / w1 == pytest.approx(2 / 5, rel=0.02)
    assert (x2 - x1) / w1 == pytest.approx(1 / 5, rel=0.02)
    assert "before: 10 mm, with 95 % 8 mm to 13 mm" in svg
    assert DAY.accent in svg


def test_what_was_not_known_is_said_and_wrong_limits_are_refused() -> None:
    assert "before: not known" in learned_picture([row(None)])
    with pytest.raises(ValueError, match="not in their order"):
        learned_picture([row((3.0, 2.0, 1.0))])
    exact = LearnedRow("Ball", (10.0, 10.0, 10.0), (10.0, 10.0, 10.0), str)
    assert learned_picture([exact]).startswith("<svg")
