"""Reach: the smallest ball caught, against single passes and against what must hold."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.made_machines import BOTH_OPPOSED, lopsided, made, two_assemblies
from tripmargin.ground.errors import NotKnownError
from tripmargin.sensing import Piece, reach, simulate_pass


def test_the_smallest_ball_s_own_pass_just_reaches_the_threshold() -> None:
    machine = made(sensor=lopsided())
    seen = reach(machine, speed=1.2, places=[-0.1, 0.06, 0.2], heights=[0.02, 0.06])
    for h, height in enumerate(seen.heights):
        for p, x in enumerate(seen.places):
            ball = Piece.ball(float(seen.smallest_ball[h, p]))
            peak = simulate_pass(machine, ball, x=float(x), height=float(height), speed=1.2).peak
            assert peak == pytest.approx(1.5, rel=0.01)


@pytest.mark.parametrize("probability", [0.1, 0.9, 0.999])
def test_a_surer_ball_s_own_pass_has_that_probability(probability: float) -> None:
    machine = made(sensor=lopsided(), detector={"noise": "0.1 V"})
    seen = reach(machine, speed=1.2, places=[0.06], heights=[0.03], probability=probability)
    ball = Piece.ball(float(seen.smallest_ball[0, 0]))
    one = simulate_pass(machine, ball, x=0.06, height=0.03, speed=1.2)
    assert one.probability == pytest.approx(probability, abs=0.02)


def test_surer_is_larger_and_without_noise_lies_between() -> None:
    machine = made(sensor=lopsided(), detector={"noise": "0.1 V"})
    sizes = [
        reach(machine, speed=1.2, places=[0.06], heights=[0.03], probability=p).smallest_ball[0, 0]
        for p in (0.01, 0.5, 0.99, 0.9999)
    ]
    assert sizes == sorted(sizes)
    bare = reach(machine, speed=1.2, places=[0.06], heights=[0.03]).smallest_ball[0, 0]
    assert sizes[0] < bare < sizes[-1]


@settings(max_examples=10)
@given(st.floats(0.3, 2.0), st.floats(1.1, 3.0), st.floats(1.1, 8.0))
def test_the_smallest_ball_goes_with_the_cube_root_of_the_threshold(
    threshold: float, speed: float, factor: float
) -> None:
    low, high = (
        reach(
            made(detector={"threshold": f"{t:.12g} V"}), speed=speed, places=[0.15], heights=[0.03]
        )
        for t in (threshold, factor * threshold)
    )
    ratio = high.smallest_ball[0, 0] / low.smallest_ball[0, 0]
    assert ratio == pytest.approx(factor ** (1 / 3), rel=1e-6)


def test_the_whole_map_is_the_roll_s_and_the_crop_s() -> None:
    seen = reach(made(), speed=1.5)
    assert seen.smallest_ball.shape == (21, 41)
    assert (seen.places[0], seen.places[-1]) == pytest.approx((-0.3, 0.3))
    assert (seen.heights[0], seen.heights[-1]) == pytest.approx((0.01, 0.08))
    assert seen.bottom_to_top > 1
    json.dumps(seen.to_dict(), allow_nan=False)


def test_the_blind_line_is_infinite_and_named() -> None:
    seen = reach(made(), speed=1.5)
    assert np.isinf(seen.smallest_ball[:, 20]).all()
    assert any(s.x_low <= 0 <= s.x_high and s.kind == "no signal at all" for s in seen.blind)
    opposed = reach(made(sensor=two_assemblies(BOTH_OPPOSED)), speed=1.5)
    assert np.isfinite(opposed.smallest_ball[0]).all()


def test_a_sensor_upside_down_sees_far_less() -> None:
    right, wrong = (
        reach(made(rotation=r), speed=1.5, places=[0.15], heights=[0.03]).smallest_ball[0, 0]
        for r in ("0 deg", "180 deg")
    )
    assert wrong > 2 * right


def test_noise_near_the_threshold_is_marked() -> None:
    odd = made(detector={"noise": "0.1 V", "threshold": "0.05 V"})
    assert any("trips by itself" in note for note in reach(odd, speed=1.5).notes)
    assert reach(made(detector={"noise": "0 V"}), speed=1.5).false_trips_per_hour == 0.0
    no_low_pass = reach(made(detector={"high_cut": None}), speed=1.5)
    assert no_low_pass.false_trips_per_hour is None
    assert any("no finite rate" in note for note in no_low_pass.notes)


@pytest.mark.parametrize("speed", [0.0, -1.0, float("nan"), float("inf")])
def test_a_speed_that_cannot_be_is_refused(speed: float) -> None:
    with pytest.raises(ValueError, match="speed"):
        reach(made(), speed=speed)


@pytest.mark.parametrize("probability", [0.0, 1.0, -0.1, 2.0, float("nan")])
def test_a_probability_that_cannot_be_is_refused(probability: float) -> None:
    with pytest.raises(ValueError, match="probability"):
        reach(made(), speed=1.0, probability=probability)


@pytest.mark.parametrize("bad", [[], [float("nan")], [[0.1], [0.2]]])
def test_places_that_cannot_be_are_refused(bad: list[object]) -> None:
    with pytest.raises(ValueError, match="places"):
        reach(made(), speed=1.0, places=bad)  # type: ignore[arg-type]


def test_what_reach_needs_is_named() -> None:
    with pytest.raises(NotKnownError, match=r"feed\.roll_width"):
        reach(made(feed={"roll_width": None}), speed=1.0)
    with pytest.raises(NotKnownError, match="sensor"):
        reach(made(without=("sensor",)), speed=1.0)
