"""The keeper: what holds for every plate. Outside values: tests/outside/test_fields.py."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from tripmargin.sensing.keeper import keeper_field, rotate_about_x, solve_keeper
from tripmargin.sensing.keeper_charges import charges_field, rectangle_field
from tripmargin.sensing.keeper_panels import FACES, SIGNS, image_potentials
from tripmargin.sensing.magnets import cuboid_field
from tripmargin.sensing.windings import winding_field

CENTRE, SIZE = [0.0, 0.0, 0.04], [0.56, 0.06, 0.005]
MAGNET = [0.24, 0.024, 0.025]
RNG = np.random.default_rng(7)
ABOVE = RNG.uniform([-0.3, -0.1, 0.08], [0.3, 0.1, 0.2], (40, 3))  # 35 mm and more away


def magnets(at, way=1.0):
    left = cuboid_field(at, [-0.15, 0, 0.055], MAGNET, [0, 0, 0.38])
    return left + cuboid_field(at, [0.15, 0, 0.055], MAGNET, [0, 0, way * 0.38])


def both(at):
    coils = [
        winding_field(at, [x, 0, 0.055], [0.246, 0.030], [0.270, 0.054], 0.022, 2200, sense)
        for x, sense in ((-0.15, 1), (0.15, -1))
    ]
    return np.stack([magnets(at), coils[0] + coils[1]], axis=-1)


def even(at):
    return np.tile(np.eye(3), (len(at), 1, 1))


def relative(field, expected):
    error = np.linalg.norm(field - expected, axis=1).max(axis=0)
    return error / np.linalg.norm(expected, axis=1).max(axis=0)


def test_a_plate_of_permeability_one_adds_nothing():
    sources = solve_keeper(CENTRE, SIZE, 1.0, both)
    assert (keeper_field(sources, ABOVE) == 0).all()


def test_near_permeability_one_the_plate_is_magnetised_by_the_applied_field_alone():
    # First order in mu - 1: J = (mu - 1) B0, here even.
    sources = solve_keeper(CENTRE, SIZE, 1 + 1e-6, even)
    for axis in range(3):
        expected = cuboid_field(ABOVE, CENTRE, SIZE, 1e-6 * np.eye(3)[axis])
        assert relative(keeper_field(sources, ABOVE)[..., axis], expected) < 3e-3


@pytest.mark.parametrize("permeability", [1.01, 50.0, 1000.0, 1e5])
def test_no_charge_is_left_over(permeability):
    charges = solve_keeper(CENTRE, SIZE, permeability, both).charges
    assert (np.abs(charges.sum(axis=0)) < 1e-7 * np.abs(charges).sum(axis=0)).all()


def test_each_applied_field_has_a_column_of_its_own():
    pair = keeper_field(solve_keeper(CENTRE, SIZE, 1000, both), ABOVE)

    def mixed(at):
        first, second = np.moveaxis(both(at), -1, 0)
        return np.stack([2 * first - 3 * second, first], axis=-1).tolist()  # a list will do

    other = keeper_field(solve_keeper(CENTRE, SIZE, 1000, mixed), ABOVE)
    # The mesh follows the fields asked for, so the two agree to the mesh's error only.
    assert relative(other[..., 1], pair[..., 0]) < 3e-3
    assert relative(other[..., 0], 2 * pair[..., 0] - 3 * pair[..., 1]) < 3e-3


def test_mirror_symmetric_fields_stay_so():
    sources = solve_keeper(CENTRE, SIZE, 1000, both)
    field = keeper_field(sources, ABOVE)
    over_y = keeper_field(sources, ABOVE * [1, -1, 1])
    over_x = keeper_field(sources, ABOVE * [-1, 1, 1])
    scale = np.abs(field).max()
    assert_allclose(over_y, field * np.array([1, -1, 1])[:, None], atol=1e-10 * scale)
    alike, opposed = np.array([-1, 1, 1]), np.array([1, -1, -1])  # magnets alike, windings opposed
    expected = field * np.stack([alike, opposed], axis=-1)
    assert_allclose(over_x, expected, atol=1e-10 * scale)


def test_a_plate_of_any_attitude_is_the_same_plate():
    order = [1, 2, 0]
    sources = solve_keeper(CENTRE, SIZE, 1000, lambda at: magnets(at)[..., None])
    turned = solve_keeper(
        np.array(CENTRE)[order],
        np.array(SIZE)[order],
        1000,
        lambda at: magnets(at[:, np.argsort(order)])[:, order, None],
    )
    expected = keeper_field(sources, ABOVE)[:, order]
    assert_allclose(
        keeper_field(turned, ABOVE[:, order]), expected, atol=1e-9 * np.abs(expected).max()
    )


@pytest.mark.parametrize(
    ("size", "permeability"),
    [
        (SIZE, 1000.0),
        (SIZE, 50.0),
        ([0.71, 0.07, 0.012], 1000.0),
        ([0.1, 0.03, 0.02], 1000.0),
        ([1.0, 0.2, 0.001], 1000.0),
        ([1.0, 0.02, 0.02], 1e5),
    ],
)
def test_above_the_roll_the_field_does_not_hang_on_the_mesh(size, permeability):
    centre = [0, 0, 0.0425 - size[2] / 2]

    def applied(at):
        return np.stack([magnets(at), magnets(at, way=-1.0)], axis=-1)

    field, finer = (
        applied(ABOVE) + keeper_field(solve_keeper(centre, size, permeability, applied, f), ABOVE)
        for f in (1.0, 1.4)
    )
    assert (relative(field, finer) < 0.005).all()


def test_more_permeability_draws_more_flux():
    above_a_magnet = [[0.15, 0.0, 0.11]]
    added = [
        keeper_field(solve_keeper(CENTRE, SIZE, mu, both), above_a_magnet)[0, 2, 0]
        for mu in (1.5, 5.0, 50.0, 1000.0, 1e5)
    ]
    assert (np.diff([0.0, *added]) > 0).all()


@settings(max_examples=8)
@given(
    st.floats(min_value=0.1, max_value=1.0),
    st.floats(min_value=0.02, max_value=0.2),
    st.floats(min_value=0.001, max_value=0.02),
    st.floats(min_value=1.01, max_value=1e5),
)
def test_any_plate_gives_a_sane_answer(length, width, thickness, permeability):
    size = [length, width, thickness]
    sources = solve_keeper([0, 0, 0], size, permeability, even)
    moments = sources.centres.T @ sources.charges / np.prod(size)
    # An energy's matrix: symmetric, positive, and below the susceptibility; above what the
    # same plate would have with a demagnetising factor of 1 along every axis.
    assert_allclose(moments, moments.T, atol=1e-6 * np.abs(moments).max())
    diagonal = np.diag(moments)
    susceptibility = permeability - 1
    assert (diagonal <= susceptibility * (1 + 1e-6)).all()
    assert (diagonal >= 0.97 * susceptibility / permeability).all()
    assert np.isfinite(keeper_field(sources, ABOVE)).all()


def test_points_on_and_in_the_plate_give_numbers():
    sources = solve_keeper(CENTRE, SIZE, 1000, both)
    on = sources.centres[::7]
    for points in (on, on + sources.halves[::7], on * [1, 1, 0] + CENTRE, [CENTRE]):
        assert np.isfinite(keeper_field(sources, points)).all()


def test_no_step_shows_along_a_crop_line():
    sources = solve_keeper(CENTRE, SIZE, 1000, both)
    y = np.linspace(-0.1, 0.1, 801)
    line = keeper_field(sources, np.stack([np.full_like(y, 0.12), y, np.full_like(y, 0.0725)], 1))
    bend = np.diff(line[:, 2], n=2, axis=0)
    rough = np.abs(np.diff(bend, axis=0)).max(axis=0)
    # The field bends over some 20 mm, 80 steps of 0.25 mm; a jump of 1e-4 of it would break this.
    assert (rough < 0.05 * np.abs(bend).max(axis=0)).all()


def test_the_points_may_be_none():
    sources = solve_keeper(CENTRE, SIZE, 1000, both)
    assert keeper_field(sources, np.empty((0, 3))).shape == (0, 3, 2)


@pytest.mark.parametrize(
    ("size", "permeability", "word"),
    [
        ([0.56, 0.06, 0.0], 1000.0, "size"),
        ([0.56, np.inf, 0.005], 1000.0, "size"),
        (SIZE, 0.5, "permeability"),
        (SIZE, np.nan, "permeability"),
    ],
)
def test_a_plate_that_cannot_be_is_refused(size, permeability, word):
    with pytest.raises(ValueError, match=word):
        solve_keeper(CENTRE, size, permeability, both)


def test_a_magnet_is_its_two_charged_pole_faces():
    points = RNG.uniform(-0.2, 0.2, (50, 3))
    half = np.array(MAGNET) / 2
    outside = (np.abs(points) > half).any(axis=1)
    for axis in range(3):
        flat = half * (np.arange(3) != axis)
        pole = half * (np.arange(3) == axis)
        area = 4 * np.prod(flat[flat > 0])
        halves = np.tile(flat, (len(points), 1))
        field = area * (
            rectangle_field(points - pole, halves) - rectangle_field(points + pole, halves)
        )
        expected = cuboid_field(points, [0, 0, 0], MAGNET, np.eye(3)[axis])
        assert_allclose(field[outside], expected[outside], atol=1e-12)


def test_near_panels_are_exact_and_far_ones_points():
    centres = np.array([[0.0, 0, 0], [0.05, 0.01, -0.02]])
    halves = np.array([[0.01, 0.004, 0], [0, 0.006, 0.01]])
    charges = np.array([[1e-6, 2e-6], [-3e-6, 0.0]])
    near = centres[0] + np.array([[0.0, 0.0, 1e-4], [0.012, 0.001, 0.0], [0.0, 0.0, 0.005]])
    far = RNG.uniform(0.3, 1.0, (20, 3))
    for points, tolerance in ((near, 1e-3), (far, 1e-3)):
        exact = sum(
            rectangle_field(points - centre, np.tile(half, (len(points), 1)))[..., None] * charge
            for centre, half, charge in zip(centres, halves, charges, strict=True)
        )
        assert_allclose(
            charges_field(points, centres, halves, charges),
            exact,
            atol=tolerance * np.abs(exact).max(),
        )


def test_panel_potentials_are_the_mean_of_one_over_r():
    edges = (np.array([0, 0.1, 0.16]), np.array([0, 0.05, 0.08]), np.array([0, 0.01, 0.015]))
    nodes, weights = np.polynomial.legendre.leggauss(20)
    pair_weights = np.outer(weights, weights).ravel() / 4
    panels = []
    for normal, first, second in FACES:
        for u in zip(edges[first][:-1], edges[first][1:], strict=True):
            for v in zip(edges[second][:-1], edges[second][1:], strict=True):
                points = np.full((20, 20, 3), edges[normal][-1])
                points[..., first] = (np.mean(u) + nodes * np.diff(u) / 2)[:, None]
                points[..., second] = np.mean(v) + nodes * np.diff(v) / 2
                panels.append(points.reshape(-1, 3))
    images = image_potentials(edges)
    checked = 0
    for signs in SIGNS:
        for i, target in enumerate(panels):
            for j, source in enumerate(panels):
                apart = np.linalg.norm(target[:, None] - source * np.array(signs), axis=-1)
                if apart.min() < 0.02 or (i + 3 * j) % 23:
                    continue  # near panels need a finer sum than this
                mean = pair_weights @ (1 / apart) @ pair_weights
                assert images[signs][i, j] == pytest.approx(mean, rel=1e-6)
                checked += 1
    assert checked > 15


def test_a_squares_own_potential_is_the_published_one():
    # Mean of 1/r over a unit square with itself: 4 (ln(1 + sqrt 2) + (1 - sqrt 2) / 3).
    # From memory.
    unit = np.array([0.0, 1.0])
    own = image_potentials((unit, unit, unit))[1, 1, 1][0, 0]
    assert own == pytest.approx(4 * (np.log(1 + 2**0.5) + (1 - 2**0.5) / 3), rel=1e-12)


@given(st.floats(min_value=-7, max_value=7), st.floats(min_value=-7, max_value=7))
def test_turns_about_x_add_up_and_keep_lengths(one, other):
    vectors = np.array([[1.0, 2.0, -3.0], [0.0, 0.5, 0.25]])
    twice = rotate_about_x(rotate_about_x(vectors, one), other)
    assert_allclose(twice, rotate_about_x(vectors, one + other), atol=1e-12)
    assert_allclose(np.linalg.norm(twice, axis=1), np.linalg.norm(vectors, axis=1))


def test_a_quarter_turn_about_x_takes_y_to_z_and_z_to_minus_y():
    turned = rotate_about_x(np.eye(3), np.pi / 2)
    assert_allclose(turned, [[1, 0, 0], [0, 0, 1], [0, -1, 0]], atol=1e-15)
