"""Evenly spread draws, weights and Gauss points against integrals known in closed form."""

from __future__ import annotations

from math import erf, exp, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.ground.draws import draw, draw_late, evenly_spread, nodes, worse_nodes
from tripmargin.ground.quantities import Quantity, quantity

EVEN = Quantity(0.5, 0.0, 1.0, "rectangular")
BELL = quantity("3 mm +- 0.5 mm (sd)", "length")
EXACT = quantity("3 mm", "length")


@pytest.mark.parametrize("dimensions", [1, 2, 3, 6, 10])
def test_evenly_spread_points_integrate_a_smooth_product(dimensions: int) -> None:
    # integral of prod (1 + (u_i - 1/2) / 2) over the unit cube is 1
    points = evenly_spread(4096, dimensions)
    assert points.shape == (4096, dimensions)
    assert ((points >= 0) & (points < 1)).all()
    assert (1 + (points - 0.5) / 2).prod(axis=1).mean() == pytest.approx(1.0, abs=3e-3)


def test_evenly_spread_points_fill_a_ball_s_share_of_the_cube() -> None:
    # pi / 6 of the cube lies within half an edge of its middle
    inside = ((evenly_spread(1 << 14, 3) - 0.5) ** 2).sum(axis=1) < 0.25
    assert inside.mean() == pytest.approx(np.pi / 6, abs=2e-3)


@pytest.mark.parametrize("power", range(8))
def test_gauss_points_have_the_moments_of_an_even_spread(power: int) -> None:
    value, weight = nodes(EVEN, 4)
    assert weight @ value**power == pytest.approx(1 / (power + 1), rel=1e-12)
    value, weight = worse_nodes(EVEN, 24, worse="high")
    assert weight @ value**power == pytest.approx(1 / (power + 1), rel=1e-12)


def test_gauss_points_have_the_moments_of_a_normal_distribution() -> None:
    # E z^2, z^4, z^6 of a standard normal: 1, 3, 15
    for value, weight in (nodes(BELL, 5), worse_nodes(BELL, 24, worse="low")):
        z = (value - 3e-3) / 0.5e-3
        moments = [float(weight @ z**p) for p in (0, 1, 2, 3, 4, 6)]
        assert moments == pytest.approx([1, 0, 1, 0, 3, 15], abs=1e-9)


@pytest.mark.parametrize(("worse", "side"), [("low", -1), ("high", 1)])
def test_crowded_points_see_what_only_the_worse_limit_does(worse: str, side: int) -> None:
    value, weight = worse_nodes(EVEN, 48, worse=worse)  # type: ignore[arg-type]
    beyond = np.maximum(side * (value - 0.5) - 0.499, 0.0)  # a wedge a thousandth wide
    assert weight @ beyond == pytest.approx(1e-6 / 2, rel=0.05)


def test_an_exact_quantity_is_one_point() -> None:
    for value, weight in (nodes(EXACT, 9), worse_nodes(EXACT, 9, worse="high")):
        assert (value.tolist(), weight.tolist()) == ([0.003], [1.0])
    for values, weights in (draw([("a", EXACT)], 100), draw_late([("a", EXACT)], 100, {})):
        assert (values, weights.tolist()) == ({}, [1.0])


INPUTS = [("even", EVEN), ("bell", BELL), ("exact", EXACT)]


@pytest.mark.parametrize("how", ["plain", "widened", "late", "late the other way"])
def test_weighted_draws_keep_the_distribution(how: str) -> None:
    n = 1 << 15
    if how.startswith("late"):
        side = -1.0 if "other" in how else 1.0
        values, weights = draw_late(INPUTS, n, {"even": side, "bell": side})
    else:
        values, weights = draw(INPUTS, n, widened=1.5 if how == "widened" else 1.0)
    assert set(values) == {"even", "bell"}
    assert weights.sum() == pytest.approx(1.0, rel=1e-12)
    z = (values["bell"] - 3e-3) / 0.5e-3
    u = values["even"]
    assert weights @ u == pytest.approx(0.5, abs=2e-3)
    assert weights @ u**2 == pytest.approx(1 / 3, abs=2e-3)
    assert weights @ z == pytest.approx(0.0, abs=1e-2)
    assert weights @ z**2 == pytest.approx(1.0, abs=2e-2)
    assert weights @ (u * z) == pytest.approx(0.0, abs=1e-2)
    for x in (-2.0, 0.0, 2.0):
        assert weights @ (z < x) == pytest.approx(0.5 * (1 + erf(x / sqrt(2))), abs=3e-3)


def test_crowded_draws_reach_far_into_the_corner() -> None:
    # three even inputs: their sum beyond 3 - x has the chance x^3 / 6 (Irwin-Hall)
    inputs = [(name, EVEN) for name in "abc"]
    values, weights = draw_late(inputs, 1 << 16, {"a": 1.0, "b": 1.0, "c": -1.0})
    late = values["a"] + values["b"] + (1 - values["c"])
    for x in (0.3, 0.1, 0.018):
        assert weights @ (late > 3 - x) == pytest.approx(x**3 / 6, rel=0.05)


def test_no_crowded_draw_weighs_more_than_twice_the_average() -> None:
    _, weights = draw_late(INPUTS, 1 << 12, {})
    assert weights.max() * len(weights) < 2.1


@given(st.floats(0.001, 1e3), st.floats(0.0, 0.5), st.sampled_from(["rectangular", "normal"]))
def test_expectations_scale_with_the_unit(value: float, share: float, shape: str) -> None:
    q = Quantity(value, value * (1 - share), value * (1 + share), shape)  # type: ignore[arg-type]
    points, weights = nodes(q, 7)
    assert weights @ points == pytest.approx(value, rel=1e-9)
    variance = weights @ (points - value) ** 2
    assert variance == pytest.approx(q.sd**2, rel=1e-6, abs=1e-12 * value**2)


def test_an_exponential_of_an_even_input_has_its_closed_form() -> None:
    value, weight = nodes(EVEN, 8)
    assert weight @ np.exp(value) == pytest.approx(exp(1) - 1, rel=1e-12)
