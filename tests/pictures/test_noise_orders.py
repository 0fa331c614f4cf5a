"""The picture of a quiet run: what it shows, at every width, by day and in the sun."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from tests.pictures.reading import SVG, colours, outside_page, overlaps, root_of, words_of
from tripmargin.ground.results import Spread
from tripmargin.pictures.look import DAY, SUN
from tripmargin.pictures.noise_orders import (
    DASH,
    MOST,
    noise_orders_picture,
    noise_orders_table,
)


def spread(value: float, half: float) -> Spread:
    return Spread(value, low=value - half, high=value + half)


def order(k: int) -> SimpleNamespace:
    sure = k in (1, 2, 7)
    size = spread({1: 0.2, 2: 0.08, 7: 0.03}.get(k, 0.001), 0.001)
    return SimpleNamespace(number=k, amplitude=size, phase=spread(0.3, 0.1), sure=sure)


def noise(**how: object) -> SimpleNamespace:
    turn = np.arange(720) / 720
    given = {
        "machine": "Knot", "duration": 60.0, "floor": spread(0.07, 0.001),
        "share": spread(0.8, 0.01), "turns": 300, "orders": tuple(order(k) for k in range(1, 61)),
        "angles": turn, "trace": 0.2 * np.cos(2 * np.pi * turn), "threshold": 0.6,
        "false_trips_per_hour": Spread(2.5, low=1.5, high=4.0),
        "cured_per_hour": Spread(1e-9, low=1e-10, high=1e-8),
    }  # fmt: skip
    return SimpleNamespace(**{**given, **how})


NOISES = {
    "all": noise(),
    "no threshold": noise(threshold=None, false_trips_per_hour=None, cured_per_hour=None),
    "no turns": noise(orders=(), share=None, turns=0, trace=np.zeros(720)),
    "nothing": noise(orders=(), share=None, turns=0, angles=np.empty(0), trace=np.empty(0),
                     threshold=None, false_trips_per_hour=None, cured_per_hour=None),
    "one order": noise(orders=(order(1),)),
    "high": noise(trace=5 * np.sin(2 * np.pi * np.arange(720) / 720)),
}  # fmt: skip


@pytest.mark.parametrize("width", [280, 320, 720, 1200])
@pytest.mark.parametrize("name", NOISES)
def test_nothing_overlaps_or_leaves_the_page(name: str, width: float) -> None:
    svg = noise_orders_picture(NOISES[name], width=width)
    assert overlaps(svg) == []
    assert outside_page(svg) == []


@pytest.mark.parametrize("sun", [False, True])
def test_it_keeps_to_the_look_and_holds_no_style_or_script(sun: bool) -> None:
    svg = noise_orders_picture(noise(), sun=sun)
    look = SUN if sun else DAY
    assert colours(svg) <= {look.paper, look.ink, look.soft}
    for forbidden in ("style=", "<style", "<script"):
        assert forbidden not in svg


def bars(svg: str, fill: str) -> list[dict[str, str]]:
    found = [dict(each.attrib) for each in root_of(svg).iter(f"{SVG}rect")]
    return [
        each for each in found if each.get("fill") == fill and each.get("stroke-width") == "1.2"
    ]


def test_bars_stand_as_high_as_their_orders_and_are_filled_where_sure() -> None:
    svg = noise_orders_picture(noise())
    filled, open_ = bars(svg, DAY.ink), bars(svg, DAY.paper)
    assert (len(filled), len(open_)) == (3, MOST - 3)
    heights = [float(each["height"]) for each in filled]
    assert heights[0] / heights[1] == pytest.approx(2.5, rel=0.02)


def test_the_threshold_is_a_dashed_line_on_either_side_and_in_the_key() -> None:
    lines = list(root_of(noise_orders_picture(noise())).iter(f"{SVG}line"))
    assert sum(each.get("stroke-dasharray") == DASH for each in lines) == 3


def test_it_says_the_answers_in_words() -> None:
    words = words_of(noise_orders_picture(noise()))
    for part in ("Floor: 70 mV (69 to 71) rms.", "80 %", "2.5 an hour", "roll cured", "Read it:"):
        assert part in words
    assert "From 60 s of recording, 300 turns of the roll." in words


def test_words_that_could_be_markup_are_harmless() -> None:
    svg = noise_orders_picture(noise(machine="<script>"))
    assert "<script>" not in svg


def test_the_table_has_every_order_and_every_rate() -> None:
    headers, rows = noise_orders_table(noise())
    assert len(rows) == 2 * 60 + 4
    assert all(len(row) == len(headers) for row in rows)
    assert rows[0] == [
        "order 1 amplitude",
        "V",
        0.2,
        pytest.approx(0.199),
        pytest.approx(0.201),
        "yes",
    ]
    assert rows[-2][2] == 2.5
    assert noise_orders_table(NOISES["nothing"])[1][-1][2:5] == [None, None, None]
