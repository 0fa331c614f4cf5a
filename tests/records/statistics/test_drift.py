"""Drift: averages and limits hold together, few values say nothing, false alarms stay rare."""

from __future__ import annotations

import json
from math import inf, nan
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.records.statistics import Baseline, Drift, FigureError, ewma

stop_times = st.lists(st.floats(0.01, 1.0), min_size=1, max_size=60)
weights = st.floats(0.01, 1.0)


@given(values=stop_times, weight=weights)
def test_averages_lie_between_what_they_are_averages_of(values: list[float], weight: float) -> None:
    drift = ewma(values, target=0.1, sd=0.01, weight=weight)
    assert len(drift.averages) == len(values)
    assert min([0.1, *values]) - 1e-12 <= min(drift.averages)
    assert max(drift.averages) <= max([0.1, *values]) + 1e-12


@given(values=stop_times, weight=weights)
def test_signals_are_the_averages_outside_their_limits(values: list[float], weight: float) -> None:
    drift = ewma(values, target=0.1, sd=0.01, weight=weight)
    rows = zip(drift.averages, drift.lower, drift.upper, strict=True)
    outside = tuple(i for i, (z, low, high) in enumerate(rows) if z < low or z > high)
    assert drift.signals == outside
    assert outside == tuple(i for i in range(len(values)) if abs(drift.distance(i)) > 3.0)


@given(values=stop_times, weight=weights)
def test_limits_widen_up_to_the_settled_ones(values: list[float], weight: float) -> None:
    drift = ewma(values, target=0.1, sd=0.01, weight=weight)
    settled = ewma(values, target=0.1, sd=0.01, weight=weight, settled=True)
    assert drift.averages == settled.averages
    assert np.all(np.diff(drift.upper) >= -1e-15)
    assert np.all(np.array(drift.upper) <= np.array(settled.upper) + 1e-15)
    assert drift.upper[0] == pytest.approx(0.1 + 3 * 0.01 * weight)


def test_a_weight_of_one_is_the_plain_chart_of_single_values() -> None:
    drift = ewma([0.1, 0.12, 0.2], target=0.1, sd=0.01, weight=1.0)
    assert drift.averages == (0.1, 0.12, 0.2)
    assert drift.upper == pytest.approx((0.13, 0.13, 0.13))
    assert drift.signals == (2,)


@given(
    values=st.lists(st.floats(0.1, 0.2), min_size=16, max_size=40, unique=True),
    shift=st.floats(-5, 5),
    scale=st.floats(0.1, 100),
)
def test_the_unit_and_the_zero_of_the_values_do_not_matter(
    values: list[float], shift: float, scale: float
) -> None:
    one = ewma(values)
    other = ewma(scale * np.array(values) + shift)
    if not (one.known and other.known):  # all but alike: too close together to tell
        return
    for name in ("averages", "lower", "upper"):
        wanted = scale * np.array(getattr(one, name)) + shift
        np.testing.assert_allclose(getattr(other, name), wanted, rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize("spread", ["moving range", "sample"])
@pytest.mark.parametrize("uncertain", [False, True])
def test_limits_are_those_of_the_sum_that_an_average_is(spread: str, uncertain: bool) -> None:
    # The averages are linear in the values: their weights follow from charts of single values, and
    # the variance of average less target is the sum of squares, whatever the closed form says.
    n, count, weight = 6, 15, 0.3
    values = np.random.default_rng(3).normal(0.12, 0.01, count)
    u = np.linspace(0.001, 0.05, count) if uncertain else None
    drift = ewma(values, weight=weight, baseline=Baseline(n, spread), uncertainty=u)
    sums = np.zeros((count, count))
    for j in range(count):
        single = (np.arange(count) == j) * 1.0
        mean = single[:n].mean()
        averages = ewma(single, target=mean, sd=1.0, weight=weight).averages
        sums[:, j] = np.array(averages) - mean
    assert drift.sd is not None
    each = np.full(count, drift.sd) if u is None else np.maximum(drift.sd, u)
    wanted = np.sqrt((sums**2 * each**2).sum(axis=1))
    half = np.array(drift.upper) - drift.target
    assert half / half[-1] == pytest.approx(wanted / wanted[-1], rel=1e-9)
    # one widening for all: Student's, for a spread from six values
    assert half[0] / wanted[0] > 4


def test_settled_limits_are_what_a_long_series_comes_to() -> None:
    values = np.random.default_rng(2).normal(0.12, 0.01, 400)
    for given_ in ({}, {"target": 0.12, "sd": 0.01}, {"target": 0.12}, {"sd": 0.01}):
        run, settled = (ewma(values, settled=s, **given_) for s in (False, True))
        assert run.upper[-1] == pytest.approx(settled.upper[-1], rel=1e-9)
        assert len(set(settled.upper)) == 1


def test_the_chart_says_where_target_and_spread_come_from() -> None:
    values = [1.0, 1.2, 0.9, 1.1, 1.0, 1.1, 1.3, 1.0]
    taken = ewma(values, baseline=6)
    assert taken.target == pytest.approx(np.mean(values[:6]))
    # mean step (0.2 + 0.3 + 0.2 + 0.1 + 0.1) / 5 over 2 / sqrt(pi) = 1.128
    assert taken.sd == pytest.approx(0.18 / 1.1283791671)
    assert taken.target_from == "mean of the first 6 values"
    assert taken.sd_from == "moving range of the first 6 values"
    assert taken.judged_from == 6
    sample = ewma(values, baseline=Baseline(6, "sample"))
    assert sample.sd == pytest.approx(np.std(values[:6], ddof=1))
    assert sample.sd_from == "sample of the first 6 values"
    both = ewma(values, target=1.0, sd=0.1)
    assert (both.target_from, both.sd_from, both.judged_from) == ("given", "given", 0)
    half = ewma(values, target=1.0, baseline=6)
    assert (half.target, half.target_from) == (1.0, "given")
    assert half.sd == taken.sd


def test_the_baseline_itself_gives_no_signal() -> None:
    # a ramp: its averages leave the limits well within the baseline, which is not judged
    drift = ewma(np.arange(20.0), baseline=12)
    rows = zip(drift.averages, drift.lower, drift.upper, strict=True)
    outside = [i for i, (z, low, high) in enumerate(rows) if not low <= z <= high]
    assert outside[0] < 12
    assert drift.signals == tuple(i for i in outside if i >= 12)
    assert drift.signals


def test_a_step_is_found_and_a_quiet_series_is_not() -> None:
    rng = np.random.default_rng(8)
    quiet = rng.normal(0.120, 0.003, 60)
    assert ewma(quiet).signals == ()
    stepped = np.r_[quiet[:40], quiet[40:] + 0.009]
    drift = ewma(stepped)
    assert drift.signals
    assert 40 <= drift.signals[0] <= 45
    assert drift.distance() > 3


@pytest.mark.parametrize("count", [0, 1, 9, 10])
def test_too_few_values_say_so(count: int) -> None:
    drift = ewma(np.linspace(0.1, 0.2, count))
    assert not drift.known
    assert drift.because is not None
    assert drift.because.startswith("Too few to say: ")
    assert (drift.averages, drift.signals, drift.target) == ((), (), None)
    assert drift.distance() == 0.0
    assert ewma(np.linspace(0.1, 0.2, 11)).known
    assert ewma([], target=1.0, sd=1.0).because == "Too few to say: no value yet."


def test_values_all_alike_hide_their_scatter_until_the_uncertainty_is_given() -> None:
    alike = [0.12] * 12
    drift = ewma(alike)
    assert drift.because is not None
    assert "all alike" in drift.because
    assert (drift.target, drift.target_from) == (pytest.approx(0.12), "mean of the first 10 values")
    told = ewma([*alike, 0.2], uncertainty=0.002)
    assert told.known
    assert told.signals == (12,)


def test_a_doubtful_value_widens_the_limits_and_a_sure_one_does_not_narrow_them() -> None:
    values = [0.12] * 8
    plain = ewma(values, target=0.12, sd=0.002)
    sure = ewma(values, target=0.12, sd=0.002, uncertainty=0.0001)
    doubtful = ewma(values, target=0.12, sd=0.002, uncertainty=[0.0001] * 7 + [0.02])
    assert sure.upper == pytest.approx(plain.upper)
    assert doubtful.upper[:7] == pytest.approx(plain.upper[:7])
    assert doubtful.upper[7] > 0.12 + 3 * 0.3 * 0.0199


@pytest.mark.parametrize("spread", ["moving range", "sample"])
def test_false_alarms_are_as_rare_on_a_short_baseline_as_the_width_promises(spread: str) -> None:
    # By simulation: 0.27 % of averages of a sound machine may lie outside three standard
    # deviations. Without the widening a baseline of ten gives 3 %.
    rng = np.random.default_rng(12)
    runs, later = 1200, 20
    for count in (6, 10, 20):
        found = [
            len(
                ewma(
                    rng.normal(0.12, 0.005, count + later), baseline=Baseline(count, spread)
                ).signals
            )
            for _ in range(runs)
        ]
        # averages hang together: the error is that of the runs, not of the averages
        error = np.std(found) / np.sqrt(runs) / later
        assert np.mean(found) / later <= 0.0027 + 3 * max(error, 0.0003)


def test_the_spread_by_moving_range_is_as_sure_as_its_degrees_of_freedom_say() -> None:
    # by brute force: unbiased, and relative variance 1 / (2 freedom)
    from tripmargin.records.statistics.baseline import moving_range_sd

    rng = np.random.default_rng(6)
    for count in (5, 10, 30):
        draws = [moving_range_sd(rng.normal(3.0, 2.0, count)) for _ in range(20000)]
        sds = np.array([sd for sd, _ in draws])
        assert sds.mean() == pytest.approx(2.0, rel=0.02)
        assert sds.var() / 4 == pytest.approx(1 / (2 * draws[0][1]), rel=0.06)


def test_the_json_form_bears_the_unit_in_its_keys() -> None:
    made = ewma([0.12, 0.13], target=0.12, sd=0.01).to_dict("s")
    assert json.loads(json.dumps(made, allow_nan=False)) == made
    assert set(made) >= {"values_s", "averages_s", "lower_s", "upper_s", "target_s", "sd_s"}
    assert "averages" in ewma([]).to_dict()


BAD: list[dict[str, Any]] = [
    {"values": [0.1, nan]},
    {"values": [0.1, inf]},
    {"values": [0.1, "fast"]},
    {"values": [[0.1, 0.2]]},
    {"values": 0.1},
    {"values": None},
    {"weight": 0.0},
    {"weight": 1.1},
    {"weight": nan},
    {"width": 0.0},
    {"width": -3.0},
    {"target": nan},
    {"sd": 0.0},
    {"sd": -1.0},
    {"baseline": 4},
    {"baseline": 7.5},
    {"baseline": "ten"},
    {"uncertainty": 0.0},
    {"uncertainty": [0.1, 0.2]},
    {"settled": True, "uncertainty": 0.1},
]


@pytest.mark.parametrize("how", BAD)
def test_figures_that_cannot_be_are_refused(how: dict[str, Any]) -> None:
    how = {"values": [0.1, 0.2, 0.3]} | how
    with pytest.raises(FigureError, match="Allowed: "):
        ewma(**how)


def test_an_unknown_way_to_the_spread_is_refused() -> None:
    with pytest.raises(FigureError, match='"moving range" or "sample"'):
        Baseline(10, "guess")


def test_a_drift_is_frozen() -> None:
    drift = ewma([0.1], target=0.1, sd=0.1)
    assert isinstance(drift, Drift)
    with pytest.raises(AttributeError):
        drift.sd = 3.0  # type: ignore[misc]
