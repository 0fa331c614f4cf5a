"""Fields of magnets, windings and keeper against other people's values and libraries.

"From memory": the source was not read again. magpylib and magpylib-material-response are general
libraries that only the tests import.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.reference import reference_cases
from tripmargin.sensing.keeper import keeper_field, solve_keeper
from tripmargin.sensing.magnets import cuboid_field
from tripmargin.sensing.windings import winding_field

MU0 = 4e-7 * math.pi
CASES = reference_cases("sensing/cases_open.json")["cases"]


def cases(kind: str) -> list:
    found = [pytest.param(case, id=case["id"]) for case in CASES if case["kind"] == kind]
    assert found, f"no reference case of kind {kind}"
    return found


def magnets_field(sensor: dict, points: np.ndarray) -> np.ndarray:
    total = np.zeros(np.shape(points))
    for assembly in sensor["assemblies"]:
        magnet = assembly["magnet"]
        direction = np.array(magnet["direction"]) / np.linalg.norm(magnet["direction"])
        total += cuboid_field(
            points, assembly["centre"], magnet["size"], magnet["remanence"] * direction
        )
    return total


def windings_field(sensor: dict, points: np.ndarray) -> np.ndarray:
    return sum(
        winding_field(points, assembly["centre"], **assembly["coil"])
        for assembly in sensor["assemblies"]
    )


def assert_within_of_largest(field: np.ndarray, expected: np.ndarray, tolerance: float) -> None:
    assert np.abs(field - expected).max() <= tolerance * np.abs(expected).max()


# --- magnets ---------------------------------------------------------------------------------


@pytest.mark.parametrize("case", cases("cuboid_field"))
def test_cuboids_follow_the_reference_cases(case):
    given, expected = case["inputs"], np.array(case["expected"]["B_T"])
    field = cuboid_field(given["points_m"], [0, 0, 0], given["size_m"], given["remanence_T"])
    assert_within_of_largest(field, expected, case["tolerance"]["abs_over_max"])


@pytest.mark.parametrize("case", cases("B0_bare"))
def test_two_magnets_follow_the_reference_cases(case):
    field = magnets_field(case["inputs"]["sensor"], case["inputs"]["points_m"])
    expected = np.array(case["expected"]["B0_T"])
    assert_within_of_largest(field, expected, case["tolerance"]["abs_over_max"])


@pytest.mark.parametrize("reach", [0.01, 0.1, 0.5])
@pytest.mark.parametrize("polarization", [[0, 0, 0.38], [0.1, -0.2, 0.35]])
def test_cuboids_are_magpylibs(reach, polarization):
    import magpylib

    size = [0.24, 0.024, 0.025]
    points = np.random.default_rng(5).normal(scale=reach, size=(500, 3))
    peer = magpylib.magnet.Cuboid(dimension=size, polarization=polarization).getB(points)
    field = cuboid_field(points, [0, 0, 0], size, polarization)
    error = np.linalg.norm(field - peer, axis=1) / np.linalg.norm(peer, axis=1)
    assert error.max() < 1e-9


def on_axis(length: float, width: float, height: float, above: float) -> float:
    """Handbook formula for J = 1 T: Furlani 2001, ch. 4; Yang, Hull and Beyer 1990."""

    def face(distance: float) -> float:
        root = math.sqrt(4 * distance**2 + length**2 + width**2)
        return math.atan(length * width / (2 * distance * root))

    return (face(above) - face(above + height)) / math.pi


@pytest.mark.parametrize(("above", "printed"), [(0.010, 0.1155365), (0.030, 0.0215320)])
def test_on_the_axis_a_cuboid_is_the_handbooks(above, printed):
    field = cuboid_field([0, 0, 0.005 + above], [0, 0, 0], [0.04, 0.02, 0.01], [0, 0, 1.0])
    assert field[2] == pytest.approx(on_axis(0.04, 0.02, 0.01, above), rel=1e-9)
    assert field[2] == pytest.approx(printed, abs=6e-8)


def test_off_the_axis_a_cuboid_is_the_computed_value():
    # Computed with magpylib 6.3.0.
    field = cuboid_field([0.015, 0.010, 0.025], [0, 0, 0], [0.04, 0.02, 0.01], [0, 0, 1.0])
    assert field * 1e3 == pytest.approx([14.80562, 15.61057, 24.45822], rel=1e-6)


# --- windings --------------------------------------------------------------------------------


@pytest.mark.parametrize("case", cases("coil_field_bare"))
def test_windings_follow_the_reference_cases(case):
    field = windings_field(case["inputs"]["sensor"], case["inputs"]["points_m"])
    expected = np.array(case["expected"]["b_T_per_A"])
    assert_within_of_largest(field, expected, case["tolerance"]["abs_over_max"])


def test_a_winding_is_magpylibs_many_loops():
    import magpylib

    centre, inner, outer, height = [0.01, -0.02, 0.03], [0.246, 0.030], [0.270, 0.054], 0.022
    side = 12
    share = (np.arange(side) + 0.5) / side
    loops = []
    for s in share:
        a, b = (np.array(inner) + s * (np.array(outer) - np.array(inner))) / 2
        for z in (share - 0.5) * height:
            corners = [(a, b, z), (-a, b, z), (-a, -b, z), (a, -b, z), (a, b, z)]
            loops.append(magpylib.current.Polyline(vertices=np.array(corners) + centre, current=1))
    points = np.random.default_rng(6).uniform([-0.2, -0.1, 0.06], [0.2, 0.1, 0.15], (60, 3))
    peer = magpylib.Collection(*loops).getB(points) * (2200 / side**2)
    field = winding_field(points, centre, inner, outer, height, 2200, 1)
    # 12 x 12 filaments for the even space: h^2 / 24 over the distance squared, some 1e-4
    assert_within_of_largest(field, peer, 1e-3)


def test_a_square_helmholtz_pair_is_the_textbooks():
    # Axis of a square loop of side a, at z: mu0 I a^2 / (2 pi (z^2 + a^2/4) sqrt(z^2 + a^2/2));
    # magnetism texts, from memory. The pair's field is flattest 0.5445 a apart (ditto).
    side, apart = 0.3, 0.5445 * 0.3

    def loop(z: float) -> float:
        return MU0 * side**2 / (2 * math.pi * (z**2 + side**2 / 4) * math.sqrt(z**2 + side**2 / 2))

    def pair(z: float) -> float:
        points, hole = [[0, 0, z]], [side, side]
        return sum(
            winding_field(points, [0, 0, end * apart / 2], hole, hole, 1e-5, 124, 1)[0, 2]
            for end in (-1, 1)
        )

    assert pair(0.0) == pytest.approx(124 * 2 * loop(apart / 2), rel=1e-6)
    assert pair(0.01) == pytest.approx(
        124 * (loop(apart / 2 - 0.01) + loop(apart / 2 + 0.01)), rel=1e-6
    )
    assert pair(0.01) == pytest.approx(pair(0.0), rel=3e-5)


def test_a_helmholtz_pair_built_of_rectangular_loops_has_the_textbooks_field():
    # (4/5)^1.5 mu0 n I / R; n = 124, R = 0.15 m: 0.743319 mT per ampere, any magnetism text. A
    # round loop is the sum of narrow rectangular ones: the currents on their common sides cancel.
    radius, turns, strips = 0.15, 124, 300
    edge = radius * np.cos(np.linspace(0, math.pi / 2, strips + 1))[::-1]
    angle = np.arcsin(edge / radius)
    segment = radius**2 * np.diff(angle + np.sin(2 * angle) / 2) / 2  # area to one side
    field = 0.0
    for low, high, area in zip(edge[:-1], edge[1:], segment, strict=True):
        hole = [2 * area / (high - low), high - low]
        at = np.array([0, -(low + high) / 2, radius / 2])
        field += 4 * winding_field(at, [0, 0, 0], hole, hole, 1e-5, turns, 1)[2]
    assert field == pytest.approx(0.743319e-3, rel=2e-5)
    assert field == pytest.approx(0.8**1.5 * MU0 * turns / radius, rel=2e-5)


# --- keeper ----------------------------------------------------------------------------------


@pytest.mark.parametrize("case", cases("fields_with_keeper"))
def test_fields_with_a_keeper_follow_the_reference_cases(case):
    sensor, points = case["inputs"]["sensor"], np.array(case["inputs"]["points_m"])

    def applied(at):
        return np.stack([magnets_field(sensor, at), windings_field(sensor, at)], axis=-1)

    keeper = sensor["keeper"]
    sources = solve_keeper(
        keeper["centre"], keeper["size"], keeper["relative_permeability"], applied
    )
    field = applied(points) + keeper_field(sources, points)
    for column, key, row in ((0, "B0_T", "B0_row_abs"), (1, "b_T_per_A", "b_row_abs")):
        error = np.linalg.norm(field[..., column] - np.array(case["expected"][key]), axis=1)
        assert (error <= np.array(case["tolerance"][row])).all()


@pytest.mark.parametrize("polarization", [[0, 0, 1.0], [1.0, 0, 0], [0.3, -0.5, 0.8]])
def test_above_a_large_plate_stands_the_magnets_image(polarization):
    # Half space, mu_r to infinity: the mirrored magnet, same sign of the normal moment, opposite
    # of the others; any text on images. 1 m x 1 m x 20 mm is not quite endless nor the mesh: 1.5 %.
    size, middle = [0.03, 0.03, 0.02], np.array([0.0, 0.0, 0.04])
    surface = 0.01

    def applied(at):
        return cuboid_field(at, middle, size, polarization)[..., None]

    sources = solve_keeper([0, 0, 0], [1.0, 1.0, 0.02], 1e5, applied)
    grid = np.meshgrid([-0.04, 0.0, 0.03], [0.0, 0.05], [0.06, 0.08, 0.11])
    points = np.stack(grid, axis=-1).reshape(-1, 3)
    image = cuboid_field(
        points, [0, 0, 2 * surface - middle[2]], size, np.array(polarization) * [-1, -1, 1]
    )
    error = np.linalg.norm(keeper_field(sources, points)[..., 0] - image, axis=1)
    assert error.max() < 0.015 * np.linalg.norm(image, axis=1).max()


@pytest.mark.parametrize(
    ("permeability", "polarizability"),
    [(1e6, 3.6442), (1.02, 3 * 0.02 / 3.02)],
)
def test_a_cube_is_magnetised_as_published(permeability, polarizability):
    # Polarizability of a cube over its volume: 3.6442 for a perfect conductor in an electric field,
    # the same problem (Sihvola et al., IEEE Trans. Antennas Propag. 52 (2004) 2226, from memory);
    # near mu_r = 1 that of the sphere, 3 (mu - 1) / (mu + 2), to second order by symmetry. With 11
    # cells over an edge the charge's singular edges are 0.3 % short.
    side = 0.1
    sources = solve_keeper(
        [0, 0, 0], [side] * 3, permeability, lambda at: np.tile(np.eye(3), (len(at), 1, 1))
    )
    moments = sources.centres.T @ sources.charges / side**3
    assert_allclose(moments, polarizability * np.eye(3), atol=0.004 * polarizability)


def test_the_keeper_is_what_the_moment_method_comes_to():
    # magpylib-material-response 0.6.0: the plate as 10 mm, then 7 mm cells, each evenly magnetised.
    # It comes nearer as its cells shrink; at 7 mm it is itself some 1 % off: 1.5 %.
    import magpylib
    from magpylib_material_response.demag import apply_demag
    from magpylib_material_response.meshing import mesh_Cuboid

    places, size, up = ([-0.15, 0, 0.055], [0.15, 0, 0.055]), [0.24, 0.024, 0.025], [0, 0, 0.38]
    centre, plate = [0, 0, 0.04], [0.56, 0.06, 0.005]
    points = np.array([[0.15, 0, 0.11], [0.15, 0.03, 0.12], [0.03, 0.02, 0.13], [0.25, 0, 0.16]])

    def applied(at):
        return sum(cuboid_field(at, place, size, up) for place in places)[..., None]

    def peer(cells):
        magnets = [
            magpylib.magnet.Cuboid(dimension=size, polarization=up, position=place)
            for place in places
        ]
        for magnet in magnets:
            magnet.susceptibility = 0
        soft = magpylib.magnet.Cuboid(dimension=plate, polarization=[0, 0, 0], position=centre)
        mesh = mesh_Cuboid(soft, cells)
        mesh.susceptibility = 999
        return apply_demag(magpylib.Collection(*magnets, mesh)).getB(points)

    sources = solve_keeper(centre, plate, 1000, applied)
    field = (applied(points) + keeper_field(sources, points))[..., 0]
    coarse, fine = (
        np.linalg.norm(field - peer(cells), axis=1) / np.linalg.norm(field, axis=1)
        for cells in ((56, 6, 1), (80, 8, 1))
    )
    assert (fine < coarse).all()
    assert fine.max() < 0.015
