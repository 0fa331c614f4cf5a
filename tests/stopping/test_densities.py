"""Densities on a grid: sums, tails and the later of several, against closed forms."""

from __future__ import annotations

from math import erfc, sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.made_machines import CHAIN, PAWL, made
from tripmargin.stopping.densities import Density, Followed, gathered, latest_catch
from tripmargin.stopping.stages import pawls_of, serial_stages, swing_stage

STEP = 2e-6


def even(low: float, high: float) -> Density:
    n = 20_000
    values = low + (high - low) * (np.arange(n) + 0.5) / n
    return gathered(values, np.full(n, 1 / n), STEP)


def chance_above(d: Density, value: float) -> float:
    """Read the chance of more than a value off the density's own levels."""
    levels = 1 / (1 + np.exp(np.linspace(-32, 32, 2001)))
    found = np.interp(value, d.later_than(levels), levels, left=1.0, right=0.0)
    return float(d.never + (1 - d.never) * found)


@given(st.lists(st.floats(0.0, 0.05), min_size=2, max_size=40), st.floats(1e-6, 1e-4))
def test_gathering_keeps_the_weight_and_the_mean(values: list[float], step: float) -> None:
    weights = np.linspace(1, 2, len(values))
    weights /= weights.sum()
    one = gathered(np.array(values), weights, step)
    assert one.mass.sum() == pytest.approx(1.0, rel=1e-12)
    assert one.mean == pytest.approx(float(weights @ values), abs=1e-12)
    assert (one.mass >= 0).all()


def test_what_never_comes_about_is_kept_apart() -> None:
    one = gathered(np.array([1e-3, 2e-3, np.inf, np.inf]), np.array([0.3, 0.3, 0.3, 0.1]), STEP)
    assert one.never == pytest.approx(0.4)
    assert one.mass.sum() == pytest.approx(0.6)
    both = one + one
    assert both.never == pytest.approx(1 - 0.6**2)
    assert chance_above(both, 1.0) == pytest.approx(1 - 0.6**2)
    stuck = gathered(np.array([np.inf]), np.ones(1), STEP)
    assert (one + stuck).never == 1.0


@pytest.mark.parametrize("wanted", [0.3, 1e-3, 1e-6])
def test_two_even_times_add_up_to_a_triangle(wanted: float) -> None:
    # P(sum > 2 w - x) = x^2 / (2 w^2) (Irwin-Hall, n = 2)
    width = 4e-3
    total = even(1e-3, 1e-3 + width) + even(2e-3, 2e-3 + width)
    x = width * np.sqrt(2 * wanted)
    assert chance_above(total, 3e-3 + 2 * width - x) == pytest.approx(wanted, rel=0.02)
    assert total.mean == pytest.approx(3e-3 + width, rel=1e-6)
    assert total.sd == pytest.approx(width / np.sqrt(6), rel=1e-3)


@pytest.mark.parametrize("beta", [1.0, 3.0, 5.0, 6.0])
def test_a_normal_stage_keeps_its_tail(beta: float) -> None:
    machine = made(chain={"relay_release": "30 ms +- 2 ms (sd)"})
    model = next(m for m in serial_stages(machine) if m.names == ("relay_release",))
    one = Followed.whole(model).density(STEP)
    assert one.sd == pytest.approx(2e-3, rel=2e-3)
    wanted = erfc(beta / sqrt(2)) / 2
    assert chance_above(one, 30e-3 + beta * 2e-3) == pytest.approx(wanted, rel=0.03)


def test_the_later_of_two_waits_is_the_product_of_their_chances() -> None:
    # no swing: P(both by t) = t^2 / (w1 w2)
    still = Density(0.0, STEP, np.ones(1))
    waits = (8e-3, 12e-3)
    one = latest_catch((still, still), waits)
    for t in (2e-3, 7e-3, 7.99e-3):
        assert 1 - chance_above(one, t) == pytest.approx(t**2 / np.prod(waits), rel=0.01)
    assert 1 - chance_above(one, 10e-3) == pytest.approx(10 / 12, rel=1e-3)
    # E max = w2/2 + w1^2 / (6 w2)
    assert one.mean == pytest.approx(12e-3 / 2 + 8e-3**2 / (6 * 12e-3), rel=1e-3)


def test_one_pawl_s_catch_is_its_swing_and_its_wait() -> None:
    swing = even(5e-3, 7e-3)
    one = latest_catch((swing,), (10e-3,))
    both = swing + even(0.0, 10e-3)
    assert one.mean == pytest.approx(both.mean, abs=2e-6)
    for t in (6e-3, 10e-3, 16.5e-3):
        assert chance_above(one, t) == pytest.approx(chance_above(both, t), abs=2e-3)


def test_a_pawl_that_may_stick_may_never_catch() -> None:
    swing = gathered(np.array([5e-3, np.inf]), np.array([0.9, 0.1]), STEP)
    one = latest_catch((swing, swing), (10e-3, 10e-3))
    assert one.never == pytest.approx(0.19)
    assert one.mass.sum() == pytest.approx(0.81, rel=1e-9)


def test_a_wait_of_nothing_is_the_swing_itself() -> None:
    swing = even(5e-3, 7e-3)
    assert latest_catch((swing,), (0.0,)).mean == pytest.approx(swing.mean, abs=2 * STEP)


@pytest.mark.parametrize("gap", ["3.5 mm +- 0.8 mm", "3.5 mm +- 0.4 mm (sd)"])
def test_a_swing_with_three_doubtful_inputs_has_the_moments_of_a_plain_draw(gap: str) -> None:
    pawl = PAWL | {
        "clearance": gap,
        "swing_time": {"time": "7 ms +- 1 ms", "at_clearance": "3.5 mm +- 0.2 mm"},
    }
    machine = made(chain=CHAIN | {"pawls": [pawl]})
    one = Followed.whole(swing_stage(machine, pawls_of(machine)[0])).density(STEP)
    rng = np.random.default_rng(6)
    n = 400_000
    sd = "(sd)" in gap
    gaps = rng.normal(3.5, 0.4, n) if sd else rng.uniform(2.7, 4.3, n)
    times = rng.uniform(6e-3, 8e-3, n) * np.sqrt(gaps / rng.uniform(3.3, 3.7, n))
    assert one.mean == pytest.approx(times.mean(), rel=2e-3)
    assert one.sd == pytest.approx(times.std(), rel=6e-3)
    for p in (0.5, 0.1, 1e-2, 1e-3):
        at = float(np.quantile(times, 1 - p))
        assert chance_above(one, at) == pytest.approx(p, rel=0.02 + 5 / np.sqrt(n * p))
