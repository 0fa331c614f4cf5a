"""A long run is used whole, part by part; a roll's angle or count serves as its pickup."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from scipy.stats import binom

from tests.recordings.quiet_runs import (
    NOISE,
    ORDERS,
    RATE,
    filtered,
    harmonics,
    machine,
    quiet_run,
    turns,
)
from tripmargin.recordings.noise import Noise, noise_of, run
from tripmargin.recordings.noise.orders import Synchronous
from tripmargin.recordings.reading import recording_of_arrays
from tripmargin.recordings.recording import Recording, RecordingError

SECONDS = 40.0
RUNS = 40
POWER = sum(a**2 / 2 for a, _ in ORDERS.values())


def told(noise: Noise, what: str) -> str:
    return " ".join(each.words for each in noise.troubles if each.what == what)


@pytest.mark.parametrize(("pickup", "part"), [(True, 8.0), (False, 40.0)])
def test_parts_put_together_are_the_whole(monkeypatch, pickup, part):
    # source: the same run worked on at once; without a pickup a part needs windows enough in which
    # to follow the turning, as the minutes have that a part lasts otherwise
    recording = quiet_run(5 * part, pickup=pickup)
    whole = noise_of(recording, machine())
    monkeypatch.setattr(run, "PART", int(part * RATE))
    parts = noise_of(recording, machine())
    assert "gone through in 5 parts, and all of them count" in told(parts, "long")
    assert ("laid on" in told(parts, "long")) != pickup
    assert told(whole, "long") == ""
    assert float(parts.floor) == pytest.approx(float(whole.floor), rel=0.01)
    assert float(parts.share) == pytest.approx(float(whole.share), rel=0.01)
    assert parts.duration == pytest.approx(whole.duration, rel=0.03)
    assert float(parts.turn_rate) == pytest.approx(float(whole.turn_rate), rel=2e-3)
    assert parts.turns >= whole.turns - 10
    for number in ORDERS:
        one, other = whole.orders[number - 1], parts.orders[number - 1]
        assert float(other.amplitude) == pytest.approx(float(one.amplitude), abs=0.003)
        assert other.sure


def test_noise_alone_is_not_laid_on_itself(monkeypatch):
    # where nothing stands out, parts laid on each other would make a repeat out of noise
    monkeypatch.setattr(run, "PART", int(8 * RATE))
    speed = 5.0 * pi * machine().feed.roll_diameter.nominal
    bare = quiet_run(SECONDS, pickup=False, orders={}, seed=1)
    noise = noise_of(bare, machine(), roll_speed=speed)
    assert float(noise.share) == 0.0
    assert "laid on" not in told(noise, "long")
    assert noise.floor.low < NOISE < noise.floor.high


def test_a_wave_that_a_part_cannot_show_is_found_in_the_whole(monkeypatch):
    # source: the wave itself; 0.010 V in noise of 0.07 V stands out of 100 s, not of 8 s
    weak = {1: (0.2, 0.3), 5: (0.010, 1.0)}
    monkeypatch.setattr(run, "PART", int(8 * RATE))
    noise = noise_of(quiet_run(200.0, orders=weak, seed=4), machine())
    fifth = noise.orders[4]
    assert fifth.sure
    assert fifth.amplitude.low < 0.010 < fifth.amplitude.high
    assert noise.floor.low < NOISE < noise.floor.high


@pytest.mark.slow
def test_intervals_of_parts_cover_the_truth(monkeypatch):
    monkeypatch.setattr(run, "PART", int(8 * RATE))
    made = [noise_of(quiet_run(SECONDS, seed=k), machine()) for k in range(RUNS)]
    low, high = binom.ppf([5e-4, 1 - 5e-4], RUNS, 0.95)
    checks = {"floor": (lambda each: each.floor, NOISE)}
    checks["share"] = (lambda each: each.share, POWER / (POWER + NOISE**2))
    for number, (amplitude, _) in ORDERS.items():
        checks[f"{number}"] = (lambda each, k=number: each.orders[k - 1].amplitude, amplitude)
    for name, (interval, truth) in checks.items():
        hits = sum(interval(each).low <= truth <= interval(each).high for each in made)
        assert low <= hits <= high, (name, hits)


def test_moments_put_together_are_those_of_all_turns():
    # source: numpy's covariance over all turns at once
    random = np.random.default_rng(0)
    lines = random.standard_normal((60, 3)) + 1j * random.standard_normal((60, 3)) + 0.5

    def made(some):
        off = some - some.mean(axis=0)
        parts = np.stack([off.real, off.imag], axis=-1)
        return Synchronous.of(len(some), some.mean(axis=0), np.einsum("nki,nkj->kij", parts, parts))

    both = made(lines[:17]).with_(made(lines[17:]))
    assert both.mean == pytest.approx(lines.mean(axis=0))
    for k in range(3):
        expected = np.cov(lines[:, k].real, lines[:, k].imag) / 60
        assert both.covariance[k] == pytest.approx(expected)
    by = 0.13
    waves = np.exp(2j * pi * by * np.arange(1, 4))
    assert made(lines).turned(by).covariance == pytest.approx(made(lines * waves).covariance)


def test_gaps_and_missing_values_in_a_long_run(monkeypatch):
    monkeypatch.setattr(run, "PART", int(8 * RATE))
    block = quiet_run(60.0).read()
    values, times = block.values.copy(), block.times.copy()
    values[30_000:39_000, 0] = np.nan  # a whole part without a value
    times[10_000:] += 0.5
    broken = recording_of_arrays(values, times=times, names=["output", "roll"], units=["V", "V"])
    noise = noise_of(broken, machine())
    assert "longest stretch without one was used, from 10.5 s to 60.5 s" in told(noise, "gap")
    assert 35 < noise.duration < 41.5
    assert noise.floor.low < NOISE < noise.floor.high


def test_metal_in_a_late_part_is_told_where_it_was(monkeypatch):
    monkeypatch.setattr(run, "PART", int(8 * RATE))
    values = quiet_run(SECONDS).read().values.copy()
    for at in (4000, 37000):
        values[at : at + 200, 0] += 1.5 * np.hanning(200)
    run_ = recording_of_arrays(values, rate=RATE, names=["output", "roll"], units=["V", "V"])
    assert [round(each.at) for each in noise_of(run_, machine()).events] == [4, 37]


COUNTS = 1000
ANGLES = {
    "degrees": ("deg", lambda at: 360 * (at % 1)),
    "degrees that only grow": ("deg", lambda at: 360 * at),
    "degrees that fall": ("deg", lambda at: 360 * (-at % 1)),
    "radians": ("rad", lambda at: 2 * pi * (at % 1)),
    "turns": ("rev", lambda at: at),
    "a voltage that begins anew": ("V", lambda at: 10 * (at % 1)),
    "a count that only grows": ("", lambda at: np.floor(COUNTS * at)),
    "a count of 16 bits": ("", lambda at: np.floor(COUNTS * at + 60_000) % 65_536),
    "a count that begins anew each turn": ("", lambda at: np.floor(COUNTS * at) % COUNTS),
}


def with_angle(values, unit: str, seconds: float = 30.0) -> Recording:
    at = turns(int(seconds * RATE))
    output = harmonics(at, ORDERS) + filtered(len(at), np.random.default_rng(3))
    both = np.column_stack([output, values(at)])
    return recording_of_arrays(both, rate=RATE, names=["output", "roll angle"], units=["V", unit])


@pytest.mark.parametrize("what", ANGLES)
@pytest.mark.parametrize("part", [100.0, 7.0])
def test_orders_are_tracked_by_an_angle_as_well(monkeypatch, what, part):
    # source: the sum itself; with counts of 1000 a turn an angle is as good as a pulse
    unit, values = ANGLES[what]
    monkeypatch.setattr(run, "PART", int(part * RATE))
    per_turn = COUNTS if what.startswith("a count") else 1.0
    noise = noise_of(with_angle(values, unit), machine(), pulses_per_turn=per_turn)
    assert any(guess.override == "pickup_is" for guess in noise.guesses)
    assert float(noise.turn_rate) == pytest.approx(5.0, rel=0.02)
    for number, (amplitude, phase) in ORDERS.items():
        found = noise.orders[number - 1]
        assert float(found.amplitude) == pytest.approx(amplitude, abs=0.006)
        if "fall" not in what:
            assert float(found.phase) == pytest.approx(phase, abs=0.2)


def test_an_angle_that_stands_still_or_jumps_about_is_refused():
    still = with_angle(lambda at: 0 * at + 90, "deg")
    with pytest.raises(RecordingError, match="0 pulses"):
        noise_of(still, machine())
    random = np.random.default_rng(0)
    noisy = with_angle(lambda at: random.uniform(0, 360, len(at)), "deg")
    with pytest.raises(RecordingError, match="neither grows nor begins anew"):
        noise_of(noisy, machine(), pickup_is="angle")
    with pytest.raises(RecordingError, match="Allowed: pulses, angle"):
        noise_of(noisy, machine(), pickup_is="both")


def test_pulses_with_slow_edges_stay_pulses():
    noise = noise_of(quiet_run(20.0, rate=8000.0, wander=0.0), machine())
    assert not any(guess.override == "pickup_is" for guess in noise.guesses)
    assert float(noise.turn_rate) == pytest.approx(5.0, rel=1e-3)


def test_values_beyond_all_bounds_do_not_count():
    values = quiet_run(30.0).read().values.copy()
    values[5000:5010, 0] = np.inf
    values[9000:9010, 1] = -np.inf
    odd = recording_of_arrays(values, rate=RATE, names=["output", "roll"], units=["V", "V"])
    noise = noise_of(odd, machine())
    assert noise.floor.low < NOISE < noise.floor.high
