"""The threshold's curve: what it shows, at every width, by day and in the sun."""

from __future__ import annotations

from dataclasses import replace
from math import exp, inf

import pytest

from tests.pictures.reading import SVG, colours, outside_page, overlaps, root_of, words_of
from tripmargin.pictures.look import DAY, SUN
from tripmargin.pictures.threshold_curve import threshold_curve_picture, threshold_curve_table
from tripmargin.protection.setting import ThresholdCurve, ThresholdPoint


def point(threshold: float, noise: float = 0.08) -> ThresholdPoint:
    rate = 7.2e5 * exp(-((threshold / noise) ** 2) / 2)
    ball = 0.018 * threshold ** (1 / 3)
    return ThresholdPoint(threshold, rate, rate, ball, min(1.0, 1.01 - 0.015 * threshold))


def curve(**how: object) -> ThresholdCurve:
    given = {
        "machine_name": "Knot", "piece": "20 mm ball", "confidence": 0.99, "cuts": (0.006,),
        "points": tuple(point(0.34 * 1.3**k) for k in range(13)), "today": point(1.5),
        "acceptable": (0.48, 1.37), "recommended": point(0.81), "leave": False, "allowed": 0.01,
        "effects": (), "because": ("Below 0.48 V noise alone trips it too often.",),
        "because_us": ("Below 0.48 V noise alone trips it too often.",),
        "remarks": ("Only the noise that the file gives is counted.",), "assumed": ("feed.slip",),
    }  # fmt: skip
    return ThresholdCurve(**{**given, **how})  # type: ignore[arg-type]


CURVES = {
    "all": curve(),
    "no range": curve(acceptable=None, recommended=None),
    "both near each other": curve(today=point(0.8)),
    "both alike": curve(today=point(0.81)),
    "today beyond the curve": curve(today=point(6.0)),
    "today sees nothing": curve(today=replace(point(1.5), smallest_ball=inf)),
    "on the steep part": curve(today=point(0.36), recommended=point(0.42)),
}


@pytest.mark.parametrize("width", [280, 360, 720, 1200])
@pytest.mark.parametrize("name", CURVES)
def test_nothing_overlaps_or_leaves_the_page(name: str, width: float) -> None:
    svg = threshold_curve_picture(CURVES[name], width=width)
    assert overlaps(svg) == []
    assert outside_page(svg) == []


@pytest.mark.parametrize("sun", [False, True])
def test_it_keeps_to_the_look_and_holds_no_style_or_script(sun: bool) -> None:
    svg = threshold_curve_picture(curve(), sun=sun)
    look = SUN if sun else DAY
    assert colours(svg) <= {look.paper, look.ink, look.soft, look.accent}
    assert "style=" not in svg
    assert "<script" not in svg


def test_today_is_a_ring_and_the_recommended_a_diamond_lower_on_the_threshold() -> None:
    root = root_of(threshold_curve_picture(curve()))
    (ring,) = list(root.iter(f"{SVG}circle"))
    (diamond,) = [
        p
        for p in root.iter(f"{SVG}path")
        if p.get("stroke-width") == "2.5" and p.get("fill") != "none"
    ]
    left = float(diamond.attrib["d"][1:].split()[0])
    assert left < float(ring.attrib["cx"])  # a lower threshold sees a smaller ball
    said = words_of(threshold_curve_picture(curve()))
    assert "today 1.5 V" in said
    assert "recommended 0.81 V" in said


def test_the_part_where_both_are_as_asked_is_thick() -> None:
    def thick(made: ThresholdCurve) -> list[str]:
        root = root_of(threshold_curve_picture(made))
        return [p.attrib["d"] for p in root.iter(f"{SVG}path") if p.get("stroke-width") == "6"]

    (one,) = thick(curve())
    assert one.count("L") > 20
    assert thick(CURVES["no range"]) == []


def test_the_table_behind_it_has_every_point_and_both_places() -> None:
    headers, rows = threshold_curve_table(curve())
    assert len(rows) == 15
    assert all(len(row) == len(headers) for row in rows)
    assert [row[0] for row in rows[-2:]] == ["today", "recommended"]
    blind = threshold_curve_table(CURVES["today sees nothing"])[1]
    assert blind[-2][headers.index("smallest_ball_m")] is None


def test_what_is_not_known_is_not_drawn() -> None:
    unknown = curve(points=tuple(replace(p, false_trips_high=None) for p in curve().points))
    with pytest.raises(ValueError, match="not known"):
        threshold_curve_picture(unknown)


def test_title_and_description_say_it_in_words() -> None:
    root = root_of(threshold_curve_picture(curve()))
    assert root.findtext(f"{SVG}title") == "Threshold of Knot"
    assert "too often" in (root.findtext(f"{SVG}desc") or "")
