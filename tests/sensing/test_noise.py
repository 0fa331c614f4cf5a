"""Catching in noise: limits that must hold whatever the trace."""

from __future__ import annotations

from math import erf, exp, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.made_machines import made
from tripmargin.ground.errors import NotKnownError
from tripmargin.sensing import crossing_chance, false_trips_per_hour

T = np.arange(400) * 5e-4
PULSE = np.exp(-(((T - 0.1) / 0.02) ** 2)) - 0.6 * np.exp(-(((T - 0.14) / 0.02) ** 2))


def chance(top: float, noise: float, *, threshold: float = 1.0, narrowness: float = 0.04) -> float:
    return float(
        crossing_chance(
            top * PULSE, 5e-4, threshold=threshold, noise=noise, rate=160.0, narrowness=narrowness
        )
    )


def test_without_noise_a_trace_is_caught_or_not() -> None:
    top = PULSE.max()
    assert chance(1.001 / top, 0.0) == 1.0
    assert chance(0.999 / top, 0.0) == 0.0
    assert chance(-1.001 / top, 0.0) == 1.0  # either sign


@given(st.floats(0.0, 3.0), st.floats(0.0, 1.0), st.floats(0.01, 0.5), st.floats(0.0, 1.0))
def test_a_chance_is_a_chance_and_grows_with_the_signal(
    top: float, more: float, noise: float, narrowness: float
) -> None:
    one, other = (chance(t, noise, narrowness=narrowness) for t in (top, top + more))
    assert 0.0 <= one <= other + 1e-9 <= 1.0 + 1e-9


@given(st.floats(0.0, 2.0), st.floats(0.01, 0.3), st.floats(0.01, 100.0))
def test_a_chance_knows_no_unit(top: float, noise: float, unit: float) -> None:
    other = chance(unit * top, unit * noise, threshold=unit)
    assert other == pytest.approx(chance(top, noise), abs=1e-9)


@given(st.floats(-2.0, 2.0), st.floats(0.01, 0.3))
def test_either_sign_is_caught_alike(top: float, noise: float) -> None:
    assert chance(top, noise) == pytest.approx(chance(-top, noise), abs=1e-12)


@given(st.floats(0.5, 1.5), st.floats(0.02, 0.2))
def test_noise_never_catches_less_than_at_the_peak_s_own_instant(top: float, noise: float) -> None:
    level = (1.0 - top * PULSE.max()) / noise
    assert chance(top, noise) >= 0.5 * (1 - erf(level / sqrt(2))) - 1e-9


def test_no_trace_at_all_is_caught_as_often_as_rice_says() -> None:
    # 2 nu0 T exp(-x^2 / 2), rare: CHECKS 2.3's factor at 4 standard deviations
    quiet = crossing_chance(np.zeros(2001), 1e-3, threshold=4.0, noise=1.0, rate=20.0)
    assert float(quiet) == pytest.approx(2 * 20 * 2.0 * 3.354626e-4, rel=0.02)


def test_noise_without_a_rate_counts_the_strongest_instant_only() -> None:
    least = crossing_chance(PULSE, 5e-4, threshold=1.2, noise=0.2, rate=None)
    level = (1.2 - PULSE.max()) / 0.2
    wanted = 0.5 * (1 - erf(level / sqrt(2)))
    assert float(least) == pytest.approx(wanted, rel=1e-3)
    assert float(least) <= float(crossing_chance(PULSE, 5e-4, threshold=1.2, noise=0.2, rate=160.0))


def test_traces_come_in_any_leading_shape() -> None:
    tops = np.array([[0.8, 1.0, 1.2], [0.9, 1.1, 1.3]])
    many = crossing_chance(
        tops[..., None] * PULSE, 5e-4, threshold=1.0, noise=0.1, rate=160.0, narrowness=0.04
    )
    assert many.shape == (2, 3)
    assert many[1, 2] == pytest.approx(chance(1.3, 0.1))


@given(st.floats(0.1, 5.0), st.floats(2.0, 8.0))
def test_false_trips_know_no_unit_of_voltage(unit: float, level: float) -> None:
    texts = [{"noise": f"{u:.12g} V", "threshold": f"{level * u:.12g} V"} for u in (1.0, unit)]
    one, other = (false_trips_per_hour(made(detector=t)) for t in texts)
    assert other == pytest.approx(one, rel=1e-6)
    assert one == pytest.approx(2 * 160 * exp(-(level**2) / 2) * 3600, rel=0.05)  # low_cut 6 Hz


def test_a_ripple_brings_trips_and_none_brings_none() -> None:
    base = {"noise": "0.2 V", "threshold": "1.5 V"}
    plain = false_trips_per_hour(made(detector=base))
    rippled = false_trips_per_hour(made(detector=base | {"ripple": "0.4 V"}), roll_speed=2.0)
    assert rippled > 3 * plain
    assert false_trips_per_hour(made(detector=base | {"ripple": "0 V"})) == pytest.approx(plain)


def test_without_noise_nothing_trips_unless_the_ripple_does() -> None:
    assert false_trips_per_hour(made(detector={"noise": "0 V"})) == 0.0
    assert false_trips_per_hour(made(detector={"noise": "0 V", "ripple": "2 V"})) == float("inf")


def test_what_false_trips_need_is_named() -> None:
    with pytest.raises(NotKnownError, match=r"detector\.threshold"):
        false_trips_per_hour(made(detector={"threshold": None}))
