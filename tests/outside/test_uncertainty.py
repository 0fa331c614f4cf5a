"""The uncertainty of a measured number, against worked examples of the GUM and its supplement."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pytest

from tripmargin.recordings.uncertainty import (
    Input,
    arcsine,
    combined,
    draw_result,
    normal,
    propagate,
    propagate_several,
    readings,
    rectangular,
    straight_line,
    trapezoid,
    welch_satterthwaite,
)


def _end_gauge(
    standard: float, difference: float, expansion: float, away: float, unlike: float, apart: float
) -> float:
    """Length of the gauge, nm: GUM H.1, formula H.2."""
    return standard + difference - standard * (unlike * away + expansion * apart)


def _end_gauge_inputs() -> dict[str, Input]:
    """JCGM 100:2008, Table H.1."""
    return {
        "standard": normal(50_000_623, 25, dof=18),
        "difference": combined(
            215, normal(0, 5.8, dof=24), normal(0, 3.9, dof=5), normal(0, 6.7, dof=8)
        ),
        "expansion": rectangular(11.5e-6, 2e-6),
        "away": combined(-0.1, normal(0, 0.2), arcsine(0, 0.5)),
        "unlike": rectangular(0, 1e-6, dof=50),
        "apart": rectangular(0, 0.05, dof=2),
    }


def test_the_end_gauge_has_the_uncertainty_of_the_guide() -> None:
    """JCGM 100:2008, H.1: value, u, degrees of freedom, expanded uncertainty, second order."""
    gauge = propagate(_end_gauge, _end_gauge_inputs())
    assert round(gauge.value) == 50_000_838
    assert gauge.u == pytest.approx(31.66, abs=0.1)  # the GUM rounds each share first: 32 nm
    assert int(gauge.dof) == 16
    assert gauge.dof == pytest.approx(16.75, abs=0.2)
    assert gauge.factor(0.99) == pytest.approx(2.92, abs=0.005)
    low, high = gauge.interval(0.99)
    assert (high - low) / 2 == pytest.approx(93, abs=1)
    second = propagate(_end_gauge, _end_gauge_inputs(), second_order=True)
    assert round(second.u) == 34


def test_each_input_of_the_end_gauge_has_its_share() -> None:
    """JCGM 100:2008, Table H.1, last column, nm."""
    budget = propagate(_end_gauge, _end_gauge_inputs()).budget
    assert abs(budget["standard"]) == pytest.approx(25, abs=0.5)
    assert abs(budget["difference"]) == pytest.approx(9.7, abs=0.05)
    assert abs(budget["unlike"]) == pytest.approx(2.9, abs=0.05)
    assert abs(budget["apart"]) == pytest.approx(16.6, abs=0.05)
    assert budget["expansion"] == pytest.approx(0, abs=1e-6)
    assert budget["away"] == pytest.approx(0, abs=1e-6)


def test_the_end_gauge_drawn_has_the_interval_of_the_supplement() -> None:
    """JCGM 101:2008, clause 9.5, Tables 10 and 11: 838 nm, 36 nm, shortest 99 % [745, 932] nm."""

    def model(ls, d, d1, d2, alpha, theta, cycle, unlike, apart):  # type: ignore[no-untyped-def]
        return ls + d + d1 + d2 - ls * (unlike * (theta + cycle) + alpha * apart) - 50e6

    inputs = {
        "ls": normal(50_000_623, 25, dof=18),
        "d": normal(215, 6, dof=24),
        "d1": normal(0, 4, dof=5),
        "d2": normal(0, 7, dof=8),
        "alpha": rectangular(11.5e-6, 2e-6),
        "theta": normal(-0.1, 0.2),
        "cycle": arcsine(0, 0.5),
        "unlike": trapezoid(0, 1e-6, 0.1e-6),
        "apart": trapezoid(0, 0.05, 0.025),
    }
    drawn = draw_result(model, inputs, draws=1_000_000)
    assert drawn.value == pytest.approx(838, abs=0.5)
    assert drawn.u == pytest.approx(36, abs=0.5)
    low, high = drawn.shortest(0.99)
    assert low == pytest.approx(745, abs=2)
    assert high == pytest.approx(932, abs=2)


def test_correlated_readings_give_the_impedance_of_the_guide() -> None:
    """JCGM 100:2008, H.2, Tables H.2 to H.4: five readings of three correlated quantities."""
    volts = [5.007, 4.994, 5.005, 4.990, 4.999]
    amperes = [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3]
    phase = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433]
    seen = {"v": volts, "i": amperes, "p": phase}
    r = np.corrcoef(list(seen.values()))
    assert r[0, 1] == pytest.approx(-0.36, abs=0.005)
    value, covariance = propagate_several(
        lambda v, i, p: (v / i * np.cos(p), v / i * np.sin(p), v / i),
        {name: readings(each) for name, each in seen.items()},
        correlations={("v", "i"): r[0, 1], ("v", "p"): r[0, 2], ("i", "p"): r[1, 2]},
    )
    u = np.sqrt(np.diag(covariance))
    assert value == pytest.approx([127.732, 219.847, 254.260], abs=0.001)
    assert u == pytest.approx([0.071, 0.296, 0.236], abs=0.001)
    between = covariance / np.outer(u, u)
    assert [between[0, 1], between[0, 2], between[1, 2]] == pytest.approx(
        [-0.588, -0.485, 0.993], abs=0.002
    )


def test_the_thermometer_line_is_that_of_the_guide() -> None:
    """JCGM 100:2008, H.3, Table H.6: a line through eleven readings and what it says at 30 C."""
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    line = straight_line(t, b, origin=20.0)
    assert line.intercept.value == pytest.approx(-0.1712, abs=5e-5)
    assert line.intercept.u == pytest.approx(0.0029, abs=5e-5)
    assert line.slope.value == pytest.approx(0.00218, abs=5e-6)
    assert line.slope.u == pytest.approx(0.00067, abs=5e-6)
    assert line.correlation == pytest.approx(-0.930, abs=5e-4)
    assert line.scatter == pytest.approx(0.0035, abs=5e-5)
    at = line.at(30.0)
    assert (at.value, at.u) == pytest.approx((-0.1494, 0.0041), abs=5e-5)
    assert at.dof == 9


def test_a_straight_line_has_the_certified_values() -> None:
    """NIST StRD Norris, certified values; the data as scipy carries them."""
    path = files("scipy") / "stats/tests/data/nist_linregress/Norris.dat"
    lines = path.read_text().splitlines()[60:]
    rows = np.array([line.split() for line in lines if line.strip()], dtype=float)
    assert rows.shape == (36, 2)
    line = straight_line(rows[:, 1], rows[:, 0])
    assert line.intercept.value == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.intercept.u == pytest.approx(0.232818234301152, rel=1e-9)
    assert line.slope.value == pytest.approx(1.00211681802045, rel=1e-9)
    assert line.slope.u == pytest.approx(0.429796848199937e-03, rel=1e-9)
    assert line.scatter == pytest.approx(0.884796396144373, rel=1e-9)


def test_four_rectangles_are_narrower_than_a_normal() -> None:
    """JCGM 101:2008, clause 9.2.3: four rectangular inputs of u = 1; 95 % is +-3.88, not +-3.92."""
    inputs = {name: rectangular(0, np.sqrt(3)) for name in "abcd"}
    drawn = draw_result(lambda a, b, c, d: a + b + c + d, inputs, draws=1_000_000)
    assert drawn.u == pytest.approx(2.0, abs=0.01)
    assert drawn.interval(0.95) == pytest.approx((-3.88, 3.88), abs=0.02)
    law = propagate(lambda a, b, c, d: a + b + c + d, inputs)
    assert law.u == pytest.approx(2.0, rel=1e-9)
    assert law.interval(0.95) == pytest.approx((-3.92, 3.92), abs=0.005)


def test_degrees_of_freedom_are_put_together_as_in_the_guide() -> None:
    """JCGM 100:2008, G.4.1, example: 10, 5 and 15 readings."""
    assert welch_satterthwaite([0.25, 0.57, 0.82], [9, 4, 14]) == pytest.approx(19.0, abs=0.05)


def test_a_bent_result_is_drawn_as_its_table_says() -> None:
    """The square of a standard normal: chi-square of one degree, from tables 3.841 at 95 %."""
    drawn = draw_result(lambda x: x**2, {"x": normal(0, 1)}, draws=1_000_000)
    assert np.quantile(drawn.values, 0.95) == pytest.approx(3.841, abs=0.03)
    assert drawn.value == pytest.approx(1.0, abs=0.01)
    # The law of propagation alone would say that it is exact.
    assert propagate(lambda x: x**2, {"x": normal(0, 1)}).u == pytest.approx(0, abs=1e-9)
    second = propagate(lambda x: x**2, {"x": normal(0, 1)}, second_order=True)
    assert second.u == pytest.approx(np.sqrt(2), rel=1e-6)
