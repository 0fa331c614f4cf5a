"""Feed speed: the theoretical length of cut and what is refused."""

from __future__ import annotations

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.made_machines import PAWL, made
from tripmargin.ground.errors import NotKnownError
from tripmargin.stopping import feed_speed, metal_speed
from tripmargin.stopping.feed import tooth_pitch


@pytest.mark.parametrize(
    ("knives", "rpm", "speed", "cut"),
    [(12, 1000, 2.0, 10e-3), (6, 1000, 2.0, 20e-3), (12, 1200, 2.0, 8.3333333333e-3)],
)
def test_the_feed_speed_makes_the_theoretical_length_of_cut(
    knives: int, rpm: float, speed: float, cut: float
) -> None:
    # CHECKS 4.3: TLC = feed speed / (knives x cutterhead rev/s)
    machine = made(feed={"knives": knives, "cutterhead_speed": f"{rpm} rpm"})
    assert feed_speed(machine, cut) == pytest.approx(speed, rel=1e-9)


@pytest.mark.parametrize(
    ("knives", "rpm"), [(6, 890.625), (9, 593.75), (12, 445.3125), (36, 148.4375)]
)
def test_a_published_pair_of_speed_and_cut_needs_its_cutterhead_speed(
    knives: int, rpm: float
) -> None:
    # CHECKS 4.4 (Okokon 1998, inputs; the rpm follow): 0.57 m/s at 6.4 mm
    machine = made(feed={"knives": knives, "cutterhead_speed": f"{rpm} rpm"})
    assert feed_speed(machine, 6.4e-3) == pytest.approx(0.57, rel=1e-9)


@given(st.floats(1e-3, 0.1), st.floats(0.1, 10.0), st.floats(0.0, 50.0))
def test_the_speed_is_proportional_to_the_cut_and_the_metal_slips(
    cut: float, factor: float, slip: float
) -> None:
    machine = made(feed={"slip": f"{slip:.6f} %"})
    assert feed_speed(machine, factor * cut) == pytest.approx(factor * feed_speed(machine, cut))
    assert metal_speed(machine, cut) == pytest.approx(
        feed_speed(machine, cut) * (1 - slip / 100), rel=1e-6
    )


@pytest.mark.parametrize("cut", [0.0, -1e-3, float("nan"), float("inf")])
def test_a_cut_that_cannot_be_is_refused(cut: float) -> None:
    with pytest.raises(ValueError, match="cut length"):
        feed_speed(made(), cut)


def test_what_the_feed_speed_needs_is_named_all_at_once() -> None:
    with pytest.raises(NotKnownError) as caught:
        feed_speed(made(feed={"knives": None, "cutterhead_speed": None}), 0.01)
    assert caught.value.needs == ("feed.knives", "feed.cutterhead_speed")


def test_a_tooth_is_its_share_of_the_roll_s_way() -> None:
    pawl = PAWL | {"ratchet_teeth": 14, "ratchet_turns_per_roll_turn": 1.8}
    pitch = tooth_pitch(made(chain={"pawls": [pawl]}), "lower")
    assert pitch == pytest.approx(pi * 0.19 / (14 * 1.8), rel=1e-12)
