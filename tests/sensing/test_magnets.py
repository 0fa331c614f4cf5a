"""A magnet's field: what holds for every cuboid. Outside values: tests/outside/test_fields.py."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from tripmargin.sensing.magnets import CHUNK, FAR, cuboid_field

SIZE = np.array([0.24, 0.024, 0.025])
UP = [0.0, 0.0, 0.38]

edges = st.floats(min_value=2e-3, max_value=0.4)
sizes = st.tuples(edges, edges, edges)
poles = st.tuples(*[st.floats(min_value=-1.5, max_value=1.5)] * 3)
# Places in half edges from the middle, on no face.
places = st.tuples(*[st.floats(min_value=-6.0, max_value=6.0)] * 3).filter(
    lambda place: min(abs(abs(part) - 1) for part in place) > 0.02
)


@given(places, sizes, poles, poles)
def test_the_field_is_linear_in_the_polarization(place, size, one, other):
    at = np.array(place) * size / 2
    both = cuboid_field(at, [0, 0, 0], size, 2 * np.array(one) - np.array(other))
    apart = 2 * cuboid_field(at, [0, 0, 0], size, one) - cuboid_field(at, [0, 0, 0], size, other)
    assert_allclose(both, apart, atol=1e-12)


@given(places, sizes, poles, st.floats(min_value=0.1, max_value=0.9))
def test_two_halves_make_the_whole(place, size, polarization, cut):
    at = np.array(place) * size / 2
    length, width, height = size
    whole = cuboid_field(at, [0, 0, 0], size, polarization)
    left = cuboid_field(
        at, [(cut - 1) * length / 2, 0, 0], [cut * length, width, height], polarization
    )
    right = cuboid_field(
        at, [cut * length / 2, 0, 0], [(1 - cut) * length, width, height], polarization
    )
    on_the_cut = abs(at[0] - (cut - 0.5) * length) < 1e-9
    if not on_the_cut:
        assert_allclose(left + right, whole, atol=1e-11)


@given(places, sizes, poles, st.integers(min_value=0, max_value=2))
def test_mirroring_magnet_and_point_mirrors_the_field(place, size, polarization, axis):
    at = np.array(place) * size / 2
    mirror = np.ones(3)
    mirror[axis] = -1
    # B is an axial vector: under a mirror its parallel parts turn round.
    image = cuboid_field(at * mirror, [0, 0, 0], size, -mirror * np.array(polarization))
    assert_allclose(image, -mirror * cuboid_field(at, [0, 0, 0], size, polarization), atol=1e-13)


@given(places, sizes, poles)
def test_turning_the_axes_turns_the_field(place, size, polarization):
    at = np.array(place) * size / 2
    field = cuboid_field(at, [0, 0, 0], size, polarization)
    turned = cuboid_field(np.roll(at, 1), [0, 0, 0], np.roll(size, 1), np.roll(polarization, 1))
    assert_allclose(turned, np.roll(field, 1), atol=1e-12)


@given(places, poles)
@example((0.0, 1.0625, 1.0625), (0.0, 0.0, 1.0))  # beside an edge
def test_flux_has_no_sources_outside_or_inside(place, polarization):
    at = np.array(place) * SIZE / 2

    def differences(step):
        shifts = step * np.concatenate([np.eye(3), -np.eye(3)])
        field = cuboid_field(at + shifts, [0, 0, 0], SIZE, polarization)
        return (field[:3] - field[3:]) / (2 * step)  # [i, j] = dB_j / dx_i

    # Near an edge plain differences are off by more than what is asked: of the fourth order.
    slopes = (4 * differences(2e-5) - differences(4e-5)) / 3
    assert abs(np.trace(slopes)) <= 1e-4 * np.abs(slopes).max() + 1e-6


@given(places, poles)
def test_field_outside_has_no_curl(place, polarization):
    at = np.array(place) * SIZE / 2
    if (np.abs(place) < 1).all():
        return  # inside, curl H is nil too, but B carries J: the divergence test covers it
    step = 2e-5
    shifts = step * np.concatenate([np.eye(3), -np.eye(3)])
    field = cuboid_field(at + shifts, [0, 0, 0], SIZE, polarization)
    slopes = (field[:3] - field[3:]) / (2 * step)
    assert np.abs(slopes - slopes.T).max() <= 1e-4 * np.abs(slopes).max() + 1e-6


def test_the_demagnetizing_field_in_the_middle_of_a_cube_is_a_third():
    # By symmetry: N = 1/3, so B = J - J/3.
    field = cuboid_field([0, 0, 0], [0, 0, 0], [0.02, 0.02, 0.02], [0.3, -0.6, 0.9])
    assert field == pytest.approx([0.2, -0.4, 0.6], rel=1e-12)


def test_far_off_a_magnet_is_a_dipole_with_all_its_digits():
    # m = J V / mu0; B = (3 (m.n) n - m) mu0 / (4 pi r^3); next term (size / r)^2.
    for distance in (30.0, 300.0, 3e4):
        at = distance * np.array([0.6, -0.48, 0.64])
        n = at / distance
        moment = np.array([0.1, -0.2, 0.38]) * SIZE.prod()
        dipole = (3 * (moment @ n) * n - moment) / (4 * np.pi * distance**3)
        field = cuboid_field(at, [0, 0, 0], SIZE, [0.1, -0.2, 0.38])
        assert_allclose(field, dipole, atol=0.3 * (0.24 / distance) ** 2 * np.abs(dipole).max())


def test_closed_form_and_far_form_meet_without_a_step():
    radius = FAR * np.linalg.norm(SIZE) / 2
    direction = np.array([0.36, 0.48, 0.8])
    below, above = (
        cuboid_field(radius * (1 + shift) * direction, [0, 0, 0], SIZE, [0.1, -0.2, 0.38])
        for shift in (-1e-9, 1e-9)
    )
    assert_allclose(above, below, rtol=5e-7)  # the closed form has lost that many digits there


def test_points_on_faces_edges_corners_and_their_lines_give_numbers():
    grid = [np.array([-2, -1, -0.5, 0, 0.5, 1, 2]) * half for half in SIZE / 2]
    points = np.stack(np.meshgrid(*grid, indexing="ij"), axis=-1)
    for polarization in ([1.0, 0, 0], [0, 1.0, 0], [0, 0, 1.0], [0.1, -0.2, 0.35]):
        field = cuboid_field(points, [0, 0, 0], SIZE, polarization)
        assert np.isfinite(field).all()


def test_the_lines_through_edges_are_no_special_places():
    on_the_line = np.array([0.12, 0.012, 0.04])  # above a corner, on the lines of two edges' planes
    beside = on_the_line + 1e-9
    args = ([0, 0, 0], SIZE, [0.1, -0.2, 0.35])
    assert_allclose(cuboid_field(on_the_line, *args), cuboid_field(beside, *args), rtol=1e-6)


def test_any_shape_of_points_comes_back_in_that_shape():
    points = np.random.default_rng(2).uniform(-0.3, 0.3, size=(3, 5, 3))
    field = cuboid_field(points, [0.01, 0, 0.02], SIZE, UP)
    assert field.shape == points.shape
    assert cuboid_field(points[1, 2], [0.01, 0, 0.02], SIZE, UP) == pytest.approx(field[1, 2])
    assert cuboid_field(np.empty((0, 3)), [0, 0, 0], SIZE, UP).shape == (0, 3)


def test_many_points_are_the_same_points_one_at_a_time():
    points = np.random.default_rng(3).uniform(-0.3, 0.3, size=(2 * CHUNK + 7, 3))
    field = cuboid_field(points, [0, 0, 0], SIZE, UP)
    some = [0, CHUNK - 1, CHUNK, 2 * CHUNK, 2 * CHUNK + 6]
    assert_allclose(field[some], [cuboid_field(points[i], [0, 0, 0], SIZE, UP) for i in some])


@pytest.mark.parametrize("size", [[0.1, 0.1, 0], [0.1, -0.1, 0.1], [0.1, np.nan, 0.1], [0.1, 0.1]])
def test_a_size_that_is_no_size_is_refused(size):
    with pytest.raises(ValueError, match="three positive lengths"):
        cuboid_field([0, 0, 1], [0, 0, 0], size, UP)
