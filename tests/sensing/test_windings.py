"""A winding's field per ampere. Outside values: tests/outside/test_fields.py."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from tripmargin.sensing.windings import winding_field

HOLE, OUTSIDE, HEIGHT = [0.246, 0.030], [0.270, 0.054], 0.022
COIL = ([0.0, 0.0, 0.0], HOLE, OUTSIDE, HEIGHT, 2200, 1)

places = st.tuples(
    st.floats(min_value=-0.3, max_value=0.3),
    st.floats(min_value=-0.15, max_value=0.15),
    st.floats(min_value=0.026, max_value=0.2),
)


@given(places, st.integers(min_value=1, max_value=9000))
def test_the_field_is_proportional_to_turns_and_turns_round_with_the_sense(place, turns):
    one = winding_field(place, [0, 0, 0], HOLE, OUTSIDE, HEIGHT, 1, 1)
    many = winding_field(place, [0, 0, 0], HOLE, OUTSIDE, HEIGHT, turns, -1)
    assert_allclose(many, -turns * one, rtol=1e-12, atol=1e-18)


@given(places)
def test_the_field_has_the_windings_symmetry(place):
    x, y, z = place
    field = winding_field([[x, y, z], [-x, y, z], [x, -y, z], [x, y, -z]], *COIL)
    expected = field[0] * np.array([[1, 1, 1], [-1, 1, 1], [1, -1, 1], [-1, -1, 1]])
    assert_allclose(field, expected, atol=1e-15)


def test_the_defaults_are_good_to_a_millionth_from_fifteen_millimetres_outwards():
    x, y = np.meshgrid(np.linspace(0, 0.2, 21), np.linspace(0, 0.08, 15))
    for height in (0.015, 0.03, 0.06, 0.1, 0.3):
        points = np.stack([x, y, np.full_like(x, HEIGHT / 2 + height)], axis=-1)
        field = winding_field(points, *COIL)
        fine = winding_field(points, *COIL, shells=48)
        error = np.linalg.norm(field - fine, axis=-1) / np.linalg.norm(fine, axis=-1)
        assert error.max() < 1e-6


def test_the_defaults_are_good_to_a_thousandth_close_to_the_copper():
    x, y = np.meshgrid(np.linspace(0, 0.2, 21), np.linspace(0, 0.08, 15))
    points = np.stack([x, y, np.full_like(x, HEIGHT / 2 + 0.0015)], axis=-1)
    field, fine = winding_field(points, *COIL), winding_field(points, *COIL, shells=64)
    assert np.abs(field - fine).max() < 1e-3 * np.abs(fine).max()


def test_no_step_shows_where_the_number_of_shells_changes():
    line = np.linspace(0.02, 0.2, 4001)
    points = np.stack([np.full_like(line, 0.03), np.full_like(line, 0.01), line], axis=-1)
    second = np.diff(winding_field(points, *COIL)[:, 2], n=2)
    fine = np.diff(winding_field(points, *COIL, shells=48)[:, 2], n=2)
    assert_allclose(second, fine, atol=1e-6 * np.abs(winding_field(points[0], *COIL)).max())


def test_far_off_a_winding_is_the_dipole_of_its_turns_mean_area():
    # m / I = sum of the turns' areas; the area is a square law of s: mean of a(s) b(s) over 0..1.
    s = (np.arange(1000) + 0.5) / 1000
    area = ((0.246 + 0.024 * s) * (0.030 + 0.024 * s)).mean()
    field = winding_field([0, 0, 20.0], *COIL)
    dipole = 2 * 4e-7 * np.pi * 2200 * area / (4 * np.pi * 20.0**3)
    assert field[2] == pytest.approx(dipole, rel=3e-4)


def test_a_winding_without_a_build_is_one_shell():
    thin = winding_field([0, 0, 0.05], [0, 0, 0], HOLE, HOLE, HEIGHT, 100, 1)
    assert thin == pytest.approx(
        winding_field([0, 0, 0.05], [0, 0, 0], HOLE, HOLE, HEIGHT, 100, 1, shells=7)
    )


def test_the_shape_of_the_points_is_kept():
    points = np.random.default_rng(4).uniform(0.1, 0.3, size=(2, 4, 3))
    assert winding_field(points, *COIL).shape == points.shape


@pytest.mark.parametrize(
    ("inner", "outer", "height", "shells"),
    [
        ([0.0, 0.03], OUTSIDE, HEIGHT, None),
        (HOLE, [0.2, 0.054], HEIGHT, None),
        (HOLE, OUTSIDE, 0.0, None),
        (HOLE, OUTSIDE, HEIGHT, 0),
    ],
)
def test_a_winding_that_cannot_be_wound_is_refused(inner, outer, height, shells):
    with pytest.raises(ValueError, match=r"winding|shells"):
        winding_field([0, 0, 1], [0, 0, 0], inner, outer, height, 100, 1, shells=shells)
