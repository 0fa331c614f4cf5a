"""Drawing a posterior, against text-book answers and quadrature."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from tripmargin.recordings.calibrating.sampling import learn


def test_learning_a_mean_is_the_text_book() -> None:
    """Normal before, one normal reading: mean y / (1 + s^2), variance s^2 / (1 + s^2) (Bayes)."""
    s = 0.02  # sharp enough that hardly a draw of the first round counts
    found = learn(4, lambda z: -0.5 * ((1.5 - z[:, 0]) / s) ** 2)
    assert found.mean(found.points[:, 0]) == pytest.approx(1.5 / (1 + s**2), abs=s / 20)
    assert found.sd(found.points[:, 0]) == pytest.approx(s / sqrt(1 + s**2), rel=0.05)
    assert found.sd(found.points[:, 3]) == pytest.approx(1.0, rel=0.05)
    low, high = found.quantiles(found.points[:, 0], (0.025, 0.975))
    assert high - low == pytest.approx(2 * 1.96 * s, rel=0.05)


def test_learning_from_yes_and_no_is_the_integral() -> None:
    """Seven answers through a steep curve, against scipy's quadrature of the same posterior."""
    from scipy.integrate import quad
    from scipy.special import ndtr

    asked = np.array([-1.0, -0.4, 0.0, 0.2, 0.5, 0.9, 1.4])
    yes = np.array([False, False, True, False, True, True, True])

    def likelihood(level: float) -> float:
        p = ndtr((asked - level) / 0.15)
        return float(np.prod(np.where(yes, p, 1 - p)))

    def weighted(power: int) -> float:
        return quad(lambda x: x**power * likelihood(x) * np.exp(-(x**2) / 2), -6, 6, limit=400)[0]

    mean = weighted(1) / weighted(0)
    sd = sqrt(weighted(2) / weighted(0) - mean**2)
    found = learn(2, lambda z: np.log([max(likelihood(x), 1e-300) for x in z[:, 0]]), draws=1024)
    assert found.mean(found.points[:, 0]) == pytest.approx(mean, abs=sd / 20)
    assert found.sd(found.points[:, 0]) == pytest.approx(sd, rel=0.05)
