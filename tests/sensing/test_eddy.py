"""What must hold of a conducting ball in an alternating field."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from scipy.special import spherical_in

from tripmargin.sensing.demagnetizing import polarizability
from tripmargin.sensing.eddy import sphere_polarizability

MU0 = 4e-7 * math.pi
radii = st.floats(min_value=1e-4, max_value=0.1)
conductivities = st.floats(min_value=1e3, max_value=6e7)
permeabilities = st.floats(min_value=1.0, max_value=2000.0)
frequencies = st.floats(min_value=1e-3, max_value=1e6)


@given(radii, conductivities, permeabilities)
def test_at_rest_it_is_the_ball_of_the_static_formula(radius, conductivity, permeability):
    alpha = sphere_polarizability(radius, conductivity, permeability, 0.0)
    assert_allclose(alpha.real, polarizability([radius] * 3, permeability)[0], rtol=1e-12)
    assert alpha.imag == 0.0


@given(radii, conductivities, permeabilities, frequencies)
def test_a_ball_takes_power_from_the_field_and_never_gives_any(
    radius, conductivity, permeability, frequency
):
    # exp(+j w t): loss is a negative imaginary part.
    assert sphere_polarizability(radius, conductivity, permeability, frequency).imag < 0


@given(radii, conductivities, permeabilities, frequencies)
def test_the_answer_lies_between_no_field_inside_and_the_resting_ball(
    radius, conductivity, permeability, frequency
):
    alpha = sphere_polarizability(radius, conductivity, permeability, frequency)
    resting = polarizability([radius] * 3, permeability)[0]
    slack = 1e-12 * 2 * math.pi * radius**3
    assert -2 * math.pi * radius**3 - slack <= alpha.real <= resting + slack


@given(radii, conductivities, st.floats(min_value=0.01, max_value=100))
def test_a_twice_larger_ball_is_the_same_at_a_quarter_of_the_frequency(
    radius, conductivity, factor
):
    large = sphere_polarizability(factor * radius, conductivity, 1.0, 100.0 / factor**2)
    small = sphere_polarizability(radius, conductivity, 1.0, 100.0)
    assert_allclose(large, factor**3 * small, rtol=1e-9)


@pytest.mark.parametrize("size", [0.02, 0.5, 2.0, 3.9, 4.0, 4.1, 8.0, 30.0, 200.0])
def test_it_agrees_with_the_general_librarys_bessel_functions(size):
    # The same ball by its inner solution i1(k r), matched at the surface; Bessel functions by
    # scipy. Sizes stand on both sides of where the product changes its formula (|k a| = 4).
    radius, permeability = 0.01, 3.0
    x = size * np.exp(0.25j * math.pi)
    i1, slope = spherical_in(1, x), spherical_in(1, x, derivative=True)
    inner = 1 + x * slope / i1  # d(r g)/dr over g
    expected = 2 * math.pi * radius**3 * (2 * permeability - inner) / (permeability + inner)
    conductivity = 1e6
    omega = (size / radius) ** 2 / (MU0 * permeability * conductivity)
    alpha = sphere_polarizability(radius, conductivity, permeability, omega / (2 * math.pi))
    assert_allclose(alpha, expected, rtol=1e-9)


def test_a_small_ball_at_low_frequency_keeps_all_its_digits():
    # w mu0 sigma a^2 << 1, mu_r = 1: alpha -> -j w mu0 sigma 2 pi a^5 / 15; the real part, smaller
    # by x^2, is -2 pi a^3 (2 / 315) |x|^4 / ... from the series W = x^2/5 - x^4/175.
    radius, conductivity, frequency = 1e-3, 1e6, 1e-3
    square = 2 * math.pi * frequency * MU0 * conductivity * radius**2
    alpha = sphere_polarizability(radius, conductivity, 1.0, frequency)
    assert_allclose(alpha.imag, -2 * math.pi * radius**3 * square / 15, rtol=1e-9)
    # -W / (3 + W) with W = j s/5 + s^2/175: real part -(s^2/525 + s^2/225) = -2 s^2 / 315
    assert_allclose(alpha.real, -2 * math.pi * radius**3 * 2 * square**2 / 315, rtol=1e-7)


def test_nothing_overflows_however_large_the_ball_or_thin_the_skin():
    alpha = sphere_polarizability([1e-6, 1e3], [1e-9, 1e9], [1.0, 1e6], [1e-30, 1e30])
    assert np.isfinite(alpha).all()
    assert_allclose(alpha[1], -2 * math.pi * 1e9, rtol=1e-3)


def test_a_spectrum_is_answered_at_once():
    alpha = sphere_polarizability([[0.005], [0.01]], 1e6, 1.0, [10.0, 100.0, 1000.0])
    assert alpha.shape == (2, 3)
    assert alpha[1, 2] == sphere_polarizability(0.01, 1e6, 1.0, 1000.0)


def test_small_aluminium_is_nearly_invisible_and_big_aluminium_is_not():
    # Reference findings of the moment method at 3 m/s: a 15 mm ball 0.7 to 1 % of steel's signal,
    # a 50 mm ball 5 to 7 %. Taken here at one frequency that such a pass is about: 25 Hz.
    aluminium = np.abs(sphere_polarizability([0.0075, 0.025], 1 / 3.3e-8, 1.0, 25.0))
    steel = [polarizability([radius] * 3, 200)[0] for radius in (0.0075, 0.025)]
    small, big = aluminium / steel
    assert 0.003 < small < 0.02
    assert 0.03 < big < 0.15


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        ((0.0, 1e6, 1.0, 50.0), "radius"),
        ((0.01, -1.0, 1.0, 50.0), "conductivity"),
        ((0.01, 1e6, 0.0, 50.0), "relative permeability"),
        ((0.01, 1e6, math.inf, 50.0), "relative permeability"),
        ((0.01, 1e6, 1.0, math.nan), "frequency"),
    ],
)
def test_what_cannot_be_is_refused_by_name(arguments, word):
    with pytest.raises(ValueError, match=f"{word} = .*must be"):
        sphere_polarizability(*arguments)
