"""Pieces of metal against published values and reference cases.

"Computed" means: by a general library, independently of this code; "from memory": not read again.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.testing import assert_allclose

from tests.outside.solid_pieces import extrapolated_polarizability
from tests.reference import reference_cases
from tripmargin.ground.tables import everyday_piece, material
from tripmargin.sensing.demagnetizing import demagnetizing_factors, polarizability
from tripmargin.sensing.eddy import sphere_polarizability
from tripmargin.sensing.pieces import Piece

MU0 = 4e-7 * math.pi
CASES = reference_cases("sensing/cases_open.json")["cases"]


def cases(kind: str) -> list:
    found = [pytest.param(case, id=case["id"]) for case in CASES if case["kind"] == kind]
    assert found, f"no reference case of kind {kind}"
    return found


# Osborn, Phys. Rev. 67 (1945) 351; Bozorth, Ferromagnetism (1951), table of four figures: from
# memory; the six digits computed with scipy's elliprd and equal to the figures remembered.
PROLATE = [
    (1, 0.333333),
    (2, 0.173564),
    (5, 0.055821),
    (10, 0.020286),
    (20, 0.006749),
    (50, 0.001443),
    (100, 0.000430),
]
OBLATE = [(2, 0.527200), (5, 0.750484), (10, 0.860804), (20, 0.926181)]


@pytest.mark.parametrize(("slenderness", "along"), PROLATE)
def test_prolate_spheroids_have_osborns_factors(slenderness, along):
    factors = demagnetizing_factors([slenderness, 1.0, 1.0])
    assert factors == pytest.approx([along, (1 - along) / 2, (1 - along) / 2], abs=1e-6)


@pytest.mark.parametrize(("slenderness", "_"), PROLATE[1:])
def test_prolate_spheroids_follow_the_elementary_formula(slenderness, _):
    # Osborn 1945, closed form of the prolate spheroid, from memory; another route than Carlson's.
    m, root = slenderness, math.sqrt(slenderness**2 - 1)
    along = (m / (2 * root) * math.log((m + root) / (m - root)) - 1) / (m**2 - 1)
    assert demagnetizing_factors([m, 1.0, 1.0])[0] == pytest.approx(along, rel=1e-9)


@pytest.mark.parametrize(("flatness", "through"), OBLATE)
def test_oblate_spheroids_have_osborns_factors(flatness, through):
    factors = demagnetizing_factors([flatness, flatness, 1.0])
    assert factors == pytest.approx([(1 - through) / 2, (1 - through) / 2, through], abs=1e-6)


@pytest.mark.parametrize(
    ("axes", "expected"),
    [
        ((3, 2, 1), (0.156301, 0.267154, 0.576545)),
        ((4, 2, 1), (0.112350, 0.284780, 0.602869)),
    ],
)
def test_ellipsoids_of_three_axes_have_osborns_factors(axes, expected):
    # Osborn 1945 by Carlson's R_D (DLMF 19), computed.
    factors = demagnetizing_factors(axes)
    assert factors == pytest.approx(expected, abs=1e-6)
    assert factors.sum() == pytest.approx(1.0, abs=1e-12)


@pytest.mark.parametrize(
    ("permeability", "moment"),
    [(1.02, 0.019868), (100, 2.911765), (1000, 2.991018), (math.inf, 3.0)],
)
def test_a_soft_ball_has_the_textbook_moment(permeability, moment):
    # m / (H0 V) = 3 (mu - 1) / (mu + 2): Jackson, Classical Electrodynamics, 5.11, from memory.
    ball = polarizability([0.01, 0.01, 0.01], permeability)
    assert ball / (4 / 3 * math.pi * 0.01**3) == pytest.approx([moment] * 3, abs=1e-6)


def test_an_endlessly_permeable_body_has_one_over_its_demagnetizing_factor():
    # alpha_i -> V / N_i as mu_r grows without end; Osborn's factors of 3:2:1.
    volume = 4 / 3 * math.pi * 6.0
    alpha = polarizability([3.0, 2.0, 1.0], math.inf) / volume
    assert alpha == pytest.approx(1 / np.array([0.156301, 0.267154, 0.576545]), rel=1e-5)


@pytest.mark.parametrize("case", cases("polarizability"))
def test_polarizability_agrees_with_the_depolarisation_integral(case):
    # Adaptive quadrature of the integral (QUADPACK); tolerance as the reference states it.
    given, expected = case["inputs"], case["expected"]
    rel = case["tolerance"]["rel"]
    axes = given["semi_axes_m"]
    assert demagnetizing_factors(axes) == pytest.approx(expected["N"], rel=rel)
    alpha = polarizability(axes, given["relative_permeability"])
    assert alpha == pytest.approx(expected["alpha_m3"], rel=rel)


@pytest.mark.parametrize("case", cases("sphere_dynamic"))
def test_a_conducting_ball_agrees_with_waits_reference(case):
    # Wait 1951; real and imaginary parts each within the reference's tolerance.
    given, expected = case["inputs"], case["expected"]
    alpha = sphere_polarizability(
        given["radius_m"],
        given["conductivity_S_m"],
        given["relative_permeability"],
        given["frequency_Hz"],
    )
    rel = case["tolerance"]["rel"]
    assert alpha.real == pytest.approx(np.array(expected["alpha_real_m3"]), rel=rel)
    assert alpha.imag == pytest.approx(np.array(expected["alpha_imag_m3"]), rel=rel)


@pytest.mark.parametrize(
    ("permeability", "radius_over_skin_depth", "moment"),
    [
        # Landau & Lifshitz, Electrodynamics of Continuous Media, 59, problem 1 (times 4 pi):
        # formula from memory, digits computed with mpmath in two forms.
        (1, 1, -0.036617 + 0.192680j),
        (1, 2, -0.371586 + 0.505016j),
        (1, 5, -1.050012 + 0.359943j),
        # Wait 1951, computed; reduces to the row above and to the resting ball.
        (100, 0, 2.911765),
        (100, 1, 2.910718 + 0.017206j),
        (100, 5, 2.772500 + 0.198304j),
    ],
)
def test_a_ball_in_an_alternating_field_has_the_published_moment(
    permeability, radius_over_skin_depth, moment
):
    radius, conductivity = 0.01, 1e6
    # skin depth = sqrt(2 / (w mu0 mu_r sigma))
    omega = 2 * (radius_over_skin_depth / radius) ** 2 / (MU0 * permeability * conductivity)
    alpha = sphere_polarizability(radius, conductivity, permeability, omega / (2 * math.pi))
    volume = 4 / 3 * math.pi * radius**3
    # The published values go with exp(-i w t), ours with exp(+j w t): hence the conjugate.
    assert np.conj(alpha) / volume == pytest.approx(moment, abs=1e-6)


def test_a_perfect_conductor_keeps_all_flux_out():
    # m / (H0 V) -> -3/2: Landau & Lifshitz as above.
    alpha = sphere_polarizability(0.01, 6e7, 1.0, 1e18)
    assert alpha / (4 / 3 * math.pi * 0.01**3) == pytest.approx(-1.5, abs=1e-6)


# --- Pieces -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("millimetres", "grams"),
    [(3, 0.11098), (5, 0.51378), (6, 0.88781), (10, 4.11025), (12, 7.10251)],
)
def test_steel_balls_weigh_what_ball_tables_say(millimetres, grams):
    # pi d^3 rho / 6 at 7850 kg/m^3, sizes of ISO 3290-1.
    assert Piece.ball(millimetres * 1e-3).mass == pytest.approx(grams * 1e-3, rel=1e-4)


@pytest.mark.parametrize(
    ("millimetres", "grams"),
    [(1.6, 15.783), (2.0, 24.662), (2.5, 38.534), (3.15, 61.176), (4.0, 98.646)],
)
def test_a_metre_of_wire_weighs_what_wire_tables_say(millimetres, grams):
    # Geometry at 7850 kg/m^3; sizes of EN 10218-2 from memory.
    assert Piece.rod(millimetres * 1e-3, 1.0).mass == pytest.approx(grams * 1e-3, rel=1e-4)


@pytest.mark.parametrize(("name", "grams"), [("3.1x80", 4.740), ("4.2x110", 11.963)])
def test_wire_nails_weigh_what_their_shanks_do(name, grams):
    # Geometry, shank only; sizes of EN 10230-1 from memory.
    assert Piece.from_table(f"{name} wire nail").mass == pytest.approx(grams * 1e-3, rel=1e-3)


# DIN 934 (two published tables): width across flats, greatest height, mm. Masses by geometry, a
# hexagonal prism less the hole, g; catalogue masses from memory: 2.5, 5.2, 11.6, 17.3, 33.3.
NUTS = [
    ("M6", 10, 5, 2.44),
    ("M8", 13, 6.5, 5.24),
    ("M10", 17, 8, 11.41),
    ("M12", 19, 10, 16.75),
    ("M16", 24, 13, 32.55),
]


@pytest.mark.parametrize(("thread", "flats", "height", "grams"), NUTS)
def test_nuts_are_as_wide_and_as_heavy_as_din_934_says(thread, flats, height, grams):
    nut = Piece.from_table(f"{thread} nut")
    assert nut.mass == pytest.approx(grams * 1e-3, rel=0.04)
    diameter, thickness = nut.dimensions
    corners = flats / math.cos(math.radians(30))
    assert flats / height < diameter / thickness < corners / height
    assert thickness < height * 1e-3  # smaller by the hole


@pytest.mark.parametrize(
    ("thread", "grams"), [("M6", 2.4), ("M8", 5.1), ("M10", 10.6), ("M12", 17.2), ("M16", 35)]
)
def test_nuts_weigh_nearly_what_published_lock_nuts_do(thread, grams):
    # ISO 7719 / DIN 985 mass table, another nut of the same thread: hence 15 %, not 5 %.
    assert Piece.from_table(f"{thread} nut").mass == pytest.approx(grams * 1e-3, rel=0.15)


@pytest.mark.parametrize(
    ("name", "grams"), [("M8x30", 17.1), ("M10x40", 33.9), ("M12x40", 50.9), ("M16x60", 124)]
)
def test_bolts_weigh_a_little_less_than_catalogues_say(name, grams):
    # Catalogue masses of DIN 933 bolts, from memory; ours takes the pitch diameter throughout.
    mass = Piece.from_table(f"{name} bolt").mass * 1e3
    assert 0.85 * grams < mass < 1.02 * grams


def test_steel_has_the_density_of_published_mass_tables():
    # 7.85 kg/dm^3: DIN 935-1 and DIN 985 tables.
    assert material("steel").density == 7850.0


def test_the_length_of_a_bolt_in_the_table_includes_its_head():
    # ISO 4014: M12 head 7.5 mm high, from memory.
    assert_allclose(everyday_piece("M12x40 bolt").dimensions[1], 47.5e-3, rtol=1e-12)


@pytest.mark.parametrize("case", cases("pass"))
def test_the_moment_tensor_turns_as_the_reference_writes_it(case):
    # Conventions of the reference: columns of the orientation are the body axes in (x, y, z).
    given = case["inputs"]
    axes, turn = given["semi_axes_m"], np.array(given["orientation"])
    alpha = polarizability(axes, given["relative_permeability"])
    piece = Piece.ellipsoid(axes).turned(turn[:, 0], turn[:, 2])
    assert_allclose(piece.orientation, turn, atol=1e-9)
    assert_allclose(piece.moment_tensor(), turn @ np.diag(alpha) @ turn.T, rtol=1e-8, atol=1e-18)


# --- Pieces with holes, against a moment method that knows no ellipsoid --------------


def washer(outer, inner):
    return lambda x, y, z: (np.hypot(x, y) < outer / 2) & (np.hypot(x, y) > inner / 2)


def link(x, y, z, wire=0.008, pitch=0.024, width=0.0272):
    bend = (width - wire) / 2
    straight = (pitch + wire) / 2 - bend
    from_middle_line = np.hypot(x - np.clip(x, -straight, straight), y) - bend
    return np.hypot(from_middle_line, z) < wire / 2


def bolt(x, y, z):
    # M12x40 lying along x: a head as wide as its hexagon's area, a shank at the pitch diameter
    return np.hypot(y, z) < np.where(x < -0.01625, 0.0189, 0.010863) / 2


def bar(x, y, z):
    return np.abs(x) < 1.0


def test_the_moment_method_of_these_tests_knows_the_cube_of_iron():
    # alpha / V of a cube of endless permeability is 3.64 (Sihvola and others), from memory.
    cube = extrapolated_polarizability(bar, (0.01, 0.01, 0.01), (4, 4, 4), 1e5)
    assert cube == pytest.approx([3.64] * 3, rel=0.02)


@pytest.mark.parametrize(
    ("name", "axis", "inside", "box", "cells", "low", "high"),
    [
        ("60 mm x 8 mm x 8 mm plate", "x", bar, (0.06, 0.008, 0.008), (15, 2, 2), 0.8, 1.1),
        ("M12x40 bolt", "x", bolt, (0.0475, 0.019, 0.019), (10, 5, 5), 0.6, 1.0),
        ("M12 nut", "z", washer(0.01995, 0.010863), (0.02, 0.02, 0.01), (6, 6, 3), 0.5, 1.0),
        ("M12 washer", "z", washer(0.024, 0.013), (0.024, 0.024, 0.0025), (12, 12, 1), 0.5, 1.05),
        ("8 mm round-link chain, one link", "x", link, (0.04, 0.0272, 0.008), (10, 7, 2), 0.5, 1.0),
    ],
)
def test_pieces_of_the_table_answer_as_a_moment_method_says_or_less(
    name, axis, inside, box, cells, low, high
):
    piece = Piece.from_text(name).turned(axis)
    solved = extrapolated_polarizability(inside, box, cells, piece.relative_permeability)
    ratio = np.diag(piece.moment_tensor()) / piece.volume / solved
    assert ((low < ratio) & (ratio < high)).all(), ratio
