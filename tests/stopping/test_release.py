"""Letting go: what must hold for any winding and any suppression."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.stopping.release import clamp, copper_resistance, release_time

WINDING: dict[str, Any] = {
    "inductance": 0.16,
    "resistance": 18.0,
    "supply": 13.2,
    "release_current": 0.2,
}
DIODE = {"kind": "diode", "voltage": 0.8}
RESISTOR = {"kind": "resistor", "resistance": 82.0}
ZENER = {"kind": "zener", "voltage": 24.0}
amount = st.floats(0.01, 1000.0)


def time_of(suppression: dict[str, Any], **changes: Any) -> Any:
    return release_time(**(WINDING | changes), suppression=suppression)


@given(less=amount, more=amount)
def test_more_resistance_across_the_winding_lets_go_sooner(less: float, more: float) -> None:
    less, more = sorted((less, more))
    times = time_of({"kind": "resistor", "resistance": np.array([less, more])})
    assert times[1] <= times[0] * (1 + 1e-12)


@given(less=amount, more=amount)
def test_more_clamp_voltage_lets_go_sooner(less: float, more: float) -> None:
    less, more = sorted((less, more))
    times = time_of({"kind": "zener", "voltage": np.array([less, more])})
    assert times[1] <= times[0] * (1 + 1e-12)


@given(less=st.floats(0, 30), more=st.floats(0, 30))
def test_more_supply_lets_go_later(less: float, more: float) -> None:
    less, more = sorted((less, more))
    for suppression in (RESISTOR, DIODE, ZENER):
        times = time_of(suppression, supply=np.array([less, more]))
        assert times[0] <= times[1] * (1 + 1e-12)


def test_a_diode_with_nothing_across_it_is_a_resistor_of_nothing() -> None:
    assert time_of({"kind": "diode", "voltage": 0.0}) == pytest.approx(
        time_of({"kind": "resistor", "resistance": 0.0}), rel=1e-14
    )


def test_no_suppression_takes_no_time() -> None:
    assert time_of({"kind": "none"}) == 0.0


def test_a_current_already_below_release_takes_no_time() -> None:
    for suppression in (RESISTOR, DIODE, ZENER, {"kind": "none"}):
        assert time_of(suppression, supply=3.0) == 0.0


def test_one_winding_gives_a_python_float_and_many_give_an_array() -> None:
    assert type(time_of(DIODE)) is float
    times = time_of({"kind": "diode", "voltage": [[0.7], [0.8]]}, supply=[12.0, 13.0, 14.0])
    assert times.shape == (2, 3)
    assert times[1, 2] == time_of(DIODE, supply=14.0)


@pytest.mark.parametrize("suppression", [RESISTOR, {"kind": "none"}])
@pytest.mark.parametrize("release_current", [0.0, -0.1, float("nan")])
def test_a_current_that_never_falls_so_far_is_refused(
    suppression: dict[str, Any], release_current: float
) -> None:
    with pytest.raises(ValueError, match="never let go"):
        time_of(suppression, release_current=release_current)


def test_behind_a_diode_the_current_does_reach_zero() -> None:
    # From the closed form: tau ln(1 + I0 R / V).
    expected = 0.16 / 18 * np.log(1 + 13.2 / 0.8)
    assert time_of(DIODE, release_current=0.0) == pytest.approx(expected, rel=1e-12)
    with pytest.raises(ValueError, match="never let go"):
        time_of(DIODE, release_current=-0.01)


def test_an_unknown_suppression_is_refused_with_what_is_allowed() -> None:
    with pytest.raises(ValueError, match=r"none, resistor .* diode or zener"):
        time_of({"kind": "snubber"})
    with pytest.raises(ValueError, match=r"none, resistor .* diode or zener"):
        time_of({})
    with pytest.raises(ValueError, match="takes exactly"):
        time_of({"kind": "diode", "resistance": 3.0})
    with pytest.raises(ValueError, match="takes exactly"):
        time_of({"kind": "zener"})


@pytest.mark.parametrize("name", ["inductance", "resistance"])
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_an_input_out_of_range_is_refused_by_name(name: str, value: float) -> None:
    with pytest.raises(ValueError, match=name):
        time_of(DIODE, **{name: value})


def test_a_negative_clamp_is_refused() -> None:
    with pytest.raises(ValueError, match="voltage"):
        time_of({"kind": "zener", "voltage": -24.0})


def test_each_suppression_has_its_clamp() -> None:
    assert clamp({"kind": "none"}) == (0.0, 3000.0)
    assert clamp(RESISTOR) == (0.0, 82.0)
    assert clamp(DIODE) == (0.8, 0.05)
    assert clamp(ZENER) == (24.0, 1.0)


def test_a_warm_winding_has_more_resistance() -> None:
    assert copper_resistance(18.0, [20.0, 40.0]) == pytest.approx([18.0, 18.0 * 1.0786])
