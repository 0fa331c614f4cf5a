"""Numbers that an answer tells, worked out again from other answers."""

from __future__ import annotations

import re

import numpy as np
import pytest

from tests.made_machines import BOTH_OPPOSED, TWO_OPPOSED_WINDINGS, lopsided, made, two_assemblies
from tripmargin import load_machine
from tripmargin.protection import prove, race
from tripmargin.sensing import Piece, passes, simulate_pass

CUT = 0.012


def test_the_limits_of_a_margin_take_the_crossing_at_the_sensors_own_limits() -> None:
    machine = made(sensor=lopsided(), rotation="0 deg +- 6 deg")
    piece, at = Piece.ball(0.03), {"x": 0.1, "height": 0.03}
    run = race(machine, cut_length=CUT, piece=piece, **at)
    crossings = []
    for end in ("-6 deg", "0 deg", "6 deg"):
        turned = machine.with_settings({"sensor.rotation": end})
        one = simulate_pass(turned, piece, speed=run.metal_speed, **at)
        assert one.crossing_y is not None
        crossings.append(one.crossing_y)
    assert max(crossings) - min(crossings) > 0.004
    assert run.margin is not None
    bar = run.sensor_to_shear_bar
    assert run.margin.low == pytest.approx(bar.low - max(crossings) - run.travel.high, abs=2e-3)
    assert run.margin.high == pytest.approx(bar.high - min(crossings) - run.travel.low, abs=2e-3)


def test_the_smallest_ball_at_the_worst_place_is_protected_there_and_no_smaller_one_is() -> None:
    machine = made(sensor=two_assemblies(BOTH_OPPOSED))
    cut = prove(machine, cut_lengths=[CUT]).cuts[0]
    assert cut.smallest_ball is not None
    assert cut.smallest_ball_worst is not None
    assert cut.smallest_ball_worst > 1.05 * cut.smallest_ball
    for factor, enough in ((1.06, True), (0.94, False)):
        ball = Piece.ball(factor * cut.smallest_ball_worst)
        worst = prove(machine, cut_lengths=[CUT], pieces=[ball]).cuts[0].worst_place
        assert worst is not None
        assert (worst[2] >= 0.99) == enough


def test_the_margin_without_early_catching_is_that_of_a_race_from_the_axis() -> None:
    whimbrel = load_machine("whimbrel")
    lines = prove(whimbrel, cut_lengths=[0.028]).because
    told = next(line for line in lines if "leans on catching" in line)
    axis = race(whimbrel, cut_length=0.028).margin
    assert axis is not None
    assert axis < 0
    found = re.search(r"to rest ([\d.]+) mm past the shear bar", told)
    assert found
    assert float(found[1]) == pytest.approx(-1e3 * axis, rel=0.01)


def test_what_a_lower_threshold_would_see_is_what_that_machine_sees() -> None:
    machine = made(sensor=two_assemblies(BOTH_OPPOSED), detector={"noise": "0 V"})
    small = Piece.ball(0.016)
    first = prove(machine, cut_lengths=[0.006], pieces=[small])
    told = next(line for line in first.because if line.startswith("With the threshold a fifth"))
    found = re.search(r"lower ([\d.]+) % would", told)
    assert found
    threshold = machine.get("detector.threshold").nominal
    lower = machine.with_settings({"detector.threshold": 0.8 * threshold})
    seen = prove(lower, cut_lengths=[0.006], pieces=[small]).cuts[0].seen
    assert seen is not None
    assert first.cuts[0].seen is not None
    assert seen > first.cuts[0].seen + 0.01
    assert float(found[1]) == pytest.approx(100 * seen, abs=0.1)


def test_a_sign_change_that_is_not_silent_is_no_blind_line() -> None:
    # One assembly 12 mm deeper: the signal still changes sign between the two, but at another y
    # for each x, so that something is left to see everywhere.
    sensor = two_assemblies(TWO_OPPOSED_WINDINGS)
    for assembly, part in ((0, 0), (1, 1)):
        place = list(sensor["assemblies"][assembly]["centre"])
        place[1] += 0.02 if part else -0.02
        sensor["assemblies"][assembly]["centre"] = place
    common = {
        "speeds": np.array([1.0, 2.0]),
        "places": np.linspace(-0.3, 0.3, 25),
        "heights": np.array([0.02, 0.05]),
    }
    skewed = passes(made(sensor=sensor), Piece.ball(0.01), **common)
    assert skewed.nulls == ()
    straight = passes(made(sensor=two_assemblies(TWO_OPPOSED_WINDINGS)), Piece.ball(0.01), **common)
    assert straight.nulls == pytest.approx((0.0,), abs=1e-4)
