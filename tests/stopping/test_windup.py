"""Coming to rest: what must hold for any drive."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tripmargin.stopping.windup import WindupParts, windup_angle_and_time

DRIVE = WindupParts(inertia=0.5, stiffness=30e3, slip_torque=3000.0, drag_torque=120.0)
RADIUS = 0.095


@given(less=st.floats(0, 10), more=st.floats(0, 10))
def test_a_faster_roll_winds_up_further(less: float, more: float) -> None:
    less, more = sorted((less, more))
    angles, _ = windup_angle_and_time(DRIVE, np.array([less, more]), RADIUS)
    assert angles[0] <= angles[1] * (1 + 1e-12)


@given(less=st.floats(100, 9000), more=st.floats(100, 9000))
def test_a_clutch_that_slips_sooner_lets_the_roll_turn_further(less: float, more: float) -> None:
    less, more = sorted((less, more))
    parts = replace(DRIVE, slip_torque=np.array([less, more]))
    angles, times = windup_angle_and_time(parts, 3.0, RADIUS)
    assert angles[1] <= angles[0] * (1 + 1e-12)
    assert times[1] <= times[0] * (1 + 1e-12)


@settings(max_examples=40, deadline=None)
@given(
    speed=st.floats(0.1, 8),
    slip_torque=st.floats(200, 8000),
    drag_torque=st.floats(0, 500),
    stiffness=st.floats(2e3, 1e5),
)
def test_any_drive_comes_to_rest_as_an_integrator_says(
    speed: float, slip_torque: float, drag_torque: float, stiffness: float
) -> None:
    # scipy.integrate.solve_ivp on the equation itself; short steps over the kink where it slips.
    parts = replace(DRIVE, slip_torque=slip_torque, drag_torque=drag_torque, stiffness=stiffness)

    def slopes(_: float, y: np.ndarray) -> list[float]:
        return [y[1], -(min(stiffness * y[0], slip_torque) + drag_torque) / 0.5]

    def still(_: float, y: np.ndarray) -> float:
        return float(y[1])

    still.terminal, still.direction = True, -1  # type: ignore[attr-defined]
    run = solve_ivp(
        slopes, (0, 5), [0, speed / RADIUS], events=still, rtol=1e-9, atol=1e-11, max_step=1e-3
    )
    angle, time = windup_angle_and_time(parts, speed, RADIUS)
    assert angle == pytest.approx(run.y_events[0][0][0], rel=1e-6)
    assert time == pytest.approx(run.t_events[0][0], rel=1e-6)


def test_without_drag_the_wind_up_is_a_quarter_of_a_swing() -> None:
    # Oscillator texts: a quarter period, and all the rolls' energy in the spring.
    parts = replace(DRIVE, drag_torque=0.0, slip_torque=np.inf)
    angle, time = windup_angle_and_time(parts, 2.0, RADIUS)
    assert time == pytest.approx(0.5 * np.pi * np.sqrt(0.5 / 30e3), rel=1e-12)
    assert angle == pytest.approx(2.0 / RADIUS * np.sqrt(0.5 / 30e3), rel=1e-12)


@given(speed=st.floats(0.01, 10))
def test_the_rolls_energy_goes_into_spring_clutch_and_crop(speed: float) -> None:
    angle, _ = windup_angle_and_time(DRIVE, speed, RADIUS)
    twist = min(angle, 3000.0 / 30e3)
    work = 0.5 * 30e3 * twist**2 + 3000.0 * (angle - twist) + 120.0 * angle
    assert work == pytest.approx(0.5 * 0.5 * (speed / RADIUS) ** 2, rel=1e-9)


def test_a_roll_at_rest_stays() -> None:
    assert windup_angle_and_time(DRIVE, 0.0, RADIUS) == (0.0, 0.0)
    assert windup_angle_and_time(replace(DRIVE, drag_torque=0.0), 0.0, RADIUS) == (0.0, 0.0)


def test_scalars_give_floats_and_arrays_their_common_shape() -> None:
    assert all(type(v) is float for v in windup_angle_and_time(DRIVE, 2.0, RADIUS))
    angle, time = windup_angle_and_time(DRIVE, np.array([[1.0], [2.0]]), np.array([0.08, 0.095]))
    assert angle.shape == time.shape == (2, 2)
    assert angle[1, 1] == windup_angle_and_time(DRIVE, 2.0, RADIUS)[0]


def test_an_impossible_drive_is_refused_by_name() -> None:
    for name in ("inertia", "stiffness", "slip_torque", "drag_torque"):
        for value in (-1.0, float("nan")):
            with pytest.raises(ValueError, match=name):
                replace(DRIVE, **{name: value})
    with pytest.raises(ValueError, match="roll_speed"):
        windup_angle_and_time(DRIVE, -1.0, RADIUS)
    with pytest.raises(ValueError, match="roll_radius"):
        windup_angle_and_time(DRIVE, 1.0, 0.0)
