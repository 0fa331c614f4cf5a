"""Failure on demand: grows with what makes it worse, and refuses what cannot be."""

from __future__ import annotations

import json
from math import inf, nan
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.records.statistics import (
    FigureError,
    failure_on_demand,
    mean_unavailability,
    rate_interval,
    unavailable_now,
)

HOUR, DAY = 3600.0, 86400.0
plans = st.fixed_dictionaries(
    {
        "check_interval": st.floats(HOUR, 30 * DAY),
        "proof_interval": st.floats(30 * DAY, 720 * DAY),
        "coverage": st.floats(0, 1),
        "repair_time": st.floats(0, 5 * DAY),
    }
)


@given(failures=st.integers(0, 50), days=st.floats(1, 1e5), plan=plans)
def test_the_average_lies_within_its_limits_and_below_the_approximation(
    failures: int, days: float, plan: dict[str, float]
) -> None:
    found = failure_on_demand(failures, days * DAY, **plan)
    average, rough = found.average, found.approximate
    assert average.value is not None
    assert rough.value is not None
    assert 0 <= average.low <= average.value <= average.high <= 1
    # a stretch cut short by the proof test is shorter than the approximation takes it to be
    assert average.value <= rough.value * (1 + 1e-9)


@given(plan=plans, failures=st.integers(1, 20), more=st.floats(1.01, 3))
def test_it_grows_with_each_thing_that_makes_it_worse(
    plan: dict[str, float], failures: int, more: float
) -> None:
    def average(**changed: float) -> float:
        value = failure_on_demand(failures, 1000 * DAY, **(plan | changed)).average.value
        assert value is not None
        return value

    usual = average()
    # without repairs under way: who finds more also runs on unprotected more often
    blind, keen = (
        average(coverage=c, repair_time=0.0) for c in (plan["coverage"] / more, plan["coverage"])
    )
    assert blind >= keen * (1 - 1e-9)
    assert average(repair_time=plan["repair_time"] * more) >= usual * (1 - 1e-9)
    # twice as many failures, whole so that they can be counted
    worse = failure_on_demand(2 * failures, 1000 * DAY, **plan).average.value
    assert worse is not None
    assert worse >= usual


@given(x=st.floats(1e-12, 50))
def test_the_mean_unavailability_has_its_series_and_its_limit(x: float) -> None:
    found = mean_unavailability(x)
    assert x / 2 - x * x / 6 <= found * (1 + 1e-12)
    assert found <= min(1.0, x / 2) * (1 + 1e-12)


def test_the_mean_unavailability_does_not_jump_where_its_series_ends() -> None:
    below, above = mean_unavailability(1e-3 * (1 - 1e-9)), mean_unavailability(1e-3)
    assert above == pytest.approx(below, rel=2e-9)
    assert mean_unavailability(0.0) == 0.0
    assert mean_unavailability(inf) == 1.0


def test_where_no_failure_was_seen_the_upper_limit_speaks() -> None:
    found = failure_on_demand(0, 500 * DAY, check_interval=DAY)
    assert (found.average.value, found.average.low) == (0.0, 0.0)
    assert 0.003 < found.average.high < 0.004


def test_where_nothing_was_watched_nothing_is_known() -> None:
    found = failure_on_demand(0, 0.0, check_interval=DAY)
    assert (found.average.value, found.average.low, found.average.high) == (None, 0.0, 1.0)
    made = found.to_dict()
    assert json.loads(json.dumps(made, allow_nan=False)) == made
    assert made["rate_per_s"]["high"] is None
    assert set(made) == {
        "rate_per_s",
        "average_probability",
        "approximate_probability",
        "check_interval_s",
        "proof_interval_s",
        "coverage",
        "repair_time_s",
    }


def test_a_check_that_finds_nothing_is_as_none() -> None:
    none = failure_on_demand(
        3, 1000 * DAY, check_interval=DAY, proof_interval=360 * DAY, coverage=0.0
    )
    alone = failure_on_demand(3, 1000 * DAY, check_interval=360 * DAY)
    assert none.average.value == pytest.approx(alone.average.value, rel=1e-12)


def test_a_proof_test_adds_nothing_to_a_check_that_finds_all() -> None:
    both = failure_on_demand(3, 1000 * DAY, check_interval=DAY, proof_interval=360 * DAY)
    alone = failure_on_demand(3, 1000 * DAY, check_interval=DAY)
    assert both.average.value == pytest.approx(alone.average.value, rel=1e-12)


@given(
    since=st.floats(0, 30 * DAY),
    longer=st.floats(0, 300 * DAY),
    coverage=st.floats(0, 1),
)
def test_the_chance_now_grows_from_the_last_check_on(
    since: float, longer: float, coverage: float
) -> None:
    rate = rate_interval(2, 1000 * DAY)
    times = {"since_proof": since + longer, "coverage": coverage}
    now = unavailable_now(rate, since_check=since, **times)
    assert now.value is not None
    assert 0 <= now.low <= now.value <= now.high <= 1
    fresh = unavailable_now(rate, since_check=0.0, **times)
    assert fresh.value is not None
    assert fresh.value <= now.value
    if coverage == 1:
        assert fresh.value == 0.0


def test_a_rate_that_is_not_known_leaves_the_chance_open() -> None:
    now = unavailable_now(rate_interval(0, 0.0), since_check=DAY)
    assert (now.value, now.low, now.high) == (None, 0.0, 1.0)
    assert unavailable_now(rate_interval(0, 0.0), since_check=0.0).high == 0.0


PLAN: list[dict[str, Any]] = [
    {"failures": -1},
    {"failures": 1.5},
    {"exposure": -1.0},
    {"exposure": 0.0},
    {"exposure": nan},
    {"check_interval": 0.0},
    {"check_interval": inf},
    {"proof_interval": DAY / 2},
    {"proof_interval": 1e9 * DAY},
    {"proof_interval": 0.0},
    {"coverage": 0.9},  # and no proof interval
    {"coverage": 90},
    {"coverage": -0.1},
    {"coverage": "most"},
    {"repair_time": -1.0},
    {"confidence": 2.0},
]


@pytest.mark.parametrize("changed", PLAN)
def test_figures_that_cannot_be_are_refused(changed: dict[str, Any]) -> None:
    plan = {"failures": 1, "exposure": 100 * DAY, "check_interval": DAY} | changed
    with pytest.raises(FigureError, match="Allowed: "):
        failure_on_demand(**plan)


NOW: list[dict[str, Any]] = [
    {"since_check": -1.0},
    {"since_check": nan},
    {"coverage": 0.5},
    {"since_proof": DAY / 2},
    {"coverage": 2.0},
]


@pytest.mark.parametrize("changed", NOW)
def test_times_that_cannot_be_are_refused(changed: dict[str, Any]) -> None:
    with pytest.raises(FigureError, match="Allowed: "):
        unavailable_now(rate_interval(1, DAY), **({"since_check": DAY} | changed))
