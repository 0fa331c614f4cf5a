"""What stages and settings cost, and what to measure next."""

from __future__ import annotations

import numpy as np
import pytest

from tests.made_machines import lopsided, made, plover
from tripmargin.protection import setting_costs, stage_costs
from tripmargin.protection.bench import Bench
from tripmargin.protection.doubt import MarginModel, Situation, measure_next
from tripmargin.sensing import Piece
from tripmargin.stopping import stop_chain, travel_chances

BALL = Piece.ball(0.03)
HERE = Situation(BALL, cut_length=0.014, place=0.06, height=0.03)


@pytest.mark.parametrize("cut", [0.006, 0.02])
def test_the_stages_costs_add_up_to_the_travel(cut: float) -> None:
    for machine in (plover(), made()):
        costs = stage_costs(machine, cut)
        assert sum(c.margin for c in costs) == pytest.approx(
            float(stop_chain(machine, cut_length=cut).travel), rel=1e-9
        )
        assert all(c.margin >= 0 for c in costs)


def test_each_setting_costs_what_the_stop_with_it_travels_more() -> None:
    machine = plover()
    found = {c.what: c.margin for c in setting_costs(machine, 0.014)}
    base = stop_chain(machine, cut_length=0.014).travel
    for volts in (-2.0, 2.0):
        (cost,) = (m for w, m in found.items() if "supply" in w and f"{volts:+g}" in w)
        other = stop_chain(machine, cut_length=0.014, supply=13.2 + volts).travel
        assert cost == pytest.approx(float(other - base), abs=1e-12)
    assert any(m > 0 for m in found.values())
    assert any(m < 0 for m in found.values())


def test_the_margin_s_model_draws_the_margin_that_the_chances_have() -> None:
    machine = made(
        sensor=lopsided(),
        feed={"cutterhead_speed": "1000 rpm +- 2 %", "sensor_to_shear_bar": "330 mm +- 4 mm"},
        chain={"relay_release": "4 ms .. 9 ms"},
    )
    cut = 0.014
    bench = Bench(machine, [cut])
    model = MarginModel(bench, HERE)
    assert [path for path, _ in model.inputs] == [
        "chain.relay_release",
        "feed.cutterhead_speed",
        "feed.sensor_to_shear_bar",
    ]
    rng = np.random.default_rng(3)
    margin = model.margin(rng.uniform(size=(4000, 4)))
    assert np.isfinite(margin).all()
    crossing = model.crossing({"n": np.zeros(1)})[0]
    mean, sd = travel_chances(machine, cut).travel()
    assert margin.mean() == pytest.approx(0.33 - crossing - mean, abs=5e-4)
    assert margin.std() == pytest.approx(np.hypot(sd, 4e-3 / np.sqrt(3)), rel=0.05)


def test_the_widest_input_is_the_one_to_measure_next() -> None:
    machine = made(
        sensor=lopsided(),
        feed={"sensor_to_shear_bar": "330 mm +- 2 mm"},
        chain={"relay_release": "2 ms .. 30 ms"},
    )
    bench = Bench(machine, [0.014])
    first, *_ = measure_next(bench, HERE, about="margin")
    assert first.field == "chain.relay_release"
    assert first.doubt_after < first.doubt
    assert first.doubt_after == pytest.approx(first.doubt * np.sqrt(1 - first.share))
    # shares in closed form: the relay's way, the wait for a tooth and the bar add up in squares
    v = 0.014 * 10 * 1000 / 60
    parts = np.array([28e-3 * v, np.pi * 0.19 / 18, 4e-3]) ** 2 / 12
    assert first.share == pytest.approx(parts[0] / parts.sum(), abs=0.06)  # 1024 draws


def test_what_weakens_the_signal_most_is_to_be_measured_where_it_is_missed() -> None:
    machine = made(sensor=lopsided(), detector={"gain": "900 +- 30 %", "threshold": "1.5 V +- 2 %"})
    bench = Bench(machine, [0.014])
    first, *_ = measure_next(bench, HERE, about="signal")
    assert first.field == "detector.gain"
    assert first.share > 0.9


def test_a_machine_without_doubt_has_nothing_to_measure() -> None:
    bench = Bench(made(sensor=lopsided()), [0.014])
    assert measure_next(bench, HERE, about="margin") == ()
