"""Stop times from a logger's two channels, simulated from the roll's motion."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from tripmargin.recordings.reading.arrays import recording_of_arrays
from tripmargin.recordings.recording import Recording, RecordingError
from tripmargin.recordings.stop_time import stop_time


@dataclass(frozen=True)
class Logged:
    trip: np.ndarray
    roll: np.ndarray
    rate: float
    truth: float

    def recording(self, names: tuple[str, str] = ("trip line", "roll")) -> Recording:
        both = np.column_stack([self.trip, self.roll])
        return recording_of_arrays(both, rate=self.rate, names=names, units=["V", "V"])


def logged(rng: np.random.Generator, kind: str, teeth: int = 30) -> Logged:
    """A trip line that drops, and a roll that turns evenly, then slows down nearly evenly."""
    rate = float(rng.choice([2e3, 1e4, 2e4]))
    t = np.arange(int(2.6 * rate)) / rate
    trip = rng.uniform(1.1, 1.3)
    catch = trip + rng.lognormal(np.log(0.045), 0.35)
    slowing = float(np.clip(rng.lognormal(np.log(0.013), 0.55), 0.003, 0.06))
    bend = rng.uniform(0.85, 1.2)
    left = np.clip(1 - (t - catch) / slowing, 0, 1)
    rise = rng.choice([1e-9, 3e-4, 1e-3])
    line = 12.6 - 12.4 * np.clip((t - trip) / rise + 0.5, 0, 1) + rng.normal(0, 0.05, len(t))
    if kind == "speed":
        roll = 0.1 + 4 * left**bend + rng.normal(0, 4 * rng.choice([0.003, 0.01, 0.03]), len(t))
    else:
        turned = np.where(t < catch, t - catch, slowing / (1 + bend) * (1 - left ** (1 + bend)))
        angle = rng.uniform(1, 5) * teeth * turned + rng.uniform(0, 1)
        roll = np.where(angle % 1 < rng.uniform(0.3, 0.7), 5.0, 0.1)
        roll = roll + rng.normal(0, 0.05, len(t))
    return Logged(line, roll, rate, catch + slowing - trip)


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "width"), [("speed", 0.004), ("pulses", 0.030)])
def test_intervals_hold_the_truth_and_are_not_wide(kind: str, width: float) -> None:
    rng = np.random.default_rng(77)
    rows = []
    for _ in range(60):
        one = logged(rng, kind)
        found = stop_time(one.recording(), from_="logger")
        rows.append((found.low, found.value, found.high, one.truth))
    low, value, high, truth = np.array(rows).T
    covered = np.mean((low <= truth) & (truth <= high))
    assert covered >= 0.90  # 95 less two standard errors of 60 draws
    assert np.median(high - low) < width
    assert np.median(np.abs(value - truth)) < 0.005


@pytest.fixture(scope="module")
def pulses() -> Logged:
    return logged(np.random.default_rng(4), "pulses")


@pytest.fixture(scope="module")
def speed() -> Logged:
    return logged(np.random.default_rng(5), "speed")


def test_what_it_guessed_is_said_and_can_be_said_otherwise(pulses: Logged) -> None:
    found = stop_time(pulses.recording(("a", "b")))
    assert found.source == "logger"
    assert found.low <= pulses.truth <= found.high
    assert any("Trip line: a, because" in each for each in found.assumed)
    told = stop_time(pulses.recording(("a", "b")), trip=1, roll="b", roll_is="pulses")
    assert told.value == pytest.approx(found.value, abs=1e-4)
    assert not any("says otherwise" in each and "Trip line" in each for each in told.assumed)
    assert told.instants[0].name == "trip"


def test_a_speed_signal_is_told_from_pulses(speed: Logged) -> None:
    found = stop_time(speed.recording(("a", "b")))
    assert any("kind: speed" in each for each in found.assumed)
    assert found.low <= speed.truth <= found.high


def test_the_trips_own_edge_is_uncertain_by_the_sample_time_and_its_rise(speed: Logged) -> None:
    found = stop_time(speed.recording(), trip="trip line", roll="roll")
    trip = found.instant("trip")
    assert trip.high - trip.low >= 0.99 / speed.rate


def test_a_delay_of_the_trip_line_is_added(speed: Logged) -> None:
    bare = stop_time(speed.recording())
    late = stop_time(speed.recording(), trip_delay=(0.002, 0.006))
    assert late.value == pytest.approx(bare.value + 0.004, abs=1e-9)
    assert any("2 to 6 ms after the threshold" in each for each in late.assumed)


def test_a_bouncing_contact_counts_once(speed: Logged) -> None:
    line = speed.trip.copy()
    first = int(np.argmax(line < 6))
    gap = int(0.005 * speed.rate)
    line[first + gap : first + 2 * gap] = 12.6
    bounced = Logged(line, speed.roll, speed.rate, speed.truth)
    found = stop_time(bounced.recording())
    assert found.low <= speed.truth <= found.high
    assert any(each.what == "bounce" for each in found.troubles)


def still(one: Logged, **how: np.ndarray) -> Recording:
    return Logged(how.get("trip", one.trip), how.get("roll", one.roll), one.rate, 0.0).recording()


def test_wrong_channels_are_refused_in_words(pulses: Logged, speed: Logged) -> None:
    noise = np.random.default_rng(0).normal(0, 0.05, len(pulses.roll))
    running = np.where(np.arange(len(pulses.roll)) * 60 / pulses.rate % 1 < 0.5, 5.0, 0.1)
    cases = [
        (lambda: stop_time(still(pulses, roll=noise)), "no channel but 'trip line' moves"),
        (lambda: stop_time(still(pulses, trip=noise), trip=1), "never moves"),
        (lambda: stop_time(still(pulses, trip=noise)), "no channel changes like a trip line"),
        (lambda: stop_time(still(pulses, roll=running)), "never stopped"),
        (lambda: stop_time(pulses.recording(), trip=2, roll=1), "edges"),
        (lambda: stop_time(still(pulses, roll=running), trip=2, roll=1), "edges"),
        (lambda: stop_time(pulses.recording(), roll="wheel"), "no single channel 'wheel'"),
        (lambda: stop_time(speed.recording(), roll_is="light"), "'pulses'"),
        (lambda: stop_time(speed.recording(), which=3, from_="logger"), "holds 1 stop"),
        (
            lambda: stop_time(recording_of_arrays(speed.trip, rate=1e3), from_="logger"),
            "needs two",
        ),
    ]
    for call, words in cases:
        with pytest.raises(RecordingError, match=words):
            pytest.fail(f"{words}: {call()}")


def test_a_speed_that_never_falls_is_refused(speed: Logged) -> None:
    up = 4 + np.random.default_rng(0).normal(0, 0.05, len(speed.roll))
    up[: len(up) // 10] = 0.0
    with pytest.raises(RecordingError, match="does not come down to rest"):
        stop_time(still(speed, roll=up), roll_is="speed")


def test_several_trips_are_listed(speed: Logged) -> None:
    twice = Logged(
        np.concatenate([speed.trip, speed.trip]), np.concatenate([speed.roll, speed.roll]),
        speed.rate, speed.truth,
    )  # fmt: skip
    found = stop_time(twice.recording(), which=2)
    assert len(found.events) == 2
    assert found.low <= speed.truth <= found.high
    assert found.instant("trip").time > 2.6
