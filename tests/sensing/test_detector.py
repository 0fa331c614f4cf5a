"""The detector's filter: properties of the transfer function and of what goes through it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.made_machines import made
from tripmargin.ground.errors import NotKnownError
from tripmargin.sensing import Filter
from tripmargin.sensing.detector import settling_time, through_filter

corner = st.floats(1.0, 1e3)


def test_the_machine_s_filter_has_its_middle_values() -> None:
    machine = made(detector={"gain": "500 +- 10 %", "low_cut": "4 Hz .. 8 Hz"})
    assert Filter.of(machine) == Filter(500.0, 6.0, 160.0)
    assert Filter.of(made(detector={"low_cut": None, "high_cut": None})) == Filter(900, None, None)
    with pytest.raises(NotKnownError, match=r"detector\.gain"):
        Filter.of(made(detector={"gain": None}))


@given(corner, corner)
def test_both_corners_are_3_db_down_where_they_are_far_apart(low: float, ratio: float) -> None:
    # CHECKS 2.8: -3.0103 dB at the corner of any order
    high = low * (200 + ratio)
    filter_ = Filter(1.0, low, high)
    assert 20 * np.log10(abs(filter_.response(high))) == pytest.approx(-3.0103, abs=1e-3)
    assert 20 * np.log10(abs(filter_.response(low))) == pytest.approx(-3.0103, abs=1e-3)
    assert abs(filter_.response(0.0)) == 0.0


@given(corner, st.floats(1.5, 100.0), st.floats(0.1, 10.0))
def test_the_rate_goes_with_the_unit_of_time(low: float, ratio: float, scale: float) -> None:
    one = Filter(1.0, low, low * ratio).noise_crossing_rate()
    other = Filter(1.0, scale * low, scale * low * ratio).noise_crossing_rate()
    assert other == pytest.approx(scale * one, rel=1e-9)
    assert one >= low * ratio * (1 - 1e-9)  # a high-pass takes slow noise away, never fast


@given(st.floats(-5, 5), st.floats(0.1, 3.0))
def test_the_output_is_linear_in_the_linkage(factor: float, width: float) -> None:
    dt, filter_ = 1e-3, Filter(900.0, 6.0, 160.0)
    t = np.arange(2048) * dt
    one = np.exp(-(((t - 0.5) / (0.05 * width)) ** 2))
    other = np.exp(-(((t - 0.7) / 0.03) ** 2))
    separate = factor * through_filter(one, dt, filter_)[1] + through_filter(other, dt, filter_)[1]
    together = through_filter(factor * one + other, dt, filter_)[1]
    np.testing.assert_allclose(together, separate, atol=1e-9 * np.abs(separate).max())


def test_nothing_comes_out_before_something_goes_in() -> None:
    dt, filter_ = 2e-4, Filter(1.0, 6.0, 160.0)
    t = np.arange(1 << 14) * dt
    linkage = np.where(t > 0.5, np.sin(2 * np.pi * 20 * np.maximum(t - 0.5, 0)) ** 4, 0.0)
    linkage[t > 0.55] = 0.0
    _, output = through_filter(linkage, dt, filter_)
    assert np.abs(output[t < 0.499]).max() < 1e-3 * np.abs(output).max()


def test_the_filter_has_settled_after_its_settling_time() -> None:
    low = 6.0
    assert np.exp(-2 * np.pi * low * settling_time(Filter(1.0, low, 160.0))) < 1e-6
    assert settling_time(Filter(1.0, None, 160.0)) == 0.0


def test_the_narrowness_is_low_over_high() -> None:
    assert Filter(1.0, 20.0, 80.0).narrowness == 0.25
    assert Filter(1.0, None, 80.0).narrowness == Filter(1.0, 20.0, None).narrowness == 0.0
