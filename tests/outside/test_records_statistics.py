"""Shares, rates and their comparison, against published tables and general libraries.

Newcombe's and Garwood's tables (CHECKS 6.1, 6.4) and the zero-failure rules (6.5 to 6.7) for
printed values; scipy.stats and statsmodels, run here, for all others. The sign behind a source
says how sure it is: V seen in public pages or test suites, C computed by a general library, M from
memory.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.rates import confint_poisson, test_poisson_2indep

from tripmargin.records.statistics import (
    rate_at_most,
    rate_change,
    rate_interval,
    rate_limits,
    share_at_least,
    share_at_most,
    share_fell,
    share_interval,
    share_limits,
    trials_needed,
)

# statsmodels names a function as tests are named: it is none
poisson_2indep = test_poisson_2indep
del test_poisson_2indep


def test_limits_of_a_share_are_those_of_newcombes_table() -> None:
    # Newcombe, Stat. Med. 17 (1998) 857, Table I, method 5; V and C (CHECKS 6.1)
    for tally, low, high in (
        ((81, 263), 0.2527, 0.3676),
        ((15, 148), 0.0578, 0.1617),
        ((0, 20), 0.0, 0.1684),
        ((1, 29), 0.0009, 0.1776),
    ):
        share = share_interval(*tally)
        assert share.low == pytest.approx(low, abs=5e-5)
        assert share.high == pytest.approx(high, abs=5e-5)


def test_limits_of_a_share_are_those_of_the_handbook() -> None:
    # NIST e-Handbook 7.2.4.1, 4 of 20, 90 %: 0.071354, 0.401029; C, equals what is remembered
    share = share_interval(4, 20, confidence=0.9)
    assert (share.low, share.high) == pytest.approx((0.071354, 0.401029), abs=2e-6)


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.999])
def test_limits_of_a_share_are_those_of_the_libraries(confidence: float) -> None:
    # scipy.stats.binomtest, exact; statsmodels proportion_confint, beta
    for n in (1, 2, 7, 30, 365, 20000):
        for s in sorted({0, 1, n // 3, n - 1, n}):
            share = share_interval(s, n, confidence=confidence)
            found = stats.binomtest(s, n).proportion_ci(confidence, method="exact")
            assert (share.low, share.high) == pytest.approx((found.low, found.high), abs=1e-10)
            theirs = proportion_confint(s, n, alpha=1 - confidence, method="beta")
            assert (share.low, share.high) == pytest.approx(theirs, abs=1e-12)


def test_limits_of_a_rate_are_those_of_garwoods_table() -> None:
    # Garwood, Biometrika 28 (1936) 437, 95 %; C, equals what is remembered (CHECKS 6.4)
    for events, low, high in (
        (0, 0.0, 3.6889),
        (1, 0.0253, 5.5716),
        (2, 0.2422, 7.2247),
        (3, 0.6187, 8.7673),
        (5, 1.6235, 11.6683),
        (10, 4.7954, 18.3904),
        (20, 12.2165, 30.8884),
    ):
        rate = rate_interval(events, 1.0)
        assert (rate.low, rate.high) == pytest.approx((low, high), abs=5e-5)


@pytest.mark.parametrize("confidence", [0.5, 0.9, 0.95, 0.999])
def test_limits_of_a_rate_are_those_of_the_library(confidence: float) -> None:
    # statsmodels confint_poisson, exact-c
    for events in (0, 1, 2, 9, 100, 5000):
        for exposure in (1e-3, 3600.0, 4e8):
            rate = rate_interval(events, exposure, confidence=confidence)
            low, high = confint_poisson(events, exposure, method="exact-c", alpha=1 - confidence)
            # the library leaves no event without a lower limit
            assert rate.low == pytest.approx(0.0 if events == 0 else low, rel=1e-10)
            assert rate.high == pytest.approx(high, rel=1e-10)


def test_mean_time_between_failures_is_bounded_as_in_the_handbook() -> None:
    # NIST e-Handbook 8.4.5.1: 2 T / chi2; 800 h with 2 failures, 90 %: 127 h to 2251 h, factors
    # 0.3177 and 5.6281; none in 1000 h: 333.81 h at 95 %. Formula V, numbers C (CHECKS 6.7)
    rate = rate_interval(2, 800.0, confidence=0.9)
    assert (1 / rate.high, 1 / rate.low) == pytest.approx((127, 2251), abs=0.5)
    assert (400 * rate.low, 400 * rate.high) == pytest.approx((1 / 5.6281, 1 / 0.3177), rel=2e-4)
    assert 1 / rate_at_most(0, 1000.0) == pytest.approx(333.81, abs=0.005)


def test_no_failure_in_so_many_trials_bounds_their_share() -> None:
    # Rule of three, Hanley and Lippman-Hand 1983; C (CHECKS 6.5)
    for n, most in ((30, 0.095034), (59, 0.049508), (100, 0.029513), (299, 0.009969)):
        assert share_at_most(0, n) == pytest.approx(most, abs=1e-6)
        assert share_at_least(n, n) == pytest.approx(1 - most, abs=1e-6)


def test_so_many_trials_without_a_failure_prove_a_share() -> None:
    # Wilks 1941; C, equals what is remembered (CHECKS 6.6)
    assert [trials_needed(share) for share in (0.90, 0.95, 0.99)] == [29, 59, 299]


def test_exact_limits_of_a_share_cover_at_least_as_often_as_they_say() -> None:
    # Every outcome of n trials, weighed with its binomial probability (scipy.stats): no sampling
    for n in (5, 30, 120):
        low, high = share_limits(np.arange(n + 1), n)
        for p in np.r_[1e-3, np.linspace(0.01, 0.99, 99), 0.999]:
            covers = (low <= p) & (p <= high)
            assert stats.binom.pmf(np.arange(n + 1), n, p)[covers].sum() >= 0.95 - 1e-12


def test_exact_limits_of_a_rate_cover_at_least_as_often_as_they_say() -> None:
    # Every count up to 400, weighed with its Poisson probability (scipy.stats): no sampling
    events = np.arange(401)
    low, high = rate_limits(events, 50.0)
    for rate in np.geomspace(1e-3, 4, 120):
        covers = (low <= rate) & (rate <= high)
        assert stats.poisson.pmf(events, 50 * rate)[covers].sum() >= 0.95 - 1e-12


def test_drawn_trips_and_false_trips_fall_within_their_limits() -> None:
    # By simulation: 20000 seasons of a machine that trips at 97 % of tests and 0.02 times an hour
    rng = np.random.default_rng(61)
    low, high = share_limits(rng.binomial(120, 0.97, 20000), 120)
    assert np.mean((low <= 0.97) & (high >= 0.97)) >= 0.95 - 3 * np.sqrt(0.05 * 0.95 / 20000)
    low, high = rate_limits(rng.poisson(0.02 * 350, 20000), 350.0)
    assert np.mean((low <= 0.02) & (high >= 0.02)) >= 0.95 - 3 * np.sqrt(0.05 * 0.95 / 20000)


def test_two_rates_compare_as_in_the_libraries() -> None:
    # statsmodels test_poisson_2indep, exact-cond; scipy.stats.binomtest for test and limits
    for k0, t0, k1, t1 in (
        (2, 400.0, 9, 100.0),
        (10, 50.0, 12, 50.0),
        (1, 9.0, 0, 3.0),
        (40, 7, 90, 8),
    ):
        change = rate_change((k0, t0), (k1, t1))
        theirs = poisson_2indep(k1, t1, k0, t0, method="exact-cond", alternative="larger")
        assert change.chance == pytest.approx(theirs.pvalue, rel=1e-10)
        binomial = stats.binomtest(k1, k0 + k1, t1 / (t0 + t1), alternative="greater")
        assert change.chance == pytest.approx(binomial.pvalue, rel=1e-10)
        # at the ends of the ratio's interval each one-sided test keeps 2.5 %
        for ratio, side in ((change.ratio.low, "greater"), (change.ratio.high, "less")):
            if 0 < ratio < np.inf:
                at = ratio * t1 / (t0 + ratio * t1)
                found = stats.binomtest(k1, k0 + k1, at, alternative=side).pvalue
                assert found == pytest.approx(0.025, rel=1e-7)


def test_a_fallen_share_is_judged_as_by_the_library() -> None:
    # scipy.stats.fisher_exact, one-sided
    rng = np.random.default_rng(62)
    for _ in range(200):
        n0, n1 = (int(n) for n in rng.integers(1, 400, 2))
        s0, s1 = int(rng.integers(0, n0 + 1)), int(rng.integers(0, n1 + 1))
        wanted = stats.fisher_exact([[s1, n1 - s1], [s0, n0 - s0]], alternative="less").pvalue
        # abs: where chance is next to none the library's own digits end
        assert share_fell((s0, n0), (s1, n1)) == pytest.approx(wanted, rel=1e-7, abs=1e-14)
