"""The pawl's swing: what must hold for any pawl."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tripmargin.stopping.pawl_swing import PawlParts, pawl_swing_time

PAWL = PawlParts(
    inertia=5e-4,
    spring_torque=1.7,
    spring_rate=2.5,
    friction_torque=0.15,
    damping=1e-3,
    engagement_depth=2.5e-3,
    tip_radius=0.07,
)


@given(less=st.floats(0, 0.02), more=st.floats(0, 0.02))
def test_a_larger_clearance_takes_longer(less: float, more: float) -> None:
    less, more = sorted((less, more))
    times = pawl_swing_time(PAWL, np.array([less, more]))
    assert times[0] <= times[1] * (1 + 1e-12)


@given(less=st.floats(0.2, 5), more=st.floats(0.2, 5))
def test_a_stronger_spring_is_faster(less: float, more: float) -> None:
    less, more = sorted((less, more))
    times = pawl_swing_time(replace(PAWL, spring_torque=np.array([less, more])), 3.5e-3)
    assert times[1] <= times[0] * (1 + 1e-12)


def by_integration(parts: PawlParts, clearance: float) -> float:
    """Swing time by scipy's DOP853 on the equation of motion; inf when it turns back."""
    p = parts
    angle = (clearance + p.engagement_depth) / p.tip_radius

    def slopes(_: float, y: np.ndarray) -> list[float]:
        torque = p.spring_torque - p.spring_rate * y[0] - p.friction_torque - p.damping * y[1]
        return [y[1], torque / p.inertia]

    def there(_: float, y: np.ndarray) -> float:
        return float(y[0] - angle)

    there.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(slopes, (0, 5), [0, 0], "DOP853", events=there, rtol=1e-12, atol=1e-14)
    return float(run.t_events[0][0]) if run.t_events[0].size else np.inf


@settings(max_examples=40, deadline=None)
@given(
    spring_rate=st.one_of(st.just(0.0), st.floats(1e-9, 8)),
    damping=st.one_of(st.just(0.0), st.floats(1e-9, 0.3)),
    clearance=st.floats(0, 8e-3),
)
def test_any_pawl_swings_as_an_integrator_says(
    spring_rate: float, damping: float, clearance: float
) -> None:
    # scipy.integrate.solve_ivp on the equation itself: swinging, creeping and in between.
    parts = replace(PAWL, spring_rate=spring_rate, damping=damping)
    expected = by_integration(parts, clearance)
    assert pawl_swing_time(parts, clearance) == pytest.approx(expected, rel=1e-8, abs=1e-9)


def test_a_pawl_on_the_border_between_swinging_and_creeping_has_no_jump() -> None:
    # Critical damping is b = 2 sqrt(k J); the oscillator's formula is 0 / 0 there.
    critical = 2 * np.sqrt(2.5 * 5e-4)
    damping = critical * (1 + np.array([-1e-6, -1e-10, 0.0, 1e-10, 1e-6]))
    times = pawl_swing_time(replace(PAWL, damping=damping), 3.5e-3)
    assert times == pytest.approx(times[2], rel=1e-5)
    assert times[1:4] == pytest.approx(times[2], rel=2e-9)
    assert times[2] == pytest.approx(
        by_integration(replace(PAWL, damping=critical), 3.5e-3), rel=1e-9
    )


def test_with_neither_rate_nor_drag_it_is_a_steady_push() -> None:
    # Kinematics: t = sqrt(2 J angle / torque).
    parts = replace(PAWL, spring_rate=0.0, damping=0.0)
    assert pawl_swing_time(parts, 3.5e-3) == pytest.approx(
        np.sqrt(2 * 5e-4 * 6e-3 / 0.07 / 1.55), rel=1e-9
    )


def test_a_pawl_that_cannot_get_in_takes_for_ever() -> None:
    # Friction eats the spring; the spring runs out, swinging; the spring runs out, creeping.
    assert pawl_swing_time(replace(PAWL, spring_torque=0.15), 3.5e-3) == np.inf
    assert pawl_swing_time(replace(PAWL, spring_rate=40.0, damping=0.0), 3.5e-3) == np.inf
    assert pawl_swing_time(replace(PAWL, spring_rate=19.0, damping=1.0), 3.5e-3) == np.inf


def test_momentum_carries_a_pawl_past_where_its_spring_rests() -> None:
    # Undamped it swings out to twice its resting angle; 0.0857 rad lies between 0.0517 and 0.103.
    parts = replace(PAWL, spring_rate=30.0, damping=0.0)
    expected = np.arccos(1 - 30.0 * 6e-3 / 0.07 / 1.55) / np.sqrt(30.0 / 5e-4)
    assert pawl_swing_time(parts, 3.5e-3) == pytest.approx(expected, rel=1e-10)


def test_a_clearance_below_zero_counts_as_zero() -> None:
    assert pawl_swing_time(PAWL, -1e-3) == pawl_swing_time(PAWL, 0.0) > 0
    assert pawl_swing_time(replace(PAWL, engagement_depth=0.0), -1e-3) == 0


def test_one_pawl_gives_a_python_float_and_many_give_an_array() -> None:
    assert type(pawl_swing_time(PAWL, 3.5e-3)) is float
    heavy = replace(PAWL, inertia=np.array([[4e-4], [5e-4]]))
    times = pawl_swing_time(heavy, np.array([2.5e-3, 3.5e-3, 7e-3]))
    assert times.shape == (2, 3)
    assert times[1, 1] == pytest.approx(pawl_swing_time(PAWL, 3.5e-3), rel=1e-12)


def test_an_impossible_pawl_is_refused_by_name() -> None:
    for name in ("inertia", "spring_torque", "spring_rate", "tip_radius", "engagement_depth"):
        with pytest.raises(ValueError, match=name):
            replace(PAWL, **{name: -1.0})
    with pytest.raises(ValueError, match="clearance"):
        pawl_swing_time(PAWL, float("nan"))
