"""Shares and rates: limits in order, nothing seen yet, and figures that cannot be."""

from __future__ import annotations

import json
from math import inf
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.ground.errors import TripmarginError
from tripmargin.records.statistics import (
    FigureError,
    Interval,
    rate_at_least,
    rate_at_most,
    rate_interval,
    rate_limits,
    share_at_least,
    share_at_most,
    share_interval,
    share_limits,
    trials_needed,
)

confidences = st.floats(0.5, 0.9999)


@st.composite
def tallies(draw: st.DrawFn) -> tuple[int, int]:
    trials = draw(st.integers(1, 5000))
    return draw(st.integers(0, trials)), trials


@given(tally=tallies(), confidence=confidences)
def test_a_share_lies_within_its_limits_and_they_within_0_and_1(
    tally: tuple[int, int], confidence: float
) -> None:
    share = share_interval(*tally, confidence=confidence)
    assert share.value == tally[0] / tally[1]
    assert 0 <= share.low <= share.value <= share.high <= 1
    assert share.low < share.high


@given(tally=tallies(), confidence=confidences)
def test_limits_of_a_share_are_those_of_its_rest_turned_over(
    tally: tuple[int, int], confidence: float
) -> None:
    successes, trials = tally
    share = share_interval(successes, trials, confidence=confidence)
    rest = share_interval(trials - successes, trials, confidence=confidence)
    assert share.low == pytest.approx(1 - rest.high, abs=1e-12)
    assert share.high == pytest.approx(1 - rest.low, abs=1e-12)


@given(tally=tallies(), confidence=st.floats(0.5, 0.99))
def test_more_confidence_asks_for_wider_limits(tally: tuple[int, int], confidence: float) -> None:
    narrow = share_interval(*tally, confidence=confidence)
    wide = share_interval(*tally, confidence=confidence + 0.009)
    assert wide.low <= narrow.low
    assert wide.high >= narrow.high
    assert wide.high - wide.low > narrow.high - narrow.low


@given(events=st.integers(0, 3000), exposure=st.floats(1e-3, 1e9), confidence=confidences)
def test_a_rate_lies_within_its_limits_and_goes_with_the_unit_of_exposure(
    events: int, exposure: float, confidence: float
) -> None:
    rate = rate_interval(events, exposure, confidence=confidence)
    assert rate.value == events / exposure
    assert 0 <= rate.low <= rate.value <= rate.high < inf
    hourly = rate_interval(events, exposure / 3600, confidence=confidence)
    assert hourly.high == pytest.approx(3600 * rate.high)
    assert hourly.low == pytest.approx(3600 * rate.low)


@given(tally=tallies(), confidence=st.floats(0.6, 0.999))
def test_a_one_sided_limit_is_that_of_a_two_sided_interval_with_twice_the_doubt(
    tally: tuple[int, int], confidence: float
) -> None:
    both = 2 * confidence - 1
    share, rate = (f(*tally, confidence=both) for f in (share_interval, rate_interval))
    assert share_at_least(*tally, confidence=confidence) == pytest.approx(share.low, rel=1e-9)
    assert share_at_most(*tally, confidence=confidence) == pytest.approx(share.high, rel=1e-9)
    assert rate_at_least(*tally, confidence=confidence) == pytest.approx(rate.low, rel=1e-9)
    assert rate_at_most(*tally, confidence=confidence) == pytest.approx(rate.high, rel=1e-9)


def test_where_nothing_was_seen_nothing_is_known() -> None:
    share, rate = share_interval(0, 0), rate_interval(0, 0.0)
    assert (share.value, share.low, share.high, share.known) == (None, 0.0, 1.0, False)
    assert (rate.value, rate.low, rate.high, rate.known) == (None, 0.0, inf, False)
    assert (share_at_least(0, 0), share_at_most(0, 0)) == (0.0, 1.0)
    assert (rate_at_least(0, 0.0), rate_at_most(0, 0.0)) == (0.0, inf)
    # JSON has no infinity: an open end is null
    assert json.loads(json.dumps(rate.to_dict(), allow_nan=False)) == {
        "value": None,
        "low": 0.0,
        "high": None,
        "confidence": 0.95,
    }


def test_none_of_none_and_all_of_all_are_known_to_one_side() -> None:
    none, every = share_interval(0, 20), share_interval(20, 20)
    assert (none.value, none.low) == (0.0, 0.0)
    assert (every.value, every.high) == (1.0, 1.0)
    assert none.high == pytest.approx(1 - every.low)
    assert none == Interval(0.0, 0.0, none.high, 0.95)


def test_a_fleet_at_once_is_each_machine_alone() -> None:
    rng = np.random.default_rng(4)
    trials = rng.integers(0, 50, 300)
    successes = rng.integers(0, trials + 1)
    hours = np.where(rng.random(300) < 0.1, 0.0, rng.uniform(1, 900, 300))
    events = np.where(hours > 0, rng.poisson(3, 300), 0)
    shares, rates = share_limits(successes, trials), rate_limits(events, hours)
    for i in range(300):
        share = share_interval(int(successes[i]), int(trials[i]))
        rate = rate_interval(int(events[i]), float(hours[i]))
        assert (share.low, share.high) == (shares[0][i], shares[1][i])
        assert (rate.low, rate.high) == (rates[0][i], rates[1][i])
    low, high = share_limits([[1], [2]], [10, 20, 30])
    assert low.shape == high.shape == (2, 3)


@given(share=st.floats(0.01, 0.9995), confidence=st.floats(0.05, 0.9999))
def test_so_many_trials_prove_the_share_and_one_fewer_does_not(
    share: float, confidence: float
) -> None:
    n = trials_needed(share, confidence)
    assert share_at_least(n, n, confidence=confidence) >= share * (1 - 1e-9)
    if n > 1:
        assert share_at_least(n - 1, n - 1, confidence=confidence) <= share * (1 + 1e-9)


def test_a_whole_number_of_trials_is_not_pushed_up_by_rounding() -> None:
    # 0.1^3 = 1 - 0.999 and 0.5^10 = 1 - 1023/1024, exactly
    assert trials_needed(0.1, 0.999) == 3
    assert trials_needed(0.5, 1 - 2**-10) == 10
    assert trials_needed(0.01, 0.5) == 1


BAD: list[Any] = [
    lambda: share_interval(3, 2),
    lambda: share_interval(-1, 2),
    lambda: share_interval(1, -2),
    lambda: share_interval(0.5, 2),  # type: ignore[arg-type]
    lambda: share_interval(1, float("nan")),  # type: ignore[arg-type]
    lambda: share_interval("many", 2),  # type: ignore[arg-type]
    lambda: share_interval(None, 2),  # type: ignore[arg-type]
    lambda: share_interval(1, 2, confidence=1.0),
    lambda: share_interval(1, 2, confidence=0),
    lambda: share_interval(1, 2, confidence=95),
    lambda: share_interval(1, 2, confidence=[0.9, 0.95]),  # type: ignore[arg-type]
    lambda: share_limits([1, 2], [3, 4, 5]),
    lambda: rate_interval(2, 0.0),
    lambda: rate_interval(2, -1.0),
    lambda: rate_interval(2, inf),
    lambda: rate_interval(1.5, 3.0),  # type: ignore[arg-type]
    lambda: rate_limits([0, 1], [5.0, 0.0]),
    lambda: trials_needed(1.0),
    lambda: trials_needed(0.0),
    lambda: trials_needed(0.9, 1.0),
]


@pytest.mark.parametrize("ask", BAD)
def test_figures_that_cannot_be_are_refused(ask: Any) -> None:
    with pytest.raises(FigureError, match="Allowed: ") as told:
        ask()
    assert isinstance(told.value, TripmarginError)
    assert isinstance(told.value, ValueError)


def test_the_refusal_names_the_figure_its_place_and_the_way_out() -> None:
    with pytest.raises(FigureError) as told:
        share_limits([1, 2, 9], [3, 4, 5])
    assert str(told.value) == (
        "successes[2] = 9: not usable.\n  Allowed: no more than the trials.\n"
        "  Were the two counts changed over?"
    )
    assert (told.value.name, told.value.value) == ("successes[2]", "9")
