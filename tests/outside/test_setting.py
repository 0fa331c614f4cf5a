"""Setting the pawls: threads by the standard's pitches, and what past settings teach.

ISO 261 coarse pitches and the geometry of one flat (CHECKS 5.1, 5.3). The regression by which past
settings teach: NIST StRD Norris (CHECKS 6.27, read from the file in scipy's own test data), values
and standard errors certified to 15 digits; statsmodels' least squares, run here, a belief held
before being as many further rows. V: seen; C: computed.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
import statsmodels.api as sm

from tests.reference import lacking
from tripmargin import load_machine
from tripmargin.stopping import pawl_steps
from tripmargin.stopping.setting import adjusters_of, regression


@pytest.mark.parametrize(
    ("pitch", "flat"), [(1.0, 0.1667), (1.25, 0.2083), (1.5, 0.25), (1.75, 0.2917), (2.0, 0.3333)]
)
def test_one_flat_of_a_coarse_thread_moves_the_gap_as_geometry_says(
    pitch: float, flat: float
) -> None:
    # CHECKS 5.3: one sixth of a turn, leverage 1; 1e-4 mm
    machine = load_machine("sanderling").with_settings(
        {
            "chain.pawls.drive.adjuster.thread_pitch": pitch * 1e-3,
            "chain.pawls.drive.adjuster.leverage": 1,
            "chain.pawls.drive.adjuster.smallest_turn": np.pi / 3,
        }
    )
    (adjuster,) = adjusters_of(machine).pawls
    assert adjuster.step * 1e3 == pytest.approx(flat, abs=1e-4)
    steps = pawl_steps(machine, gaps={"drive": 0.0055})
    turns = steps.steps[0].turns
    assert turns is not None
    moved = steps.gaps_after["drive"] - 0.0055 - adjuster.shift.mean
    assert moved == pytest.approx(turns * pitch * 1e-3, abs=1e-9)


def norris() -> tuple[np.ndarray, np.ndarray, str]:
    path = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_linregress" / "Norris.dat"
    if not path.exists():
        lacking("NIST StRD Norris, in the test data of scipy's wheel")
    text = path.read_text(encoding="ascii")
    rows = np.array([line.split() for line in text.splitlines()[60:96]], float)
    return rows[:, 1], rows[:, 0], text


def test_without_belief_norris_data_give_the_certified_line() -> None:
    # NIST StRD Norris, 36 points; V (file read)
    x, y, text = norris()
    found = regression(np.column_stack([np.ones(36), x]), y)
    certified = [float(n) for n in re.findall(r"B[01]\s+(\S+)\s+\S+\n", text)]
    errors = [float(n) for n in re.findall(r"B[01]\s+\S+\s+(\S+)\n", text)]
    assert certified == [-0.262323073774029, 1.00211681802045]
    assert found.mean == pytest.approx(certified, rel=1e-11)
    assert found.standard_errors == pytest.approx(errors, rel=1e-10)
    assert np.sqrt(found.scatter_variance) == pytest.approx(0.884796396144373, rel=1e-10)
    assert found.shape == 17  # half of 34 degrees of freedom


@pytest.mark.parametrize("seed", range(4))
def test_without_belief_it_is_the_general_librarys_least_squares(seed: int) -> None:
    # statsmodels OLS: coefficients, standard errors; C
    rng = np.random.default_rng(seed)
    x = rng.normal(size=(12, 3))
    y = x @ [1.0, -2.0, 0.5] + rng.normal(0, 0.3, 12)
    fit = sm.OLS(y, x).fit()
    found = regression(x, y)
    assert found.mean == pytest.approx(fit.params, rel=1e-10)
    assert found.standard_errors == pytest.approx(fit.bse, rel=1e-10)


@pytest.mark.parametrize("seed", range(4))
def test_a_belief_is_as_good_as_further_values(seed: int) -> None:
    # statsmodels OLS on the values with the belief as rows of its own; C
    rng = np.random.default_rng(seed)
    x = np.column_stack([rng.uniform(0.5, 4, 6), np.ones(6)])
    y = x @ [0.9, 0.1] + rng.normal(0, 0.05, 6)
    mean, precision = np.array([1.1, 0.0]), np.diag([4.0, 9.0])
    found = regression(x, y, mean=mean, precision=precision, shape=2.0, scale=0.01)
    rows = np.sqrt(precision)
    fit = sm.OLS(np.concatenate([y, rows @ mean]), np.vstack([x, rows])).fit()
    assert found.mean == pytest.approx(fit.params, rel=1e-10)
    assert found.spread == pytest.approx(fit.normalized_cov_params, rel=1e-9)
    assert found.scale == pytest.approx(0.01 + fit.ssr / 2, rel=1e-9)
    assert found.shape == 2.0 + 6 / 2


def test_the_belief_after_is_the_product_of_belief_before_and_likelihood() -> None:
    # Bayes' theorem on a grid over one coefficient and the scatter: plain sums; C
    x, y = np.array([1.0, 2.0, 3.0]), np.array([0.7, 2.1, 2.9])
    found = regression(x[:, None], y, mean=[1.2], precision=[[5.0]], shape=3.0, scale=0.2)
    b, v = np.meshgrid(np.linspace(0.2, 2.0, 1201), np.geomspace(1e-3, 3, 1201), indexing="ij")
    log = scipy.stats.invgamma.logpdf(v, 3.0, scale=0.2)
    log += scipy.stats.norm.logpdf(b, 1.2, np.sqrt(v / 5.0))
    log += sum(scipy.stats.norm.logpdf(yi, b * xi, np.sqrt(v)) for xi, yi in zip(x, y, strict=True))
    weight = np.exp(log - log.max()) * v  # even steps of ln v
    weight /= weight.sum()
    mean = (weight * b).sum()
    assert found.mean[0] == pytest.approx(mean, rel=1e-4)
    # The coefficient is t distributed: its variance is a / (a - 1) of the squared scale.
    variance = (weight * (b - mean) ** 2).sum()
    told = found.standard_errors[0] ** 2 * found.shape / (found.shape - 1)
    assert told == pytest.approx(variance, rel=2e-3)


@pytest.mark.parametrize(
    ("design", "values"), [([[1.0, 1.0]], [1.0]), ([[1.0, 2.0], [2.0, 4.0], [3.0, 6.0]], [1, 2, 3])]
)
def test_too_few_values_are_refused(design: list[list[float]], values: list[float]) -> None:
    with pytest.raises(ValueError, match="too few"):
        regression(design, values)
