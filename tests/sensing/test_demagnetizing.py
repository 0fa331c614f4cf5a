"""What must hold of demagnetizing factors and polarizability whatever the ellipsoid."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from tripmargin.sensing.demagnetizing import demagnetizing_factors, polarizability

semi_axis = st.floats(min_value=1e-4, max_value=1.0)
ellipsoids = st.tuples(semi_axis, semi_axis, semi_axis)
permeabilities = st.floats(min_value=1.001, max_value=1e6)
orders = st.permutations([0, 1, 2])


@given(ellipsoids)
def test_the_factors_sum_to_one_and_none_is_negative(axes):
    factors = demagnetizing_factors(axes)
    assert factors.sum() == pytest.approx(1.0, abs=1e-12)
    assert (factors > 0).all()


@given(ellipsoids)
def test_the_longest_axis_has_the_smallest_factor(axes):
    factors = demagnetizing_factors(axes)
    assert factors[np.argmax(axes)] <= factors.min() * (1 + 1e-12)


@given(ellipsoids, orders)
def test_axes_in_another_order_give_the_factors_in_that_order(axes, order):
    turned = demagnetizing_factors(np.array(axes)[order])
    assert_allclose(turned, demagnetizing_factors(axes)[order], rtol=1e-12)


@given(ellipsoids, st.floats(min_value=1e-150, max_value=1e150))
def test_only_proportions_matter_to_the_factors(axes, factor):
    scaled = demagnetizing_factors(np.array(axes) * factor)
    assert_allclose(scaled, demagnetizing_factors(axes), rtol=1e-9)


@given(ellipsoids, permeabilities, st.floats(min_value=0.01, max_value=100))
def test_polarizability_grows_with_the_volume(axes, permeability, factor):
    grown = polarizability(np.array(axes) * factor, permeability)
    assert_allclose(grown, factor**3 * polarizability(axes, permeability), rtol=1e-9)


@given(ellipsoids, permeabilities)
def test_polarizability_lies_between_a_sheet_across_and_a_needle_along(axes, permeability):
    volume = 4 / 3 * math.pi * math.prod(axes)
    alpha = polarizability(axes, permeability) / volume
    slack = 1 + 1e-12
    assert ((permeability - 1) / permeability <= alpha * slack).all()
    assert (alpha <= (permeability - 1) * slack).all()


@given(ellipsoids, permeabilities)
def test_more_permeable_metal_answers_more(axes, permeability):
    more = polarizability(axes, permeability * 1.1)
    assert (more > polarizability(axes, permeability)).all()


def test_needles_and_sheets_of_ten_thousand_to_one_keep_their_sum():
    factors = demagnetizing_factors([[1e4, 1, 1], [1e4, 1e4, 1], [1e4, 1e2, 1]])
    assert_allclose(factors.sum(axis=-1), 1.0, atol=1e-12)
    # Long needle: N = (ln 2m - 1) / m^2, leading term of Osborn's prolate formula.
    assert factors[0, 0] == pytest.approx((math.log(2e4) - 1) / 1e8, rel=1e-6)


def test_many_ellipsoids_are_answered_at_once():
    axes = np.linspace(1.0, 2.0, 24).reshape(2, 4, 3)
    permeability = np.array([10.0, 100.0, 200.0, 1000.0])
    alpha = polarizability(axes, permeability)
    assert alpha.shape == (2, 4, 3)
    assert_allclose(alpha[1, 2], polarizability(axes[1, 2], 200.0), rtol=1e-12)


@pytest.mark.parametrize("bad", [0.0, -1e-3, math.nan, math.inf])
def test_a_semi_axis_that_cannot_be_is_refused_with_its_value(bad):
    with pytest.raises(ValueError, match=rf"{bad}.*positive and finite"):
        demagnetizing_factors([0.01, bad, 0.01])


def test_other_than_three_semi_axes_are_refused():
    with pytest.raises(ValueError, match="an ellipsoid has three"):
        demagnetizing_factors([0.01, 0.02])


@pytest.mark.parametrize("bad", [0.0, -5.0, math.nan])
def test_a_permeability_that_cannot_be_is_refused(bad):
    with pytest.raises(ValueError, match="must be positive"):
        polarizability([0.01, 0.01, 0.01], bad)
