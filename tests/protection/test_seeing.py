"""What a sample sees, against single passes of its own draws."""

from __future__ import annotations

import numpy as np
import pytest

from tests.made_machines import lopsided, made
from tripmargin.ground.errors import NotKnownError
from tripmargin.protection.bench import Bench
from tripmargin.protection.places import Places
from tripmargin.protection.seeing import HEIGHT, PLACE, Sample
from tripmargin.protection.strength import Strength
from tripmargin.sensing import Piece, simulate_pass

CUTS = [0.006, 0.02]
BALL = Piece.ball(0.01)


def machine_in_doubt():
    sensor = lopsided()
    sensor["assemblies"][0]["magnet"]["remanence"] = "0.40 T +- 8 %"
    return made(
        sensor=sensor,
        rotation="5 deg +- 6 deg",
        feed={"slip": "0 % .. 8 %", "cutterhead_speed": "1000 rpm +- 2 %"},
        detector={"gain": "900 +- 10 %", "high_cut": "100 Hz +- 15 %", "threshold": "1 V +- 5 %"},
    )


def test_a_sample_spreads_evenly_over_roll_and_crop() -> None:
    bench = Bench(machine_in_doubt(), CUTS)
    sample = bench.sample(2048)
    assert sample.weights.sum() == pytest.approx(1.0)
    for path, low, high in ((PLACE, -0.3, 0.3), (HEIGHT, 0.01, 0.08)):
        values = sample.values[path]
        assert low <= values.min() < values.max() <= high
        assert values.mean() == pytest.approx((low + high) / 2, abs=4e-3)
        assert values.std() == pytest.approx((high - low) / np.sqrt(12), rel=0.02)
    held = bench.sample(64, place=0.1, height=0.02)
    assert set(held.values[PLACE]) == {0.1}
    assert set(held.values[HEIGHT]) == {0.02}


def test_each_draw_sees_what_its_own_pass_sees() -> None:
    machine = machine_in_doubt()
    bench = Bench(machine, CUTS)
    sample = bench.sample(2048)
    glimpse = bench.sight(BALL, sample).at(0.02 * 10 * 1000 / 60)
    rng = np.random.default_rng(9)
    top = glimpse.peak.max()
    errors, places = [], []
    for k in rng.choice(np.flatnonzero(glimpse.peak > 0.02 * top), 40, replace=False):
        v = {path: float(x[k]) for path, x in sample.values.items()}
        own = machine.with_settings(
            {p: x for p, x in v.items() if p.startswith(("sensor.", "detector."))}
        )
        speed = 0.02 * 10 * v["feed.cutterhead_speed"] * (1 - v["feed.slip"])
        one = simulate_pass(own, BALL, x=v[PLACE], height=v[HEIGHT], speed=speed)
        errors.append(glimpse.peak[k] / one.peak - 1)
        where = one.y[np.abs(one.output) >= np.exp(-1) * one.peak][0]
        places.append(np.interp(1.0, np.linspace(0, 3, 25), glimpse.crossing[k]) - where)
    # a table between places, heights, turns and speeds: 3 % of the signal is 1 % of a diameter
    assert np.abs(errors).max() < 0.03
    assert np.sqrt(np.mean(np.square(errors))) < 0.015
    assert np.abs(places).max() < 0.008


def test_what_scales_the_signal_is_a_parabola_through_its_ends() -> None:
    machine = machine_in_doubt()
    strength = Strength.of(machine, x=0.1, height=0.04, speed=2.0)
    paths = [path for path, _ in strength.inputs]
    assert paths == ["sensor.assemblies.0.magnet.remanence", "detector.gain", "detector.high_cut"]
    nominal = {path: np.array([q.nominal]) for path, q in strength.inputs}
    assert strength.factor(nominal, 1) == pytest.approx([1.0])
    for path, low, high, exact in (
        ("detector.gain", 810.0, 990.0, (0.9, 1.1)),
        ("sensor.assemblies.0.magnet.remanence", 0.368, 0.432, (0.92, 1.08)),
    ):
        for end, wanted in zip((low, high), exact, strict=True):
            assert strength.factor(nominal | {path: np.array([end])}, 1) == pytest.approx([wanted])


def test_nothing_in_doubt_scales_nothing() -> None:
    strength = Strength.of(made(), x=0.1, height=0.04, speed=2.0)
    assert strength.inputs == ()
    assert strength.factor({}, 3).tolist() == [1.0, 1.0, 1.0]


def test_a_larger_signal_is_caught_more_surely_and_earlier() -> None:
    bench = Bench(machine_in_doubt(), CUTS)
    glimpse = bench.sight(BALL, bench.sample(512)).at(2.0)
    chance, where = glimpse.caught(np.array([[0.5], [2.0], [8.0], [100.0]]))
    assert chance.shape == where.shape == (4, 512)
    assert (np.diff(chance, axis=0) >= -1e-12).all()
    assert (np.diff(where, axis=0) <= 1e-9).all()
    assert np.isfinite(where).all()


def test_the_worst_place_is_no_better_than_the_even_spread() -> None:
    bench = Bench(machine_in_doubt(), CUTS)
    scales = np.array([1.0, 8.0, 27.0])
    places = Places.of(bench, BALL, 0.02, scales)
    spread = bench.chances(bench.sight(BALL, bench.sample(2048)), 0.02, scales, fine=False)
    for k in range(3):
        x, height, worst = places.worst(k)
        assert -0.3 <= x <= 0.3
        assert 0.01 <= height <= 0.08
        assert worst <= spread.protected[k] + 0.01
        mean = float(
            np.trapezoid(np.trapezoid(places.protected[k], places.places), places.heights)
            / (0.6 * 0.07)
        )
        assert mean == pytest.approx(spread.protected[k], abs=0.03)
        assert 0 <= places.share(0.9, k) <= 1


def test_a_sample_needs_a_roll_and_a_crop() -> None:
    strength = Strength((), np.zeros((0, 2)))
    with pytest.raises(NotKnownError, match=r"feed\.roll_width"):
        Sample.of(made(feed={"roll_width": None}), 16, strength)
