"""A pass: where it crosses, what it refuses, what it notes."""

from __future__ import annotations

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.made_machines import lopsided, made
from tripmargin.ground.errors import NotKnownError
from tripmargin.sensing import Piece, simulate_pass
from tripmargin.sensing.passing import first_crossing, peaks

BALL = Piece.ball(0.02)


def one_pass(machine=None, piece=BALL, *, x=0.15, height=0.03, speed=1.5):
    return simulate_pass(machine or made(), piece, x=x, height=height, speed=speed)


def test_the_crossing_is_the_first_place_at_the_threshold() -> None:
    one = one_pass()
    before = np.abs(one.output[one.y < one.crossing_y])
    assert before.max() < 1.5
    assert np.interp(one.crossing_y, one.y, np.abs(one.output)) == pytest.approx(1.5, rel=1e-6)
    assert one.caught
    assert one.peak >= np.abs(one.output).max()
    assert one.peak == pytest.approx(np.abs(one.output).max(), rel=1e-4)


def test_time_and_place_run_together_from_above_the_axis() -> None:
    one = one_pass(speed=2.5)
    np.testing.assert_allclose(one.y, 2.5 * one.t, atol=1e-12)
    np.testing.assert_allclose(one.emf[1:-1], -np.gradient(one.linkage, one.t)[1:-1], atol=2e-5)


@settings(max_examples=10)
@given(st.floats(0.3, 4.0), st.floats(1.05, 2.0))
def test_a_faster_piece_gives_more_signal_below_the_low_pass(speed: float, more: float) -> None:
    machine = made(detector={"high_cut": "5000 Hz"})
    assert one_pass(machine, speed=more * speed).peak > one_pass(machine, speed=speed).peak


@settings(max_examples=10)
@given(st.floats(0.01, 0.07), st.floats(0.002, 0.03))
def test_a_higher_piece_gives_less_signal(height: float, more: float) -> None:
    assert one_pass(height=height + more).peak < one_pass(height=height).peak


def test_the_filters_delay_is_in_the_crossing() -> None:
    # the slower the low-pass the later the same signal is seen
    fast, slow = (
        one_pass(made(detector={"high_cut": f, "gain": g, "low_cut": None}))
        for f, g in (("2000 Hz", 900), ("60 Hz", 900))
    )
    assert slow.crossing_y > fast.crossing_y
    at_peak = [one.y[np.abs(one.output).argmax()] for one in (fast, slow)]
    # a second-order Butterworth low-pass delays slow signals by sqrt(2) / (2 pi f) (texts)
    delay = 1.5 * np.sqrt(2) / (2 * np.pi) * (1 / 60 - 1 / 2000)
    assert at_peak[1] - at_peak[0] == pytest.approx(delay, rel=0.15)


def test_a_piece_below_the_threshold_is_missed_and_said_so() -> None:
    one = one_pass(piece=Piece.ball(0.004))
    assert one.crossing_y is None
    assert not one.caught
    assert one.probability < 1e-6


def test_the_probability_is_half_or_more_where_the_peak_is_at_the_threshold() -> None:
    peak = one_pass().peak
    at = made(detector={"threshold": f"{peak:.9g} V", "noise": f"{0.05 * peak:.9g} V"})
    assert 0.5 < one_pass(at).probability < 1.0


@pytest.mark.parametrize(
    ("place", "name"),
    [
        ({"x": float("nan")}, "x"),
        ({"height": -0.001}, "height"),
        ({"height": float("inf")}, "height"),
        ({"speed": 0.0}, "speed"),
        ({"speed": -1.0}, "speed"),
        ({"speed": float("nan")}, "speed"),
    ],
)
def test_a_pass_that_cannot_be_is_refused_by_name(place: dict[str, float], name: str) -> None:
    with pytest.raises(ValueError, match=f"^{name} = "):
        one_pass(**place)


@pytest.mark.parametrize("missing", ["gain", "threshold"])
def test_what_a_pass_needs_is_named(missing: str) -> None:
    with pytest.raises(NotKnownError, match=f"detector.{missing}"):
        one_pass(made(detector={missing: None}))


def test_a_pass_far_beside_the_sensor_is_silent_and_finite() -> None:
    one = one_pass(x=5.0)
    assert np.isfinite(one.output).all()
    assert one.crossing_y is None


def test_a_ball_too_thick_or_too_low_is_noted() -> None:
    assert any("cannot pass" in n for n in one_pass(piece=Piece.ball(0.09), height=0.05).notes)
    assert any("touch the roll" in n for n in one_pass(piece=Piece.ball(0.04), height=0.01).notes)
    assert one_pass().notes == ()


def test_a_piece_that_is_hardly_magnetic_answers_by_its_currents() -> None:
    # shared/ref/sensing/README: aluminium, a 15 mm ball at 3 m/s: 0.7 to 1 % of steel's signal;
    # austenitic stainless 0.2 to 0.7 %
    machine = made(sensor=lopsided(), detector={"low_cut": None, "high_cut": None})
    steel, aluminium, stainless = (
        np.abs(one_pass(machine, Piece.ball(0.015, m), x=0.1, height=0.03, speed=3.0).emf).max()
        for m in ("steel", "aluminium", "stainless")
    )
    assert 0.005 < aluminium / steel < 0.013
    assert 0.001 < stainless / steel < 0.009


def test_the_json_form_is_plain() -> None:
    made_ = json.loads(json.dumps(one_pass().to_dict(), allow_nan=False))
    assert len(made_["t_s"]) == len(made_["output_V"])
    assert made_["peak_V"] == pytest.approx(one_pass().peak)


def test_a_peak_between_samples_is_found_by_its_parabola() -> None:
    x = np.linspace(-1, 1, 21)
    for shift in (0.0, 0.02, 0.049):
        trace = -(1 - (x - shift) ** 2)
        assert peaks(trace[None])[0] == pytest.approx(1.0, abs=1e-9)


def test_a_corner_is_not_overshot() -> None:
    saw = np.array([0.0, 1.0, 0.2, 0.0, 0.0])
    assert 1.0 <= peaks(saw[None])[0] <= 1.4


def test_a_crossing_between_samples_lies_on_the_straight_line() -> None:
    y = np.array([0.0, 1.0, 2.0, 3.0])
    assert first_crossing(y, np.array([0.0, -1.0, -3.0, 0.0]), 2.0) == pytest.approx(1.5)
    assert first_crossing(y, np.array([5.0, 0.0, 0.0, 0.0]), 2.0) == 0.0
    assert first_crossing(y, np.zeros(4), 2.0) is None
