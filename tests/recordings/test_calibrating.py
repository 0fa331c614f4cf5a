"""Learning a machine: planted sensors and stops come back, as surely as is said and no surer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import tripmargin
from tripmargin.ground.quantities import Quantity
from tripmargin.machine import Machine
from tripmargin.recordings import RecordingError
from tripmargin.recordings.calibrating import (
    Calibration,
    MetalFound,
    PeakRead,
    StopMeasured,
    TestPass,
    calibrate,
)
from tripmargin.recordings.calibrating.next_piece import BALLS
from tripmargin.recordings.calibrating.sampling import learn
from tripmargin.recordings.calibrating.seeing import UNKNOWN_SIGNAL
from tripmargin.sensing import Piece, simulate_pass
from tripmargin.stopping import metal_speed, stop_chain
from tripmargin.stopping.feed import tooth_pitch

X = 0.1  # m, over an assembly of Curlew


@pytest.fixture(scope="module")
def curlew() -> Machine:
    return tripmargin.load_machine("curlew")


def test_evidence_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="No setting of the machine"):
        learn(1, lambda z: np.full(len(z), -np.inf))


def _planted(machine: Machine, signal: float) -> Machine:
    assert machine.detector is not None
    assert machine.detector.gain is not None
    return machine.with_settings({"detector.gain": machine.detector.gain.nominal * signal})


def _passed(true: Machine, up: float, asked: TestPass, random: np.random.Generator) -> TestPass:
    """One pass over the planted machine, held as unsteadily as is said; noise by its chance."""
    one = simulate_pass(
        true,
        asked.piece,
        x=asked.x + random.normal(0, asked.place_doubt),
        height=max(asked.height - up + random.normal(0, asked.place_doubt), 0.0),
        speed=asked.speed * (1 + random.normal(0, asked.speed_doubt)),
    )
    assert one.probability is not None
    return replace(asked, caught=bool(random.random() < one.probability))


@pytest.mark.slow
def test_planted_sensors_come_back_within_what_is_said(curlew: Machine) -> None:
    """120 sensors drawn from what is believed before, nine passes each: 95 % hold, give or take.

    Binomial limits of 99.9 % for 120 of 95 %: 105 to 120.
    """
    random = np.random.default_rng(11)
    held = {"signal": 0, "height": 0, "size": 0}
    narrower = []
    sizes = (0.0055, 0.009, 0.013, 0.0065, 0.010, 0.0145, 0.0075, 0.0115, 0.016)
    heights = (0.02, 0.04, 0.06)
    for _ in range(120):
        signal = float(np.exp(UNKNOWN_SIGNAL * random.normal()))
        up = float(random.uniform(-0.005, 0.005))
        true = _planted(curlew, signal)
        asked = [
            TestPass(Piece.ball(size), X, heights[k % 3], 0.65, caught=False)
            for k, size in enumerate(sizes)
        ]
        found = calibrate(curlew, [_passed(true, up, a, random) for a in asked], suggest=False)
        assert found.signal is not None
        assert found.height is not None
        held["signal"] += found.signal.low <= signal <= found.signal.high
        held["height"] += found.height.low <= up <= found.height.high
        assert found.smallest_seen is not None
        size = found.smallest_seen
        narrower.append(np.log(size.high / size.low) / (2 * 1.96))
        held["size"] += _just_seen_is_held(true, up, found, curlew)
    assert all(105 <= count <= 120 for count in held.values()), held
    # The passes did tell something: before, the size is in doubt by a third of the signal's doubt.
    assert np.median(narrower) < 0.7 * UNKNOWN_SIGNAL / 3


def _just_seen_is_held(true: Machine, up: float, found: Calibration, filed: Machine) -> bool:
    """Whether the ball that just reaches the planted machine's threshold lies in the interval."""
    assert found.smallest_seen is not None
    assert filed.sensor is not None
    assert filed.feed is not None
    heights = np.linspace(0.01, 0.07, 4).round(3)  # Curlew's crop
    one = simulate_pass(
        true,
        Piece.ball(0.01),
        x=filed.sensor.assemblies[0].centre[0].nominal,
        height=float(heights[2]) - up,
        speed=metal_speed(filed, filed.feed.cut_lengths[0]),
    )
    size = 0.01 * (one.threshold / one.peak) ** (1 / 3)
    return found.smallest_seen.low <= size <= found.smallest_seen.high


@pytest.mark.slow
def test_choosing_the_next_piece_needs_half_the_passes_of_a_grid(curlew: Machine) -> None:
    """Four planted sensors: passes until enough is known, chosen and along a fixed grid."""
    random = np.random.default_rng(4)
    chosen, fixed = 0, 0
    for signal, up in ((0.75, -0.003), (1.0, 0.0), (1.2, 0.002), (1.5, 0.004)):
        true = _planted(curlew, signal)
        seen = [_passed(true, up, TestPass(Piece.ball(0.012), X, 0.04, 1.5, caught=False), random)]
        while not (found := calibrate(curlew, seen)).enough:
            ask = found.next_piece
            assert ask is not None
            asked = TestPass(ask.piece, ask.x, ask.height, ask.speed, caught=False)
            seen.append(_passed(true, up, asked, random))
            assert len(seen) < 40
        chosen += len(seen)
        grid = [
            TestPass(piece, X, height, 0.65, caught=False)
            for height in (0.07, 0.05, 0.03, 0.01)
            for piece in BALLS
        ]
        tried: list[TestPass] = []
        for asked in grid:
            tried.append(_passed(true, up, asked, random))
            if len(tried) % 4 == 0 and calibrate(curlew, tried, suggest=False).enough:
                break
        fixed += len(tried)
    assert chosen <= fixed / 2, (chosen, fixed)


def test_peaks_tell_the_gain_closely(curlew: Machine) -> None:
    """Three peaks of a planted gain: the signal to a few per cent, and the file's field follows."""
    true = _planted(curlew, 1.3)
    seen = []
    for size, height in ((0.02, 0.02), (0.02, 0.05), (0.03, 0.06)):
        one = simulate_pass(true, Piece.ball(size), x=X, height=height, speed=1.5)
        seen.append(PeakRead(Piece.ball(size), X, height, 1.5, peak=one.peak, place_doubt=0.0005))
    found = calibrate(curlew, seen, suggest=False)
    assert found.signal is not None
    assert found.signal.low < 1.3 < found.signal.high
    assert found.signal == pytest.approx(1.3, rel=0.08)
    (gain,) = (each for each in found.fields if each.path == "detector.gain")
    assert gain.after.low < 1.3 * gain.before.nominal < gain.after.high


def test_the_learned_machine_sees_what_was_learned(curlew: Machine) -> None:
    """`simulate_pass` on the calibrated machine: the ball that is just seen makes the threshold."""
    true = _planted(curlew, 0.7)
    seen = []
    for size, height in ((0.02, 0.02), (0.02, 0.04), (0.02, 0.06)):
        one = simulate_pass(true, Piece.ball(size), x=X, height=height, speed=0.65)
        seen.append(PeakRead(Piece.ball(size), X, height, 0.65, peak=one.peak))
    found = calibrate(curlew, seen, suggest=False)
    assert found.smallest_seen is not None
    assert curlew.sensor is not None
    assert curlew.feed is not None
    one = simulate_pass(
        found.machine,
        Piece.ball(float(found.smallest_seen)),
        x=curlew.sensor.assemblies[0].centre[0].nominal,
        height=0.05,
        speed=metal_speed(curlew, curlew.feed.cut_lengths[0]),
    )
    assert one.peak == pytest.approx(one.threshold, rel=0.04)
    assert "detector.gain" in found.machine.changed


def test_a_pass_that_does_not_fit_is_named(curlew: Machine) -> None:
    big = TestPass(Piece.ball(0.04), X, 0.02, 1.5, caught=False)
    fitting = [
        TestPass(Piece.ball(size), X, 0.04, 0.65, caught=size > 0.0125)
        for size in (0.008, 0.010, 0.012, 0.013, 0.015, 0.018)
    ]
    found = calibrate(curlew, [*fitting, big], suggest=False)
    assert len(found.unlikely) == 1
    assert found.unlikely[0].startswith("Pass 7, 40 mm ball")


def _timed(machine: Machine, cut: float, random: np.random.Generator) -> float:
    """One stop of a machine as it stands, each pawl waiting for its tooth."""
    chain = stop_chain(machine, cut_length=cut)
    time = {stage.name: stage.nominal for stage in chain.stages}
    pawls = [name.removeprefix("swing ") for name in time if name.startswith("swing ")]
    serial = sum(
        t
        for name, t in time.items()
        if not name.startswith(("swing ", "tooth ")) and name != "rest"
    )
    last = max(
        time[f"swing {p}"] + random.random() * tooth_pitch(machine, p) / chain.feed_speed
        for p in pawls
    )
    return float(serial + last + time["rest"])


def test_planted_stops_come_back_within_what_is_said() -> None:
    """40 stops planted within Dunlin's tolerances, ten timed each: 99.9 % limits of 40 of 95 %."""
    dunlin = tripmargin.load_machine("dunlin")
    random = np.random.default_rng(7)
    cut, held, sds = 0.008, 0, []
    uncertain = [
        (path, q)
        for path, q in dunlin.uncertain()
        if path.startswith(("chain.", "detector.decision_delay"))
    ]
    for _ in range(40):
        drawn = {
            p: Quantity.exact(float(q.ppf(random.random())), q.dimension) for p, q in uncertain
        }
        true = dunlin.with_settings(drawn)
        seen = []
        for _ in range(10):
            value = _timed(true, cut, random) + random.normal(0, 0.001)
            seen.append(StopMeasured(cut, value, value - 0.00196, value + 0.00196))
        found = calibrate(dunlin, seen, suggest=False).stop_time
        assert found is not None
        held += found.low <= float(stop_chain(true, cut_length=cut).stop_time) <= found.high
        sds.append(found.sd)
    assert 33 <= held <= 40, held
    before = stop_chain(dunlin, cut_length=cut).stop_time
    assert np.median(sds) < (before.high - before.low) / 8


def test_found_metal_moves_the_travel() -> None:
    """Metal that always lies nearer the bar than expected says that the stop is slower."""
    dunlin = tripmargin.load_machine("dunlin")
    cut, ball = 0.008, Piece.ball(0.03)
    (bar,) = dunlin.need("x", "feed.sensor_to_shear_bar")
    plain = stop_chain(dunlin, cut_length=cut)
    near = bar.nominal - plain.travel.high
    found = calibrate(dunlin, [MetalFound(ball, cut, near)] * 4, suggest=False)
    far = calibrate(dunlin, [MetalFound(ball, cut, near + 0.05)] * 4, suggest=False)
    assert found.stop_time is not None
    assert far.stop_time is not None
    assert found.stop_time > far.stop_time
    assert found.signal is None  # it says nothing of the sensor


def test_bad_input_is_said(curlew: Machine) -> None:
    with pytest.raises(RecordingError, match="Nothing to learn from"):
        calibrate(curlew, [])
    with pytest.raises(RecordingError, match=r"height = -0\.1 m\. Allowed: 0 to 2 m"):
        TestPass(Piece.ball(0.02), X, -0.1, 1.5, caught=True)
    with pytest.raises(RecordingError, match="how it lay is not said"):
        TestPass(Piece.from_text("M8x30 bolt"), X, 0.02, 1.5, caught=True)
    with pytest.raises(RecordingError, match="the limits must lie on either side"):
        StopMeasured(0.01, 0.05, 0.06, 0.07)
    with pytest.raises(RecordingError, match="'output' or 'coil'"):
        PeakRead(Piece.ball(0.02), X, 0.02, 1.5, peak=1.0, at="elsewhere")


def test_the_chance_table_is_the_pass_itself(curlew: Machine) -> None:
    """The table's chance of catching against `simulate_pass` and its own noise, piece by piece."""
    from tripmargin.recordings.calibrating.seeing import SensorDoubt

    doubt = SensorDoubt.of(curlew)
    nothing = doubt.draws(np.zeros((1, 6)))
    for size in (0.011, 0.012, 0.013, 0.014):
        asked = TestPass(Piece.ball(size), X, 0.04, 1.5, False, place_doubt=0.0, speed_doubt=0.0)
        one = simulate_pass(curlew, asked.piece, x=X, height=0.04, speed=1.5)
        chance = float(doubt.catching(asked, doubt.signal(asked), nothing)[0])
        assert chance == pytest.approx(one.probability, abs=0.02)
        peak = float(doubt.signal(asked).log_peak(np.zeros(1), np.zeros(1))[0])
        assert np.exp(peak) == pytest.approx(one.peak, rel=2e-3)
