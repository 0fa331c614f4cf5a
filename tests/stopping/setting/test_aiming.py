"""The aim: as small as the room allows where the race asks for it, else where most room is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from tripmargin import load_machine
from tripmargin.ground.quantities import Quantity
from tripmargin.stopping import stop_chain
from tripmargin.stopping.setting import Adjusters, adjusters_of, aims, inside, rooms
from tripmargin.stopping.setting.in_time import travel_per_gap


@pytest.fixture(scope="module")
def adjusters() -> Adjusters:
    return adjusters_of(load_machine("curlew"))


def late_by(slope: float) -> object:
    """A race in which each millimetre of gap costs a share of the chance."""

    def in_time(gaps: Mapping[str, Quantity], cut: float) -> float:
        return float(np.clip(1 - slope * 1e3 * max(q.nominal for q in gaps.values()), 0, 1))

    return in_time


def monte_carlo_inside(adjusters: Adjusters, gap: float, sd: float, n: int = 400_000) -> float:
    rng = np.random.default_rng(4)
    drift = adjusters.pawls[0].drift
    now = gap + sd * rng.standard_normal(n)
    later = now + rng.uniform(drift.low, drift.high, n)
    low, high = adjusters.window
    return float(((now >= low) & (now <= high) & (later >= low) & (later <= high)).mean())


@pytest.mark.parametrize("gap", [2.45e-3, 2.7e-3, 3.6e-3, 4.75e-3, 5.1e-3])
def test_the_chance_to_be_inside_is_that_of_brute_force(adjusters: Adjusters, gap: float) -> None:
    found = inside([gap, gap], 0.12e-3, adjusters)[0]
    assert found == pytest.approx(monte_carlo_inside(adjusters, gap, 0.12e-3), abs=0.003)


def test_the_room_ends_where_the_confidence_does(adjusters: Adjusters) -> None:
    (low, high), _ = rooms(adjusters)
    sd = adjusters.reading_sd
    for gap, outward in ((low, -1), (high, 1)):
        at, beyond = (inside([g, g], sd, adjusters)[0] for g in (gap, gap + outward * 0.02e-3))
        assert at >= adjusters.confidence_each > beyond


def test_a_race_that_is_won_anyway_asks_for_the_most_room(adjusters: Adjusters) -> None:
    found = aims(adjusters, late_by(0.0), [0.01])
    for aim, room in zip(found.pawls, rooms(adjusters), strict=True):
        assert room is not None
        assert aim.gap == pytest.approx(sum(room) / 2, abs=0.05e-3)
        assert not aim.race_matters


def test_the_dearer_a_millimetre_the_smaller_the_aim_but_never_out_of_the_room(
    adjusters: Adjusters,
) -> None:
    gaps = []
    for slope in (0.0, 0.001, 0.01, 0.1, 0.2):
        found = aims(adjusters, late_by(slope), [0.01])
        assert all(aim.sure_enough for aim in found.pawls)
        assert all(aim.inside >= adjusters.confidence_each for aim in found.pawls)
        gaps.append(found.pawls[0].gap)
    assert gaps == sorted(gaps, reverse=True)
    assert gaps[-1] < 2.8e-3 < 3.4e-3 < gaps[0]


def test_the_aim_is_the_best_of_all_that_are_sure_enough(adjusters: Adjusters) -> None:
    # Brute force over both gaps: the chance that both are inside and the stop in time.
    slope = 0.02
    found = aims(adjusters, late_by(slope), [0.01])
    grid = np.linspace(2.5e-3, 5e-3, 126)
    sd = adjusters.set_sd()
    within = np.stack([inside([g, g], sd, adjusters) for g in grid])
    time = 1 - slope * 1e3 * np.maximum(grid[:, None], grid[None, :])
    value = within[:, :1] * within[:, 1] * time
    value[
        ~(
            (within[:, :1] >= adjusters.confidence_each)
            & (within[:, 1] >= adjusters.confidence_each)
        )
    ] = -1
    at = np.unravel_index(value.argmax(), value.shape)
    best = value.max()
    i, j = (np.abs(grid - aim.gap).argmin() for aim in found.pawls)
    assert value[i, j] == pytest.approx(best, abs=2e-4)
    assert grid[at[0]] == pytest.approx(found.pawls[0].gap, abs=0.06e-3)


def test_more_drift_upward_lowers_the_aim(adjusters: Adjusters) -> None:
    def aim(high: float) -> float:
        drift = Quantity(high / 2, 0.0, high, "rectangular", "length")
        pawls = tuple(replace(each, drift=drift) for each in adjusters.pawls)
        return aims(replace(adjusters, pawls=pawls), late_by(0.0), [0.01]).pawls[0].gap

    assert aim(1.2e-3) < aim(0.6e-3) < aim(0.1e-3)


def test_a_cut_that_is_lost_at_any_gap_does_not_decide(adjusters: Adjusters) -> None:
    def in_time(gaps: Mapping[str, Quantity], cut: float) -> float:
        return 0.0 if cut > 0.02 else late_by(0.05)(gaps, cut)  # type: ignore[operator]

    alone = aims(adjusters, late_by(0.05), [0.01]).gaps
    both = aims(adjusters, in_time, [0.01, 0.03]).gaps
    assert both == pytest.approx(alone, abs=0.03e-3)


def test_what_a_millimetre_costs_is_the_difference_of_two_travels() -> None:
    whimbrel = load_machine("whimbrel")
    cost = travel_per_gap(whimbrel, {"lower": 3e-3, "upper": 3e-3}, 0.028)
    wide, narrow = (
        stop_chain(whimbrel, cut_length=0.028, clearance=gap).travel for gap in (3.5e-3, 2.5e-3)
    )
    assert cost == pytest.approx((wide - narrow) / 1e-3, rel=1e-9)
    assert 5 < cost < 12  # mm a millimetre: 6 m/s and some 1.3 ms of swing
