"""Lines along which pieces travel: the grid, and what is put between its points."""

from __future__ import annotations

import numpy as np
import pytest

from tests.made_machines import lopsided, made
from tripmargin.sensing import Piece, sensor_fields
from tripmargin.sensing.lines import MU0, REACH, averaged_fields, grid, linkage, on_grid
from tripmargin.sensing.sensor import sensor_of, sources


def test_the_even_grid_covers_the_sensor_and_goes_on_behind_it() -> None:
    on = grid(step=2e-3, behind=1.7)
    assert on.y[0] == -2 * REACH
    assert on.y[-1] > REACH + 1.7
    assert len(on.y) & (len(on.y) - 1) == 0  # a power of two: the transforms are quick
    np.testing.assert_allclose(np.diff(on.y), on.step, rtol=1e-9)
    assert on.points[0] == pytest.approx(-REACH)
    assert (np.diff(on.points) > 0).all()


@pytest.mark.parametrize("width", [0.03, 0.06, 0.15])
def test_a_smooth_bump_comes_back_between_the_points(width: float) -> None:
    on = grid(step=5e-4, behind=0.6, points=241)
    bump = on_grid(1 / (1 + (on.points / width) ** 2) ** 2.5, on)
    inside = np.abs(on.y) <= REACH
    wanted = 1 / (1 + (on.y[inside] / width) ** 2) ** 2.5
    np.testing.assert_allclose(bump[inside], wanted, atol=1e-6)


def test_the_trace_fades_beyond_reach_without_a_step() -> None:
    on = grid(step=5e-4, behind=0.6, points=241)
    trace = on_grid(1 / (1 + (on.points / 0.08) ** 2) ** 3, on)
    assert np.abs(np.diff(trace)).max() < 0.02
    beyond = np.abs(on.y) > REACH
    assert np.abs(trace[beyond]).max() <= trace[~beyond][[0, -1]].max() * (1 + 1e-6)
    assert trace[0] == pytest.approx(0, abs=1e-9)
    assert trace[-1] == 0


def machine_lines(piece: Piece, height: float = 0.03):
    machine = made(sensor=lopsided())
    on = grid(step=5e-4, behind=0.6, points=241)
    source = sources(sensor_of(machine))
    at = np.array([0.12]), np.array([0.095 + height])
    return machine, on, linkage(piece, *averaged_fields(source, 0.0, piece, *at, on), on)[0]


def test_a_ball_s_linkage_is_moment_times_field_at_its_centre() -> None:
    ball = Piece.ball(0.015)
    machine, on, trace = machine_lines(ball)
    for k in np.searchsorted(on.y, [-0.2, -0.03, 0.0, 0.04, 0.3]):
        b0, b = sensor_fields(machine, [0.12, on.y[k], 0.125])
        volume, mu = np.pi / 6 * 0.015**3, 200.0
        moment = 3 * volume * (mu - 1) / (mu + 2) * b0 / MU0
        assert trace[k] == pytest.approx(moment @ b, rel=1e-4, abs=1e-11)


@pytest.mark.parametrize("axis", ["x", "y", "z"])
def test_a_rod_s_fields_are_each_averaged_along_its_length(axis: str) -> None:
    # MODEL.md: B0 and b each averaged; here by 200 even points instead of a few Gauss points
    rod = Piece.rod(0.008, 0.08, axis)
    machine, on, trace = machine_lines(rod, height=0.045)
    along = rod.orientation[:, 0] * (np.arange(200)[:, None] + 0.5 - 100) / 200 * 0.08
    for k in np.searchsorted(on.y, [-0.05, 0.0, 0.02]):
        b0, b = sensor_fields(machine, np.array([0.12, on.y[k], 0.14]) + along)
        moment = rod.moment_tensor() @ b0.mean(axis=0) / MU0
        assert trace[k] == pytest.approx(moment @ b.mean(axis=0), rel=2e-3, abs=1e-10)


def test_a_remanent_moment_adds_its_own_flux() -> None:
    from dataclasses import replace

    moment = np.array([0.1, -0.2, 0.3])
    ball = Piece.ball(0.015)
    machine, on, bare = machine_lines(ball)
    _, _, with_moment = machine_lines(replace(ball, remanent_moment=moment))
    k = int(np.searchsorted(on.y, 0.01))
    _, b = sensor_fields(machine, [0.12, on.y[k], 0.125])
    assert with_moment[k] - bare[k] == pytest.approx(moment @ b, rel=1e-4)
