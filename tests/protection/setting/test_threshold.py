"""The threshold: false trips by Rice's formula against what is seen, and where to stand."""

from __future__ import annotations

import json
from math import exp, isinf

import numpy as np
import pytest

from tests.made_machines import BOTH_OPPOSED, made, two_assemblies
from tripmargin import load_machine, protection
from tripmargin.ground.errors import NotKnownError
from tripmargin.machine import Machine
from tripmargin.protection import ThresholdCurve, threshold_curve
from tripmargin.protection.bench import Bench
from tripmargin.protection.judging import Judge
from tripmargin.protection.setting.same_sensor import SameSensor, with_threshold
from tripmargin.protection.sights import Sights
from tripmargin.protection.stops import Stops
from tripmargin.sensing.detector import Filter
from tripmargin.sensing.pieces import Piece

CUTS = (0.005, 0.012)


@pytest.fixture(scope="module")
def machine() -> Machine:
    return load_machine("whimbrel").with_settings({"detector.noise": "0.05 V .. 0.09 V"})


def seeing(**detector: object) -> Machine:
    """A small machine without a blind line, whose sensor sees a 20 mm ball."""
    return made(
        sensor=two_assemblies(BOTH_OPPOSED, magnet_length=0.28, turns=4000), detector=detector
    )


@pytest.fixture(scope="module")
def curve(machine: Machine) -> ThresholdCurve:
    return threshold_curve(machine, cut_lengths=CUTS)


def test_false_trips_are_rices_formula_written_out(machine: Machine, curve: ThresholdCurve) -> None:
    # 2 nu0 exp(-T^2 / 2 sigma^2) a second; Rice, BSTJ 23 (1944) 282; CHECKS 2.1 to 2.3
    nu0 = Filter.of(machine).noise_crossing_rate()
    for point in curve.points:
        for told, noise in (
            (point.false_trips_per_hour, 0.07), (point.false_trips_high, 0.09)
        ):  # fmt: skip
            assert told == pytest.approx(
                3600 * 2 * nu0 * exp(-((point.threshold / noise) ** 2) / 2), rel=1e-9
            )


def test_up_the_threshold_false_trips_fall_and_only_larger_metal_is_seen(
    curve: ThresholdCurve,
) -> None:
    thresholds = [p.threshold for p in curve.points]
    assert thresholds == sorted(thresholds)
    rates = [p.false_trips_high for p in curve.points]
    balls = [p.smallest_ball for p in curve.points]
    seen = [p.seen for p in curve.points]
    assert rates == sorted(rates, reverse=True)
    assert balls == sorted(balls)
    assert seen == sorted(seen, reverse=True)


def test_the_range_ends_where_one_of_the_two_is_no_longer_as_asked(
    machine: Machine, curve: ThresholdCurve
) -> None:
    assert curve.acceptable is not None
    low, high = curve.acceptable
    nu0 = Filter.of(machine).noise_crossing_rate()
    often = 3600 * 2 * nu0 * exp(-((low / 0.09) ** 2) / 2)
    assert often == pytest.approx(0.01, rel=1e-3)
    known = Sights(machine, list(CUTS))
    ball = Piece.ball(0.02)
    at = [
        min(SameSensor(with_threshold(machine, t), known, CUTS).seen(ball, cut) for cut in CUTS)
        for t in (0.97 * high, 1.03 * high)
    ]
    assert at[0] > 0.99 > at[1]


def test_the_recommended_place_leaves_room_on_both_sides(curve: ThresholdCurve) -> None:
    assert curve.acceptable is not None
    assert curve.recommended is not None
    low, high = curve.acceptable
    at = curve.recommended.threshold
    assert at == pytest.approx(min((low * high) ** 0.5, 2 * low), rel=1e-6)
    assert curve.recommended.seen >= 0.99
    assert curve.recommended.false_trips_high < 0.01
    said = " ".join(curve.because)
    assert f"the noise may grow by a factor of {at / low:.2g}" in said
    assert f"the signal fall by one of {high / at:.2g}" in said


def test_a_threshold_that_stands_well_is_never_raised(machine: Machine) -> None:
    well = threshold_curve(with_threshold(machine, 0.75), cut_lengths=CUTS)
    assert well.leave
    assert well.recommended is not None
    assert well.recommended.threshold == 0.75
    assert well.effects == ()


def test_another_threshold_on_the_same_tables_is_a_machine_looked_up_anew() -> None:
    machine = load_machine("whimbrel")
    known = Sights(machine, [0.012])
    other = with_threshold(machine, 0.8)
    quick = SameSensor(other, known, [0.012])
    anew = Sights(machine.with_settings({"detector.threshold": 0.8}), [0.012])
    stops = Stops(machine)
    piece = Piece.ball(0.015)
    shared, fresh = (
        Judge(Bench(other, [], sights=sights, stops=stops)).chances(piece, 0.012)
        for sights in (quick, anew)
    )
    for part in ("missed", "too_late", "protected"):
        assert getattr(shared, part) == pytest.approx(getattr(fresh, part), abs=1e-9)


def test_the_effect_is_that_of_a_proof() -> None:
    whimbrel = load_machine("whimbrel")
    curve = threshold_curve(whimbrel, cut_lengths=[0.028])
    assert curve.recommended is not None
    ((before, after),) = curve.effects
    for verdict, threshold in ((before, 1.5), (after, curve.recommended.threshold)):
        machine = whimbrel.with_settings({"detector.threshold": threshold})
        (cut,) = protection.prove(machine, cut_lengths=[0.028]).cuts
        assert verdict.protected == pytest.approx(cut.protected, abs=0.01)
    assert after.protected > before.protected


def test_where_today_is_inside_it_may_stay(curve: ThresholdCurve) -> None:
    assert curve.acceptable is not None
    assert curve.acceptable[0] < curve.today.threshold < curve.acceptable[1]
    assert [(old.verdict, new.verdict) for old, new in curve.effects] == [("protected",) * 2] * 2
    assert curve.leave
    assert "it may stay" in curve.because[0]


def test_without_room_between_the_lowest_with_some_room_for_noise_is_taken() -> None:
    dunlin = threshold_curve(load_machine("dunlin"), cut_lengths=[0.006])
    assert dunlin.recommended is not None
    assert not dunlin.leave
    assert dunlin.today.seen < 0.95 < dunlin.recommended.seen
    assert "There is no room between the two." in " ".join(dunlin.because)
    grown = load_machine("dunlin").with_settings({"detector.noise": "0.1 V"})
    rate = threshold_curve(
        with_threshold(grown, dunlin.recommended.threshold), cut_lengths=[0.006]
    ).today.false_trips_high
    assert rate == pytest.approx(0.01, rel=0.01)  # the noise of 0.08 V grown by a quarter


def test_where_noise_leaves_nothing_better_today_stays_and_the_noise_is_named() -> None:
    loud = made(detector={"noise": "0.4 V"})
    curve = threshold_curve(loud, cut_lengths=[0.006])
    assert curve.recommended is None
    assert curve.effects == ()
    assert "less noise comes first" in " ".join(curve.because)


def test_without_a_low_pass_false_trips_are_not_known_and_nothing_is_recommended() -> None:
    curve = threshold_curve(made(detector={"high_cut": None}), cut_lengths=[0.006])
    assert curve.today.false_trips_per_hour is None
    assert curve.acceptable is None
    assert curve.recommended is None
    assert "How often noise alone trips it is not known." in curve.because[0]
    assert any("detector.high_cut" in note for note in curve.notes)


def test_a_ripple_raises_the_lowest_quiet_threshold() -> None:
    plain, wavy = (
        threshold_curve(seeing(ripple=ripple), cut_lengths=[0.006]).acceptable
        for ripple in (None, "0.1 V")
    )
    assert plain is not None
    assert wavy is not None
    assert 0.05 < wavy[0] - plain[0] <= 0.1


def test_fewer_false_trips_allowed_means_a_higher_lower_end() -> None:
    machine = seeing()
    ends = [
        threshold_curve(machine, cut_lengths=[0.006], allowed=rate).acceptable
        for rate in (1.0, 1e-3)
    ]
    assert ends[0] is not None
    assert ends[1] is not None
    assert ends[0][0] < ends[1][0]


def test_what_is_assumed_is_said() -> None:
    machine = made(detector={"noise": None})
    curve = threshold_curve(machine, cut_lengths=[0.006])
    assert "detector.noise" in curve.assumed
    assert "false trips put up with (1 in 100 h)" in curve.assumed
    said = threshold_curve(machine, cut_lengths=[0.006], allowed=0.01)
    assert not any("put up with" in one for one in said.assumed)


@pytest.mark.parametrize("allowed", [0.0, -1.0, float("nan"), 1e9])
def test_a_rate_that_cannot_be_is_refused(machine: Machine, allowed: float) -> None:
    with pytest.raises(ValueError, match="false trips allowed"):
        threshold_curve(machine, cut_lengths=CUTS, allowed=allowed)


def test_what_is_missing_is_named() -> None:
    with pytest.raises(NotKnownError, match=r"detector\.threshold"):
        threshold_curve(made(detector={"threshold": None, "noise": "0.05 V"}))
    with pytest.raises(NotKnownError, match="sensor"):
        threshold_curve(made(without=("sensor",)))
    with pytest.raises(NotKnownError, match=r"feed\.cut_lengths"):
        threshold_curve(made(feed={"cut_lengths": None}))


def test_all_of_it_as_json(curve: ThresholdCurve) -> None:
    told = json.loads(json.dumps(curve.to_dict(), allow_nan=False))
    assert len(told["points"]) == len(curve.points)
    assert told["acceptable_V"] == list(curve.acceptable or ())
    assert told["recommended"]["threshold_V"] < told["today"]["threshold_V"]
    assert told["today"]["threshold_V"] == 1.5
    assert told["effects"][0]["before"]["cut_length_m"] == CUTS[0]
    assert not any(isinf(p.threshold) for p in curve.points)
    assert np.isfinite([p["probability_seen"] for p in told["points"]]).all()
