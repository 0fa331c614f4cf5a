"""Tables of passes against single passes, which are computed finer and one by one."""

from __future__ import annotations

import numpy as np
import pytest

from tests.made_machines import BOTH_OPPOSED, lopsided, made, two_assemblies
from tripmargin.sensing import Piece, passes, simulate_pass
from tripmargin.sensing.tables import LEVELS, level_of, weights_of

SPEEDS = np.array([0.5, 1.5, 4.0])
PLACES = np.linspace(-0.3, 0.3, 7)
HEIGHTS = np.array([0.012, 0.04, 0.08])


@pytest.mark.parametrize(
    "piece", [Piece.ball(0.01), Piece.rod(0.008, 0.06, "y"), Piece.ball(0.03, "aluminium")]
)
def test_every_cell_is_its_own_pass(piece: Piece) -> None:
    machine = made(sensor=lopsided())
    table = passes(machine, piece, speeds=SPEEDS, places=PLACES, heights=HEIGHTS)
    for k, speed in enumerate(SPEEDS):
        for h, height in enumerate(HEIGHTS):
            for p in (1, 4, 6):
                one = simulate_pass(
                    machine, piece, x=table.places[p], height=height, speed=float(speed)
                )
                assert table.peak[k, 0, h, p] == pytest.approx(one.peak, rel=5e-3)
                for level in (2, 6, 12, 20):
                    share = np.exp(-(LEVELS[level] ** 2))
                    where = one.y[np.abs(one.output) >= share * one.peak][0]
                    assert table.crossing[k, 0, h, p, level] == pytest.approx(where, abs=1.5e-3)


def test_a_null_is_found_and_crowded_around() -> None:
    table = passes(made(), Piece.ball(0.01), speeds=SPEEDS[1:2], places=PLACES, heights=HEIGHTS)
    assert table.nulls == pytest.approx((0.0,), abs=1e-5)
    middle = int(np.abs(table.places).argmin())
    assert table.peak[0, 0, 1, middle] < 1e-6 * table.peak[0, 0, 1].max()
    assert (np.abs(table.places) < 0.01).sum() >= 7


def test_a_null_off_the_grid_and_off_the_middle_is_found() -> None:
    sensor = two_assemblies()
    for one in sensor["assemblies"]:
        one["centre"][0] += 0.0371
    table = passes(
        made(sensor=sensor), Piece.ball(0.01), speeds=SPEEDS[1:2], places=PLACES, heights=HEIGHTS
    )
    assert table.nulls == pytest.approx((0.0371,), abs=1e-4)


@pytest.mark.parametrize("sensor", [two_assemblies(BOTH_OPPOSED), lopsided()])
def test_where_nothing_cancels_no_null_is_found(sensor: dict[str, object]) -> None:
    table = passes(
        made(sensor=sensor), Piece.ball(0.01), speeds=SPEEDS[1:2], places=PLACES, heights=HEIGHTS
    )
    assert table.nulls == ()


def test_a_sensor_that_may_be_turned_has_three_turns() -> None:
    table = passes(
        made(rotation="2 deg +- 5 deg"),
        Piece.ball(0.01),
        speeds=SPEEDS[:1],
        places=PLACES,
        heights=HEIGHTS,
    )
    assert np.degrees(table.angles) == pytest.approx([-3, 2, 7])
    assert table.peak.shape == (1, 3, 3, len(table.places))


def test_crossings_come_earlier_the_lower_the_level() -> None:
    table = passes(
        made(sensor=lopsided()), Piece.ball(0.01), speeds=SPEEDS, places=PLACES, heights=HEIGHTS
    )
    assert (np.diff(table.crossing, axis=-1) <= 1e-9).all()
    assert np.isfinite(table.crossing).all()


def test_the_shares_of_nodes_are_half_the_way_to_each_neighbour() -> None:
    assert weights_of(np.array([0.0, 1.0, 3.0])) == pytest.approx([1 / 6, 1 / 2, 1 / 3])
    assert weights_of(np.array([0.3])) == pytest.approx([1.0])


def test_levels_start_at_the_peak() -> None:
    assert level_of(np.array([1.0, np.exp(-4.0)])) == pytest.approx([0.0, 2.0])
