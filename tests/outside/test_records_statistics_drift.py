"""Drift charts and trends, against a handbook's example, certified data and general libraries.

NIST e-Handbook 6.3.2.4 (CHECKS 6.8) and NIST StRD Norris (CHECKS 6.27, read from the file in
scipy's own test data); statsmodels' regression, run here, for weights and bands; an integral
equation, solved here, for how long a chart keeps quiet. V: seen; C: computed; M: from memory.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
import statsmodels.api as sm
from scipy import optimize

from tests.reference import lacking
from tripmargin.records.statistics import ewma, trend

NIST = [52.0, 47, 53, 49.3, 50.1, 47, 51, 50.1, 51.2, 50.5]
NIST += [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
NIST_AVERAGES = [50.0, 50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33]
NIST_AVERAGES += [50.11, 49.36, 49.52, 50.05, 49.38, 49.92, 50.73, 51.23, 51.94, 51.99]
DAY = 86400.0


def test_the_handbooks_chart_has_its_averages_and_limits_and_no_signal() -> None:
    # NIST e-Handbook 6.3.2.4, target 50, s 2.0539, weight 0.3: limits 52.5884 and 47.4115, no
    # signal; V (all values and limits) and C. The page rounds a factor: 1e-4.
    drift = ewma(NIST, target=50.0, sd=2.0539, weight=0.3, width=3.0, settled=True)
    assert [50.0, *drift.averages] == pytest.approx(NIST_AVERAGES, abs=0.005 + 1e-9)
    assert drift.upper == pytest.approx([52.5884] * 20, abs=1e-4)
    assert drift.lower == pytest.approx([47.4115] * 20, abs=1e-4)
    assert drift.signals == ()
    assert ewma(NIST, target=50.0, sd=2.0539).signals == ()


def run_length(shift: float, weight: float, width: float) -> float:
    """Mean number of values up to the first signal, settled limits, in units of sd.

    L(u) = 1 + (1/w) times the integral of L(y) f((y - (1 - w) u)/w - shift) over the limits; Gauss
    and Legendre's points (Crowder, Technometrics 29 (1987) 401, from memory).
    """
    limit = width * np.sqrt(weight / (2 - weight))
    points, weights = np.polynomial.legendre.leggauss(80)
    y, w = limit * points, limit * weights
    kernel = scipy.stats.norm.pdf((y[None, :] - (1 - weight) * y[:, None]) / weight - shift)
    lengths = np.linalg.solve(np.eye(y.size) - kernel * w / weight, np.ones(y.size))
    at_start = scipy.stats.norm.pdf(y / weight - shift)
    return float(1 + (lengths * at_start * w / weight).sum())


@pytest.mark.parametrize(
    ("shift", "weight", "width", "longest"),
    [(0.0, 0.3, 2.0, 400), (0.0, 0.1, 1.8, 500), (1.0, 0.3, 3.0, 200), (0.5, 0.2, 2.5, 400)],
)
def test_a_chart_keeps_quiet_as_long_as_its_integral_equation_says(
    shift: float, weight: float, width: float, longest: int
) -> None:
    # Crowder's integral equation, solved here; it gives 500 at weight 0.25 and width 2.998 (Lucas
    # and Saccucci, Technometrics 32 (1990) 1, M). Ours: the first signal of drawn series.
    assert run_length(0.0, 0.25, 2.998) == pytest.approx(500, rel=0.01)
    rng = np.random.default_rng(64)
    first = []
    for _ in range(3000):
        values = rng.normal(shift, 1.0, longest)
        drift = ewma(values, target=0.0, sd=1.0, weight=weight, width=width, settled=True)
        first.append(drift.signals[0] + 1 if drift.signals else longest)
    error = np.std(first) / np.sqrt(len(first))
    assert np.mean(first) == pytest.approx(run_length(shift, weight, width), abs=3.5 * error)


def norris() -> tuple[np.ndarray, np.ndarray, str]:
    folder = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress"
    path = folder / "Norris.dat"
    if not path.exists():
        lacking("NIST StRD Norris, in the test data of scipy's wheel")
    text = path.read_text(encoding="ascii")
    rows = np.array([line.split() for line in text.splitlines()[60:96]], float)
    return rows[:, 1], rows[:, 0], text


def test_the_line_through_norris_data_is_the_certified_one() -> None:
    # NIST StRD Norris, 36 points: values and standard errors certified to 15 digits; V (file read)
    x, y, text = norris()
    assert x.size == 36
    found = trend(x, y)
    certified = [float(n) for n in re.findall(r"B[01]\s+(\S+)\s+\S+\n", text)]
    errors = [float(n) for n in re.findall(r"B[01]\s+\S+\s+(\S+)\n", text)]
    assert certified == [-0.262323073774029, 1.00211681802045]
    assert found.line is not None
    assert found.slope is not None
    assert found.slope.value == pytest.approx(certified[1], rel=1e-12)
    assert found.line.at(0.0) == pytest.approx(certified[0], rel=1e-9)
    assert found.residual_sd == pytest.approx(0.884796396144373, rel=1e-9)
    quantile = scipy.stats.t.ppf(0.975, 34)
    assert (found.slope.high - found.slope.low) / 2 == pytest.approx(errors[1] * quantile, rel=1e-9)
    assert found.line.half_width(0.0) == pytest.approx(errors[0] * quantile, rel=1e-9)


def worn(seed: int, count: int = 18) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Clearances of uneven certainty at uneven times."""
    rng = np.random.default_rng(seed)
    times = DAY * np.sort(rng.uniform(0, 150, count))
    u = rng.uniform(0.03, 0.2, count)
    return times, 1.0 + 0.006 * times / DAY + 2 * u * rng.standard_normal(count), u


@pytest.mark.parametrize("weighed", [False, True])
def test_slope_and_band_are_those_of_the_general_library(weighed: bool) -> None:
    # statsmodels OLS and WLS: intervals of slope, band of the mean, probability of the slope
    for seed in range(6):
        times, values, u = worn(seed)
        found = trend(times, values, confidence=0.9, uncertainty=u if weighed else None)
        days = sm.add_constant(times / DAY)
        fit = sm.WLS(values, days, weights=1 / u**2 if weighed else 1.0).fit()
        assert found.slope is not None
        assert found.line is not None
        assert found.residual_sd == pytest.approx(np.sqrt(fit.scale), rel=1e-9)
        assert not weighed or found.residual_sd > 1  # or the library's scale would be smaller
        limits = np.array([found.slope.low, found.slope.high]) * DAY
        assert limits == pytest.approx(fit.conf_int(0.1)[1], rel=1e-9)
        assert found.chance == pytest.approx(fit.pvalues[1] / 2, rel=1e-7)
        at = np.array([-50.0, 0.0, 80.0, 400.0])
        band = fit.get_prediction(sm.add_constant(at)).conf_int(alpha=0.1)
        for day, (low, high) in zip(at, band, strict=True):
            middle, half = found.line.at(day * DAY), found.line.half_width(day * DAY)
            assert (middle - half, middle + half) == pytest.approx((low, high), rel=1e-9)


def test_a_limit_is_reached_when_the_librarys_band_reaches_it() -> None:
    # statsmodels OLS, its band searched for the limit by bisection (scipy.optimize.brentq)
    checked = 0
    for seed in range(12):
        times, values, _ = worn(seed)
        found = trend(times, values, limits=(None, 3.0)).rises_above
        assert found is not None
        fit = sm.OLS(values, sm.add_constant(times / DAY)).fit()

        def band(
            day: float, column: int, fit: sm.regression.linear_model.RegressionResults = fit
        ) -> float:
            frame = fit.get_prediction([[1.0, day]]).summary_frame(alpha=0.05)
            return float(frame.iloc[0][["mean_ci_upper", "mean", "mean_ci_lower"]].iloc[column])

        for column, time in enumerate((found.soonest, found.time, found.latest)):
            last = times[-1] / DAY
            if np.isinf(time):
                assert band(1e7, column) < 3.0
                continue
            assert band(last, column) < 3.0
            searched = optimize.brentq(lambda day, c=column: band(day, c) - 3.0, last, 1e7)
            assert time / DAY == pytest.approx(searched, rel=1e-6)
            checked += 1
    assert checked > 25


def test_intervals_of_a_trend_cover_as_often_as_they_say() -> None:
    # By simulation, 4000 series of ten values: slope, line now, and the day that the limit is
    # reached; exact for the first two, at least as often for the day
    rng = np.random.default_rng(65)
    times = DAY * np.sort(rng.uniform(0, 100, 10))
    slope, runs, hits = 0.004 / DAY, 4000, np.zeros(3)
    reached = (1.8 - 1.0) / slope
    for _ in range(runs):
        values = 1.0 + slope * times + rng.normal(0, 0.1, 10)
        found = trend(times, values, limits=(None, 1.8))
        assert found.slope is not None
        assert found.value_now is not None
        assert found.rises_above is not None
        now = 1.0 + slope * times[-1]
        hits += (
            found.slope.low <= slope <= found.slope.high,
            found.value_now.low <= now <= found.value_now.high,
            found.rises_above.soonest <= reached <= found.rises_above.latest,
        )
    error = 3.5 * np.sqrt(0.05 * 0.95 / runs)
    assert hits[:2] / runs == pytest.approx(0.95, abs=error)
    assert hits[2] / runs >= 0.95 - error
