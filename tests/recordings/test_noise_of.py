"""A quiet run taken apart: floor, orders, share, false trips; and what spoils it, said."""

from __future__ import annotations

import json
from dataclasses import replace
from math import pi

import numpy as np
import pytest
from scipy.stats import binom

from tests.recordings.quiet_runs import (
    HIGH,
    LOW,
    NOISE,
    ORDERS,
    RATE,
    THRESHOLD,
    filtered,
    harmonics,
    machine,
    quiet_run,
    turns,
)
from tripmargin.recordings.noise import Noise, noise_of
from tripmargin.recordings.noise.false_trips import trips_per_hour
from tripmargin.recordings.reading import recording_of_arrays
from tripmargin.recordings.recording import RecordingError
from tripmargin.sensing import Filter, false_trips_per_hour

RUNS = 60
POWER = sum(a**2 / 2 for a, _ in ORDERS.values())
SHARE = POWER / (POWER + NOISE**2)
CROSSINGS = Filter(1.0, LOW, HIGH).noise_crossing_rate()


def told(noise: Noise, what: str) -> str:
    return " ".join(each.words for each in noise.troubles if each.what == what)


def trips(orders: dict[int, tuple[float, float]]) -> float:
    """False trips an hour of the made-up run, from its own parameters."""
    turn = np.arange(1440) / 1440
    trace = harmonics(turn, orders)
    slopes = {k: (a * 2 * pi * k * 5.0, phase + pi / 2) for k, (a, phase) in orders.items()}
    slope = harmonics(turn, slopes)
    return float(
        trips_per_hour(
            THRESHOLD, np.array([NOISE]), np.array([CROSSINGS]), trace[None], slope[None]
        )[0]
    )


@pytest.fixture(scope="module")
def measured() -> list[Noise]:
    target = machine()
    return [noise_of(quiet_run(seed=seed), target) for seed in range(RUNS)]


def covers(measured: list[Noise], interval, truth: float) -> None:
    """That 95 % intervals hold the truth about that often: within chance at 1 in 1000."""
    hits = sum(interval(each).low <= truth <= interval(each).high for each in measured)
    low, high = binom.ppf([5e-4, 1 - 5e-4], len(measured), 0.95)
    assert low <= hits <= high, (hits, truth)


@pytest.mark.slow
def test_a_known_sum_of_harmonics_is_found_at_a_varying_speed(measured):
    # source: the sum itself, amplitudes and phases as made; the speed wanders by 3 per cent
    for number, (amplitude, phase) in ORDERS.items():
        covers(measured, lambda each, k=number: each.orders[k - 1].amplitude, amplitude)
        covers(measured, lambda each, k=number: each.orders[k - 1].phase, phase)
        found = np.array([float(each.orders[number - 1].amplitude) for each in measured])
        error = found.std() / np.sqrt(len(found))
        assert abs(found.mean() - amplitude) < 4 * error + 0.002 * amplitude
    assert all(each.orders[k - 1].sure for each in measured for k in ORDERS)


@pytest.mark.slow
def test_no_order_is_sure_where_there_is_only_noise(measured):
    false = sum(o.sure for each in measured for o in each.orders if o.number not in ORDERS)
    assert false <= 4  # 1 in 100 of the runs by design


@pytest.mark.slow
def test_floor_share_and_rates_are_covered(measured):
    covers(measured, lambda each: each.floor, NOISE)
    covers(measured, lambda each: each.share, SHARE)
    covers(measured, lambda each: each.false_trips_per_hour, trips(ORDERS))
    covers(measured, lambda each: each.cured_per_hour, trips({}))
    assert np.mean([each.crossing_rate for each in measured]) == pytest.approx(CROSSINGS, rel=0.02)


def test_the_rate_about_a_moving_part_is_that_of_brute_force():
    # source: noise made here, finely sampled, about the same moving part; crossings counted
    random, rate, seconds = np.random.default_rng(5), 8000.0, 800
    counted = 0
    for _ in range(4):
        samples = int(seconds / 4 * rate)
        at = turns(samples, rate=rate, wander=0.0)
        output = harmonics(at, ORDERS) + filtered(samples, random, rate=rate)
        over = np.stack([output >= 0.45, output <= -0.45])
        counted += int(np.count_nonzero(over[:, 1:] & ~over[:, :-1]))
    turn = np.arange(1440) / 1440
    slopes = {k: (a * 2 * pi * k * 5.0, phase + pi / 2) for k, (a, phase) in ORDERS.items()}
    told_rate = trips_per_hour(
        0.45, np.array([NOISE]), np.array([CROSSINGS]), harmonics(turn, ORDERS)[None],
        harmonics(turn, slopes)[None],
    )[0]  # fmt: skip
    expected = told_rate * seconds / 3600
    assert expected > 500
    assert abs(counted - expected) < 4 * np.sqrt(expected) + 0.02 * expected


def test_the_rate_agrees_with_the_machine_file_s_own_model_for_a_plain_wave():
    # source: tripmargin.sensing, which is checked against brute force by itself
    target = machine(**{"detector.noise": "0.07 V", "detector.ripple": "0.25 V"})
    radius = target.feed.roll_diameter.nominal / 2
    theirs = false_trips_per_hour(target, roll_speed=2 * pi * 5.0 * radius)
    assert trips({1: (0.25, 0.0)}) == pytest.approx(theirs, rel=1e-4)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_without_a_pickup_the_turning_is_found_in_the_record_itself(seed):
    noise = noise_of(quiet_run(seed=seed, pickup=False), machine())
    assert float(noise.turn_rate) == pytest.approx(5.0, rel=0.01)
    assert noise.share.low < SHARE < noise.share.high or float(noise.share) == pytest.approx(
        SHARE, rel=0.01
    )
    for number, (amplitude, _) in ORDERS.items():
        assert float(noise.orders[number - 1].amplitude) == pytest.approx(amplitude, abs=0.006)
    assert any(guess.override == "roll_pickup" for guess in noise.guesses)


def test_a_roll_speed_narrows_the_search_and_serves_where_nothing_stands_out():
    target = machine()
    speed = 5.0 * pi * target.feed.roll_diameter.nominal
    found = noise_of(quiet_run(pickup=False), target, roll_speed=1.04 * speed)
    assert float(found.turn_rate) == pytest.approx(5.0, rel=0.01)
    # one run in 100 shows an order by chance (by design); this is none of them
    bare = noise_of(quiet_run(pickup=False, orders={}, seed=1), target, roll_speed=speed)
    assert float(bare.turn_rate) == pytest.approx(5.0)
    assert float(bare.share) == 0.0
    assert 0 < bare.share.high < 0.1
    assert float(bare.false_trips_per_hour) == float(bare.cured_per_hour)


def test_nothing_that_turns_and_no_speed_is_said_so():
    noise = noise_of(quiet_run(pickup=False, orders={}), machine())
    assert noise.share is None
    assert "roll_speed=" in told(noise, "turns")


def test_the_coil_goes_through_the_machine_s_filter():
    random = np.random.default_rng(0)
    white = random.normal(0, 1e-4, int(30 * RATE))
    coil = recording_of_arrays(white * 1e3, rate=RATE, names=["coil"], units=["mV"])
    target = machine()
    noise = noise_of(coil, target)
    assert noise.at == "coil"
    # white noise of density 2 sd^2 / rate through |H|^2, summed by a plain quadrature
    f = np.linspace(0, RATE / 2, 200_001)
    gain = np.abs(Filter.of(target).response(f)) ** 2
    expected = np.sqrt(np.trapezoid(gain, f) * 2e-8 / RATE)
    assert noise.floor.low < expected < noise.floor.high
    assert noise_of(coil, target, at="output").floor == pytest.approx(1e-4, rel=0.05)


def test_metal_that_passed_is_left_out_and_told():
    run = quiet_run()
    block = run.read()
    output = block.values.copy()
    for at in (4000, 17000):
        output[at : at + 200, 0] += 1.5 * np.hanning(200)
    noise = noise_of(
        recording_of_arrays(output, rate=RATE, names=["output", "roll"], units=["V", "V"]),
        machine(),
    )
    assert [round(each.at) for each in noise.events] == [4, 17]
    assert "2 bursts" in told(noise, "metal")
    assert "2 of them pass the threshold" in told(noise, "metal")
    assert noise.floor.low < NOISE < noise.floor.high
    assert noise.crossings_seen >= 2


def test_a_short_run_says_how_long_one_is_needed():
    noise = noise_of(quiet_run(3.0), machine())
    assert "record 7 s" in told(noise, "short")
    brief = noise_of(quiet_run(0.8, pickup=False), machine())
    assert "too short to show" in told(brief, "short")
    assert brief.crossing_rate == pytest.approx(CROSSINGS)
    with pytest.raises(RecordingError, match="Record 60 s"):
        noise_of(quiet_run(0.05, pickup=False), machine())


def test_a_rate_below_twice_the_band_gives_no_rate_of_false_trips():
    slow = recording_of_arrays(quiet_run(120.0).read().values[::8], rate=RATE / 8,
                               names=["output", "roll"], units=["V", "V"])  # fmt: skip
    noise = noise_of(slow, machine())
    assert noise.false_trips_per_hour is None
    assert "less than twice" in told(noise, "rate")
    middling = recording_of_arrays(quiet_run(60.0).read().values[::2], rate=RATE / 2,
                                   names=["output", "roll"], units=["V", "V"])  # fmt: skip
    noise = noise_of(middling, machine())
    assert noise.crossing_rate == pytest.approx(CROSSINGS)
    assert "taken from the machine's filter" in told(noise, "rate")


def test_a_one_pole_spectrum_has_no_rate_and_says_why():
    # source: Rice's second moment diverges behind one pole (CHECKS 2.4)
    noise = noise_of(quiet_run(poles=1, rate=4000.0, low=None), machine())
    assert noise.false_trips_per_hour is None
    assert "one-pole" in told(noise, "spectrum")


def test_without_a_threshold_no_rate_is_told():
    noise = noise_of(quiet_run(), replace(machine(), detector=None))
    assert noise.false_trips_per_hour is None
    assert "detector.threshold" in told(noise, "threshold")


def test_clipping_and_heavy_tails_are_told():
    run = quiet_run()
    values = run.read().values.copy()
    values[:, 0] = np.clip(np.round(values[:, 0] / 1e-3) * 1e-3, -0.3, 0.3)
    clipped = recording_of_arrays(values, rate=RATE, names=["output", "roll"], units=["V", "V"])
    assert "clipped" in told(noise_of(clipped, machine()), "clipped")
    random = np.random.default_rng(1)
    tails = filtered(30_000, random) * (1 + 0.5 * np.sin(np.arange(30_000) / 700))
    noise = noise_of(recording_of_arrays(tails, rate=RATE, names=["out"], units=["V"]), machine())
    assert "oftener" in told(noise, "tails")


def test_gaps_and_missing_values_do_not_count():
    run = quiet_run(60.0)
    block = run.read()
    values, times = block.values.copy(), block.times.copy()
    values[30_000:30_050, 0] = np.nan
    times[10_000:] += 0.5
    broken = recording_of_arrays(values, times=times, names=["output", "roll"], units=["V", "V"])
    noise = noise_of(broken, machine())
    assert noise.duration < 50.5
    assert "gaps" in told(noise, "gap")
    assert noise.floor.low < NOISE < noise.floor.high


WRONG = [
    ({"channel": "nothing"}, "output"), ({"at": "there"}, "output, coil"),
    ({"pulses_per_turn": 0.0}, "above 0"), ({"roll_speed": -1.0}, "above 0"),
]  # fmt: skip


@pytest.mark.parametrize(("option", "allowed"), WRONG)
def test_a_wrong_option_is_refused_with_what_is_allowed(option, allowed):
    with pytest.raises(RecordingError, match=allowed):
        noise_of(quiet_run(10.0), machine(), **option)


def test_a_pickup_without_pulses_is_refused():
    values = quiet_run(10.0).read().values.copy()
    values[:, 1] = 0.0
    still = recording_of_arrays(values, rate=RATE, names=["output", "roll"], units=["V", "V"])
    with pytest.raises(RecordingError, match="0 pulses"):
        noise_of(still, machine())


def test_sound_without_a_scale_is_refused_and_with_one_read(tmp_path):
    import soundfile

    from tripmargin.recordings.reading import read

    soundfile.write(
        tmp_path / "a.wav",
        quiet_run(20.0, rate=4000.0, wander=0.005, pickup=False).read().values,
        4000,
    )
    sound = read(tmp_path / "a.wav")
    with pytest.raises(RecordingError, match="scale="):
        noise_of(sound, machine())
    doubled = noise_of(sound, machine(), scale=2.0, at="output")
    assert float(doubled.floor) == pytest.approx(2 * NOISE, rel=0.03)


def test_the_result_is_json_ready_with_units_in_its_keys():
    made = noise_of(quiet_run(10.0), machine()).to_dict()
    json.dumps(made, allow_nan=False)
    assert made["fields"]["detector.noise"].endswith(" V")
    assert {"floor_V", "share", "orders", "false_trips_per_h", "cured_per_h", "events"} <= set(made)
    assert (
        made["orders"][0]["amplitude_V"]["low"]
        < ORDERS[1][0]
        < made["orders"][0]["amplitude_V"]["high"]
    )
