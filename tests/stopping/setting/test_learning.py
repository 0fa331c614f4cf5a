"""Learning from past settings: the planted values come back, and the doubt told is honest."""

from __future__ import annotations

import numpy as np
import pytest

from tripmargin import load_machine
from tripmargin.stopping import Adjustment
from tripmargin.stopping.setting import Adjusters, adjusters_of, learn
from tripmargin.stopping.setting.learning import SEASON

PITCH = 1.25e-3  # m, of Curlew's clevis


@pytest.fixture(scope="module")
def curlew() -> Adjusters:
    return adjusters_of(load_machine("curlew"))


def simulated(
    rng: np.random.Generator, count: int, *, leverage: float, shift: float, coupling: float,
    scatter: float = 0.05e-3, step: float = 0.05e-3, alone: bool = True,
) -> list[Adjustment]:  # fmt: skip
    """Past settings of the lower pawl with planted values; readings to the nearest blade."""
    made = []
    for number in range(count):
        turns = rng.choice([-3, -2.5, -2, -1.5, -1, -0.5, 0.5, 1, 1.5])
        before = np.array([rng.uniform(4.5e-3, 7e-3), rng.uniform(3e-3, 5e-3)])
        own = turns * PITCH * leverage + rng.normal(shift, scatter)
        after = before + np.array([own, coupling * own])
        upper: dict[str, float] = {"upper": 0.0}
        if not alone:  # the upper pawl is set too; what was done to it nobody wrote down
            move = rng.uniform(-1e-3, 1e-3)
            after += np.array([0.05 * move, move])
            upper = {}
        seen = [np.round(g / step) * step for g in (before, after)]
        names = ("lower", "upper")
        made.append(
            Adjustment(
                dict(zip(names, seen[0].tolist(), strict=True)),
                dict(zip(names, seen[1].tolist(), strict=True)),
                turns={"lower": float(turns), **upper},
                time=number * SEASON / 2,
            )
        )
    return made


def test_learning_comes_to_the_planted_leverage_coupling_and_tightening(curlew: Adjusters) -> None:
    planted = {"leverage": 0.8, "shift": 0.28e-3, "coupling": 0.31}
    past = simulated(np.random.default_rng(1), 60, **planted)
    made, said = learn(curlew, past)
    lower = made.pawls[0]
    assert lower.leverage.mean == pytest.approx(0.8, abs=0.015)
    assert lower.shift.mean == pytest.approx(0.28e-3, abs=0.03e-3)
    assert lower.coupling.mean == pytest.approx(0.31, abs=0.01)
    assert lower.shift_scatter < curlew.pawls[0].shift_scatter
    counts = {(one.pawl, one.what): one.count for one in said}
    assert counts[("lower", "leverage")] == 60
    assert counts[("lower", "coupling")] == 60


def test_the_error_shrinks_as_settings_are_added(curlew: Adjusters) -> None:
    errors = []
    for count in (1, 4, 16, 64):
        rng = np.random.default_rng(2)
        off = [
            learn(curlew, simulated(rng, count, leverage=0.85, shift=0.0, coupling=0.1))[0]
            .pawls[0].leverage.mean - 0.85
            for _ in range(20)
        ]  # fmt: skip
        errors.append(float(np.sqrt(np.mean(np.square(off)))))
    assert errors == sorted(errors, reverse=True)
    assert errors[-1] < 0.2 * errors[0]


def test_one_setting_does_not_overthrow_what_the_file_says(curlew: Adjusters) -> None:
    odd = Adjustment({"lower": 6e-3}, {"lower": 5.2e-3}, turns={"lower": -2.0})
    made, _ = learn(curlew, [odd])
    before = curlew.pawls[0].leverage
    assert abs(made.pawls[0].leverage.mean - before.mean) < 3 * before.sd
    assert made.pawls[0].leverage.mean > 0.7  # the setting alone says (0.8 + 0.1) / 2.5 = 0.36


def test_the_interval_told_holds_the_truth_as_often_as_it_says(curlew: Adjusters) -> None:
    # Truths drawn from what the file says; 95 % intervals by 2 standard errors.
    rng = np.random.default_rng(5)
    lower = curlew.pawls[0]
    hits, count = 0, 400
    for _ in range(count):
        truth = rng.normal(lower.leverage.mean, lower.leverage.sd)
        shift = rng.normal(lower.shift.mean, lower.shift.sd)
        past = simulated(
            rng, 5, leverage=truth, shift=shift, coupling=0.12, scatter=lower.shift_scatter
        )
        found = learn(curlew, past)[0].pawls[0].leverage
        hits += abs(found.mean - truth) <= 2 * found.sd
    assert 0.9 < hits / count < 0.99


def test_the_others_shares_are_taken_off_before_leverage_is_learned(curlew: Adjusters) -> None:
    past = simulated(
        np.random.default_rng(3), 60, leverage=1.2, shift=0.1e-3, coupling=0.12, alone=False
    )
    made, said = learn(curlew, past)
    assert made.pawls[0].leverage.mean == pytest.approx(1.2, abs=0.03)
    assert "coupling" not in {one.what for one in said if one.pawl == "lower"}


def test_without_turns_nothing_is_learned_of_leverage(curlew: Adjusters) -> None:
    past = [Adjustment({"lower": 6e-3, "upper": 4e-3}, {"lower": 3.5e-3, "upper": 3.9e-3})]
    made, said = learn(curlew, past)
    assert said == ()
    assert made == curlew


def test_a_clamp_teaches_what_tightening_does(curlew: Adjusters) -> None:
    rng = np.random.default_rng(6)
    past = []
    for _ in range(30):
        placed = 3.6e-3
        after = placed + rng.normal(0.15e-3, 0.03e-3)
        past.append(Adjustment({"upper": 5e-3}, {"upper": after}, placed={"upper": placed}))
    made, said = learn(curlew, past)
    assert made.pawls[1].shift.mean == pytest.approx(0.15e-3, abs=0.02e-3)
    assert [one.what for one in said] == ["tightening_shift"]


def test_a_clevis_measured_before_it_was_tightened_teaches_both_halves(curlew: Adjusters) -> None:
    past = [
        Adjustment(
            {"lower": 6e-3}, {"lower": 6e-3 - 2 * PITCH * 0.9 + 0.2e-3},
            turns={"lower": -2.0}, placed={"lower": 6e-3 - 2 * PITCH * 0.9},
        )
        for _ in range(20)
    ]  # fmt: skip
    lower = learn(curlew, past)[0].pawls[0]
    assert lower.leverage.mean == pytest.approx(0.9, abs=0.01)
    assert lower.shift.mean == pytest.approx(0.2e-3, abs=0.02e-3)


def test_what_is_found_after_what_was_left_teaches_the_drift(curlew: Adjusters) -> None:
    rng = np.random.default_rng(8)
    past, gap = [], 3.4e-3
    for year in range(12):
        found = gap + 0.6e-3 + rng.normal(0, 0.04e-3)
        past.append(Adjustment({"lower": found}, {"lower": 3.4e-3}, time=year * SEASON))
    made, said = learn(curlew, past)
    drift = made.pawls[0].drift
    assert drift.nominal == pytest.approx(0.6e-3, abs=0.06e-3)
    assert [(one.what, one.count) for one in said] == [("season_drift", 11)]
    assert drift.high > 0.6e-3 > drift.low


def test_the_order_of_the_records_does_not_matter(curlew: Adjusters) -> None:
    past = simulated(np.random.default_rng(9), 12, leverage=0.9, shift=0.0, coupling=0.1)
    one, other = (learn(curlew, each)[0].pawls[0] for each in (past, past[::-1]))
    assert one.leverage.mean == pytest.approx(other.leverage.mean, rel=1e-12)
    assert one.drift.nominal == pytest.approx(other.drift.nominal, rel=1e-12)
