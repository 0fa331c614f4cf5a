"""Shares of a variance against closed forms and a general library (CHECKS 6.24).

Sources: Ishigami and Homma 1990 and Saltelli et al. for the closed form; SALib for a second
estimate of a model that has none.
"""

from __future__ import annotations

import numpy as np
import pytest
from SALib.analyze import sobol as sobol_analysis
from SALib.sample import sobol as sobol_sampling

from tripmargin.protection.sensitivity import first_order_shares


def ishigami(u: np.ndarray) -> np.ndarray:
    x = np.pi * (2 * u - 1)
    return np.asarray(
        np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    )


def test_ishigami_s_function_has_its_closed_form_shares() -> None:
    # V 13.844588; S 0.313905, 0.442411, 0; mean a / 2 = 3.5
    shares, (mean, variance) = first_order_shares(ishigami, 3, 1 << 14)
    assert shares == pytest.approx([0.313905, 0.442411, 0.0], abs=0.01)
    assert mean == pytest.approx(3.5, abs=0.01)
    assert variance == pytest.approx(13.844588, rel=0.005)


def test_the_usual_number_of_draws_is_enough_to_name_the_order() -> None:
    shares, _ = first_order_shares(ishigami, 3, 1024)
    assert shares == pytest.approx([0.313905, 0.442411, 0.0], abs=0.06)
    assert np.argsort(-shares).tolist() == [1, 0, 2]


def g_function(u: np.ndarray, a: np.ndarray) -> np.ndarray:
    return np.asarray(((np.abs(4 * u - 2) + a) / (1 + a)).prod(axis=1))


def test_sobol_s_g_function_has_its_closed_form_shares() -> None:
    # V_i = 1 / (3 (1 + a_i)^2); V = prod(1 + V_i) - 1 (Saltelli and Sobol 1995, from memory)
    a = np.array([0.0, 1.0, 4.5, 9.0, 99.0])
    part = 1 / (3 * (1 + a) ** 2)
    shares, (_, variance) = first_order_shares(lambda u: g_function(u, a), 5, 1 << 14)
    whole = float(np.prod(1 + part) - 1)
    assert variance == pytest.approx(whole, rel=0.02)
    assert shares == pytest.approx(part / whole, abs=0.02)


def stop(u: np.ndarray) -> np.ndarray:
    """A travel with the later of two pawls: no closed form."""
    swing = (6 + 2 * u[:, :2]) * np.sqrt((2.7 + 1.6 * u[:, 2:4]) / 3.5)
    late = np.maximum(*(swing + 10 * u[:, 4:6]).T)
    return np.asarray((1 - 0.06 * u[:, 6]) * (20 + 4 * u[:, 7] + late))


def test_the_later_pawl_s_shares_are_those_of_the_general_library() -> None:
    problem = {"num_vars": 8, "names": [f"u{i}" for i in range(8)], "bounds": [[0, 1]] * 8}
    points = sobol_sampling.sample(problem, 1 << 13, calc_second_order=False, seed=5)
    theirs = sobol_analysis.analyze(problem, stop(points), calc_second_order=False, seed=5)
    ours, _ = first_order_shares(stop, 8, 1 << 13)
    assert ours == pytest.approx(np.maximum(theirs["S1"], 0), abs=0.02)


def test_a_result_that_nothing_moves_has_no_shares() -> None:
    shares, moments = first_order_shares(lambda u: np.full(len(u), 2.0), 3, 64)
    assert (shares.tolist(), moments.tolist()) == ([0, 0, 0], [2.0, 0.0])
