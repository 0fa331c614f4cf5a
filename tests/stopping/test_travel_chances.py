"""Chances of every travel: what must hold whatever the machine."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.made_machines import made, plover
from tripmargin.ground.errors import NotKnownError
from tripmargin.stopping import StopDensities, stop_chain, travel_chances

Y = np.linspace(-0.2, 0.33, 200)


@settings(max_examples=12)
@given(st.floats(4e-3, 60e-3), st.booleans())
def test_a_chance_rises_with_the_place_from_none_to_sure(cut: float, fine: bool) -> None:
    late = travel_chances(plover(), cut, fine=fine).late(Y, fine=fine)
    assert np.isfinite(late).all()
    assert ((late >= 0) & (late <= 1)).all()
    assert (np.diff(late) >= -1e-12).all()
    assert late[-1] > 0.999


@pytest.mark.parametrize("cut", [0.006, 0.02])
def test_nothing_lies_beyond_the_travel_s_limits(cut: float) -> None:
    machine = plover()
    travel = stop_chain(machine, cut_length=cut).travel
    late = travel_chances(machine, cut).late
    assert float(late(0.326 - travel.high - 1e-4)) == 0.0
    assert float(late(0.334 - travel.low + 1e-4)) == pytest.approx(1.0, abs=1e-9)


def test_few_points_tell_the_same_as_many_where_the_map_looks() -> None:
    machine = plover()
    densities = StopDensities.of(machine)
    for cut in (0.01, 0.03):
        fine, coarse = (
            travel_chances(machine, cut, densities=densities, fine=f).late(Y, fine=f)
            for f in (True, False)
        )
        np.testing.assert_allclose(coarse, fine, atol=5e-3)


def test_the_mean_travel_is_near_the_nominal_one_and_within_its_limits() -> None:
    machine = plover()
    mean, sd = travel_chances(machine, 0.014).travel()
    travel = stop_chain(machine, cut_length=0.014).travel
    assert travel.low < mean < travel.high
    assert mean > travel  # the later of two pawls: its mean lies above half a pitch
    assert mean - travel < 3 * sd
    assert sd < (travel.high - travel.low) / 2


def test_any_shape_of_places_comes_back() -> None:
    late = travel_chances(made(), 0.02).late
    assert late(0.1).shape == ()
    assert late(np.full((2, 3), 0.1)).shape == (2, 3)


def test_a_drift_counts_only_off_the_nominal_speed() -> None:
    exact = travel_chances(made(), 0.02)
    np.testing.assert_allclose(exact.late(Y, drift=0.01), exact.late(Y), atol=1e-9)
    doubtful = made(feed={"cutterhead_speed": "1000 rpm +- 5 %"})
    chances = travel_chances(doubtful, 0.02)
    low = chances.late(Y) < 0.1
    assert (chances.late(Y, drift=0.02) >= chances.late(Y) - 1e-9)[low].all()


def test_a_slip_that_nearly_stops_the_metal_is_safe_and_finite() -> None:
    machine = made(feed={"slip": "85 % +- 5 %"})
    late = travel_chances(machine, 0.01).late(np.array([0.0, 0.2]))
    assert np.isfinite(late).all()
    assert late[0] < 1e-9


@pytest.mark.parametrize("cut", [0.0, -1.0, float("nan")])
def test_a_cut_that_cannot_be_is_refused(cut: float) -> None:
    with pytest.raises(ValueError, match="cut length"):
        travel_chances(made(), cut)


def test_what_is_missing_is_named() -> None:
    with pytest.raises(NotKnownError, match="chain"):
        StopDensities.of(made(without=("chain",)))
