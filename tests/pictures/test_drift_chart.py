"""The drift chart: what it shows, at every width, by day and in the sun."""

from __future__ import annotations

import re
from math import inf

import pytest

from tests.pictures.reading import SVG, colours, outside_page, overlaps, root_of, words_of
from tripmargin.pictures.axes import Scale
from tripmargin.pictures.date_ticks import DAY, date_ticks
from tripmargin.pictures.drift_chart import (
    DASH,
    MOST,
    DriftChart,
    Mark,
    drift_chart_picture,
    marks_from,
)
from tripmargin.pictures.look import DAY as BY_DAY
from tripmargin.pictures.look import SUN

START = 1767225600.0  # 2026-01-01, UTC
VALUES = [0.050 + 0.0002 * k for k in range(30)]
SIGNALS = (27, 28, 29)


def chart(**how: object) -> DriftChart:
    marks = marks_from([START + 7 * DAY * k for k in range(30)], VALUES, [0.001] * 30, SIGNALS, 10)
    given = {
        "what": "stop time", "unit": "ms", "size": 1e-3, "marks": marks, "bars": "95 % interval",
        "averages": tuple(VALUES), "lower": (0.047,) * 30, "upper": (0.0553,) * 30,
        "limits": (None, 0.06), "answers": ("54.6 ms (95 % interval: 54 ms to 55 ms).",),
        "source": "From 30 measurements, since 2026-01-01.",
    }  # fmt: skip
    return DriftChart(**{**given, **how})  # type: ignore[arg-type]


def bare(*marks: Mark) -> DriftChart:
    return DriftChart("trips", "per running hour", 1 / 3600, marks, "95 % interval")


CHARTS = {
    "all": chart(),
    "no average": chart(averages=(), lower=(), upper=()),
    "both limits": chart(limits=(0.04, 0.06)),
    "one value": bare(Mark(START, 2e-6, 1e-6, 5e-6)),
    "none seen, no bound": bare(Mark(START, 0.0, 0.0, inf), Mark(START + DAY, 0.0, 0.0, 1e-5)),
    "alike": bare(*(Mark(START + k * DAY, 1.0, 1.0, 1.0) for k in range(3))),
}


@pytest.mark.parametrize("width", [280, 320, 720, 1200])
@pytest.mark.parametrize("name", CHARTS)
def test_nothing_overlaps_or_leaves_the_page(name: str, width: float) -> None:
    svg = drift_chart_picture("Knot", CHARTS[name], width=width)
    assert overlaps(svg) == []
    assert outside_page(svg) == []


@pytest.mark.parametrize("sun", [False, True])
def test_it_keeps_to_the_look_and_holds_no_style_or_script(sun: bool) -> None:
    svg = drift_chart_picture("Knot", chart(), sun=sun)
    look = SUN if sun else BY_DAY
    assert colours(svg) <= {look.paper, look.ink, look.soft}
    assert "style=" not in svg
    assert "<style" not in svg
    assert "<script" not in svg


def paths(svg: str, **wanted: str) -> list[str]:
    found = root_of(svg).iter(f"{SVG}path")
    return [
        p.attrib["d"]
        for p in found
        if all(p.get(key.replace("_", "-")) == value for key, value in wanted.items())
    ]


def test_signals_are_diamonds_and_the_first_values_are_open() -> None:
    svg = drift_chart_picture("Knot", chart())
    (diamonds,) = paths(svg, stroke_width="2")
    assert diamonds.count("Z") == len(SIGNALS)
    open_, filled = (
        paths(svg, fill=fill, stroke=BY_DAY.ink, stroke_width="1.2")[0].count("Z")
        for fill in (BY_DAY.paper, BY_DAY.ink)
    )
    assert (open_, filled) == (10, 20)


def test_each_value_has_a_bar_of_its_length() -> None:
    svg = drift_chart_picture("Knot", chart())
    (bars,) = paths(svg, stroke=BY_DAY.soft)
    upright = bars.split("M")[1::3]
    assert len(upright) == 30
    lengths = []
    for one in upright:
        low, high = (float(point.split()[1]) for point in one.split("L"))
        lengths.append(low - high)
    assert max(lengths) - min(lengths) < 0.21  # px: two roundings to a tenth
    assert min(lengths) > 5


def test_limits_are_hatched_and_usual_limits_dashed() -> None:
    svg = drift_chart_picture("Knot", chart())
    assert len(paths(svg, stroke_dasharray=DASH)) == 2
    hatched = [r for r in root_of(svg).iter(f"{SVG}rect") if "url(#" in r.get("fill", "")]
    assert len(hatched) == 2  # beyond the upper limit, and in the key
    assert "beyond the machine file's limit" in words_of(svg)


def test_title_and_description_say_it_in_words() -> None:
    root = root_of(drift_chart_picture("Knot", chart()))
    title, description = (root.findtext(f"{SVG}{tag}") for tag in ("title", "desc"))
    assert title == "Knot: stop time"
    assert description is not None
    assert "30 values from 2026-01-01 to 2026-07-23; the last is 55.8 ms." in description
    assert root.attrib["role"] == "img"


def test_many_values_keep_the_newest() -> None:
    many = bare(*(Mark(START + k * DAY, float(k), k - 1.0, k + 1.0) for k in range(MOST + 50)))
    svg = drift_chart_picture("Knot", many)
    assert f"{MOST} values" in svg
    assert len(svg) < 80_000


def test_words_that_could_be_markup_are_harmless() -> None:
    svg = drift_chart_picture("<b>&", chart(what="<i>", answers=("<script>",)))
    assert "<script>" not in svg
    assert "<script>" in words_of(svg)


def test_what_cannot_be_drawn_is_refused() -> None:
    with pytest.raises(ValueError, match="one value at least"):
        drift_chart_picture("Knot", bare())
    with pytest.raises(ValueError, match="2 averages or limits for 30 values"):
        drift_chart_picture("Knot", chart(averages=(0.0, 0.0)))


@pytest.mark.parametrize("days", [0.2, 3, 20, 90, 400, 2000, 20000])
@pytest.mark.parametrize("width", [260, 660])
def test_dates_stand_apart_in_order_and_never_fail(days: float, width: float) -> None:
    ticks = date_ticks(Scale(START, START + days * DAY, 40.0, 40.0 + width), 11.0)
    assert 1 <= len(ticks) <= 20
    assert [x for x, _ in ticks] == sorted(x for x, _ in ticks)
    assert all(40.0 <= x <= 40.0 + width for x, _ in ticks)


@pytest.mark.parametrize("hour", [0.0, 0.1, 9.0, 12.0, 23.9])
@pytest.mark.parametrize("width", [280, 640])
def test_values_of_a_single_day_stand_over_that_day(hour: float, width: float) -> None:
    svg = drift_chart_picture(
        "Knot", bare(Mark(START + hour * DAY / 24, 2e-6, 1e-6, 5e-6)), width=width
    )
    dates = [each.text for each in root_of(svg).iter(f"{SVG}text")
             if each.text and re.fullmatch(r"(\d{4}-)?\d\d-\d\d", each.text)]  # fmt: skip
    assert dates == ["01-01"]


def test_each_value_lies_within_half_a_day_of_its_days_label() -> None:
    across = Scale(START - DAY / 2, START + 5.5 * DAY, 40.0, 700.0)
    found = {text: x for x, text in date_ticks(across, 12.0)}
    for day in range(5):
        for hour in (0.5, 12.0, 23.5):
            at = across.at(START + day * DAY + hour * DAY / 24)
            assert abs(found[f"01-{day + 1:02}"] - at) <= (across.at(DAY) - across.at(0.0)) / 2


@pytest.mark.parametrize("width", [280, 360, 640])
def test_no_letter_is_smaller_than_12_px(width: float) -> None:
    sizes = [float(each.attrib["font-size"])
             for each in root_of(drift_chart_picture("Knot", chart(), width=width)).iter()
             if "font-size" in each.attrib]  # fmt: skip
    assert len(sizes) > 10
    assert min(sizes) >= 12
