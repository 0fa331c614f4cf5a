"""Failure on demand, against a standard's table, quadrature and brute force.

IEC 61508-6 Annex B, Table B.2 (CHECKS 6.25: procedure V, the table's value M, digits C); scipy's
quadrature; and machines that fail, are checked, proved and mended, played hour by hour.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy import integrate

from tripmargin.records.statistics import (
    failure_on_demand,
    rate_interval,
    unavailable_now,
)

HOUR, DAY = 3600.0, 86400.0


def test_one_channel_is_that_of_the_standards_table() -> None:
    # IEC 61508-6 Table B.2, six months, 8 h to repair, 0.5e-7 dangerous failures an hour: 1.1E-4
    # (M); 0.5e-7 x (4380/2 + 8) = 1.099e-4 (C)
    found = failure_on_demand(1, HOUR / 0.5e-7, check_interval=4380 * HOUR, repair_time=8 * HOUR)
    assert found.approximate.value == pytest.approx(1.099e-4, rel=1e-9)
    assert found.average.value == pytest.approx(1.1e-4, rel=0.01)
    assert found.average.value == pytest.approx(1.099e-4, rel=1e-3)


def test_the_exact_average_is_below_the_approximation() -> None:
    # 1e-6 an hour, 8760 h: 4.36724e-3 against 4.38e-3; C (CHECKS 6.25)
    found = failure_on_demand(1, 1e6 * HOUR, check_interval=8760 * HOUR)
    assert found.average.value == pytest.approx(4.36724e-3, abs=5e-9)
    assert found.approximate.value == pytest.approx(4.38e-3, rel=1e-12)


@pytest.mark.parametrize(("check", "proof"), [(10.0, 360.0), (7.0, 365.0), (30.0, 30.0)])
@pytest.mark.parametrize("coverage", [0.0, 0.6, 0.95, 1.0])
def test_the_average_is_the_mean_over_time_by_quadrature(
    check: float, proof: float, coverage: float
) -> None:
    # scipy.integrate.quad of 1 - P(neither kind has failed), stretch by stretch, no repair time
    for rate in (1e-6, 2e-3, 0.2):
        found = failure_on_demand(
            1,
            DAY / rate,
            check_interval=check * DAY,
            proof_interval=proof * DAY,
            coverage=coverage,
        )

        def failed(t: float, rate: float = rate) -> float:
            aged = coverage * (t % check) + (1 - coverage) * t
            return float(-np.expm1(-rate * aged))

        edges = np.append(np.arange(0.0, proof, check), proof)
        parts = [
            integrate.quad(failed, a, np.nextafter(b, a), epsrel=1e-11)[0]
            for a, b in pairwise(edges)
        ]
        assert found.average.value == pytest.approx(sum(parts) / proof, rel=1e-8)


def test_limits_of_the_average_are_those_of_the_rate_carried_through() -> None:
    # Garwood's limits (CHECKS 6.4, 2 events: 0.2422 to 7.2247) through 1 - (1 - e^-x)/x by hand
    found = failure_on_demand(2, 1000 * DAY, check_interval=10 * DAY)
    for limit, events in ((found.average.low, 0.2422), (found.average.high, 7.2247)):
        x = events * 10 / 1000
        assert limit == pytest.approx(1 - (1 - np.exp(-x)) / x, rel=2e-4)


def played(
    rate: float, check: float, proof: float, coverage: float, repair: float, rounds: int
) -> tuple[float, float]:
    """Share of time out of order, and its standard error, by playing each failure singly."""
    rng = np.random.default_rng(66)
    down, length = np.zeros(rounds), np.zeros(rounds)
    looks = np.append(np.arange(check, proof - 1e-9, check), proof)
    for i in range(rounds):
        hidden = rng.exponential(1 / ((1 - coverage) * rate))
        fails, start = [min(hidden, proof)], 0.0  # when each spell out of order begins
        spells = [(fails[0], proof)]
        repairs = 0
        for look in looks:
            open_ = start + rng.exponential(1 / (coverage * rate))
            if open_ < look:
                spells.append((open_, look))
            found_hidden = look == proof and hidden < proof
            repairs += open_ < look or found_hidden
            start = look
        spells.sort()
        covered, until = 0.0, 0.0
        for begin, end in spells:
            covered += max(0.0, end - max(begin, until))
            until = max(until, end)
        down[i], length[i] = covered + repairs * repair, proof + repairs * repair
    share = down.sum() / length.sum()
    return share, float(np.std(down - share * length) / length.mean() / np.sqrt(rounds))


@pytest.mark.parametrize("repair", [0.0, 3.0])
def test_the_average_is_that_of_machines_played_singly(repair: float) -> None:
    # Brute force: exponential failures of both kinds, checks, proof tests and repairs
    rate, check, proof, coverage = 0.01, 7.0, 50.0, 0.7
    found = failure_on_demand(
        1,
        DAY / rate,
        check_interval=check * DAY,
        proof_interval=proof * DAY,
        coverage=coverage,
        repair_time=repair * DAY,
    )
    share, error = played(rate, check, proof, coverage, repair, 60000)
    assert error < 0.02 * share
    assert found.average.value == pytest.approx(share, abs=3.5 * error)


def test_the_chance_now_is_that_of_machines_played_singly() -> None:
    # Brute force: of machines that passed a check 5 days ago, 40 days after the proof test
    rng = np.random.default_rng(67)
    rate, coverage, machines = 0.01, 0.8, 400_000
    hidden = rng.exponential(1 / ((1 - coverage) * rate), machines)
    open_ = rng.exponential(1 / (coverage * rate), machines)  # since the check that found it sound
    failed = np.mean((hidden < 40.0) | (open_ < 5.0))
    now = unavailable_now(
        rate_interval(1, DAY / rate),
        since_check=5 * DAY,
        since_proof=40 * DAY,
        coverage=coverage,
    )
    assert now.value == pytest.approx(failed, abs=3.5 * np.sqrt(0.11 * 0.89 / machines))


def test_limits_of_the_average_cover_as_often_as_they_say() -> None:
    # By simulation: 3000 fleets of one true rate, their failures counted
    rng = np.random.default_rng(68)
    rate, exposure, interval = 2e-3, 2000.0, 10.0
    true = 1 + np.expm1(-rate * interval) / (rate * interval)
    hits = 0
    for failures in rng.poisson(rate * exposure, 3000):
        found = failure_on_demand(int(failures), exposure * DAY, check_interval=interval * DAY)
        hits += found.average.low <= true <= found.average.high
    assert hits / 3000 >= 0.95 - 3 * np.sqrt(0.05 * 0.95 / 3000)
