"""Stop times that are heard: bad input, options, several stops, moving an instant by hand."""

from __future__ import annotations

import numpy as np
import pytest

from tripmargin import load_machine
from tripmargin.recordings.reading.arrays import recording_of_arrays
from tripmargin.recordings.recording import Recording, RecordingError
from tripmargin.recordings.stop_time import StopTime, stop_time

RATE = 16_000
CLICK, CATCH, REST = 1.0, 1.06, 1.072


def knock(t: np.ndarray, at: float, loud: float, tone: float) -> np.ndarray:
    since = np.maximum(t - at, 0)
    return (t > at) * loud * np.exp(-since / 0.002) * np.sin(2 * np.pi * tone * since)


def sound(
    stops: tuple[float, ...] = (0.0,), length: float = 2.0, rate: int = RATE, seed: int = 0,
    gain: float = 1.0,
) -> np.ndarray:  # fmt: skip
    """Stops that begin 1 s after each time given: a click, a clack, noise that dies away."""
    rng = np.random.default_rng(seed)
    t = np.arange(0, length, 1 / rate)
    made = 0.005 * rng.standard_normal(len(t))
    for at in stops:
        left = np.clip((at + REST - t) / (REST - CATCH), 0, 1) * (t > at)
        made += 0.05 * rng.standard_normal(len(t)) * left
        made += knock(t, at + CLICK, 0.25, 4100) + knock(t, at + CATCH, 0.4, 1900)
    return np.clip(gain * made, -1, 1)


def recorded(samples: np.ndarray, rate: float = RATE) -> Recording:
    return recording_of_arrays(samples, rate=rate, name="stop.wav", kind="WAV")


@pytest.fixture(scope="module")
def found() -> StopTime:
    return stop_time(recorded(sound()))


def test_a_plain_stop_is_measured(found: StopTime) -> None:
    assert found.low < REST - CLICK < found.high
    assert found.value == pytest.approx(REST - CLICK, abs=0.003)
    assert found.instant("click").time == pytest.approx(CLICK, abs=0.001)
    assert found.instant("catch").time == pytest.approx(CATCH, abs=0.003)
    assert [each.name for each in found.instants] == ["click", "catch", "rest"]
    assert any("threshold is crossed" in each for each in found.assumed)
    assert not found.events


def test_it_says_all_of_itself_in_si(found: StopTime) -> None:
    told = found.to_dict()
    assert told["value_s"] == found.value
    assert told["confidence"] == 0.95
    assert told["instants"][0]["name"] == "click"
    assert {"low_s", "high_s", "time_s", "how", "by_hand"} <= set(told["instants"][0])
    assert told["by_hand"] == []


def test_two_channels_say_the_same(found: StopTime) -> None:
    both = np.column_stack([sound(), 0.5 * np.roll(sound(), 5)])
    assert stop_time(recorded(both)).value == pytest.approx(found.value, abs=0.002)


def test_an_instant_moved_by_hand_is_a_new_stop_time_that_says_so(found: StopTime) -> None:
    moved = found.moved(rest=REST + 0.004)
    assert moved.value == pytest.approx(REST + 0.004 - found.instant("click").time, abs=1e-9)
    assert moved.instant("rest").by_hand
    assert moved.to_dict()["by_hand"] == ["rest"]
    assert moved.assumed[-1].startswith("Moved by hand: rest.")
    assert found.instant("rest").by_hand is False
    again = moved.moved(click=CLICK)
    assert again.to_dict()["by_hand"] == ["click", "rest"]
    assert sum(each.startswith("Moved by hand") for each in again.assumed) == 1
    with pytest.raises(RecordingError, match="no instant 'trip'"):
        found.moved(trip=1.0)
    with pytest.raises(RecordingError, match="does not come after"):
        found.moved(rest=0.5)


def test_sound_travels_and_the_button_has_a_path_of_its_own(found: StopTime) -> None:
    # CHECKS 2.11: 2.914 ms a metre at 20 degC.
    far = stop_time(recorded(sound()), distance_difference=2.0)
    assert found.value - far.value == pytest.approx(2 * 2.914e-3, abs=3e-4)
    late = stop_time(recorded(sound()), click_delay=(0.004, 0.010))
    assert found.value - late.value == pytest.approx(0.007, abs=5e-4)
    assert late.high - late.low > found.high - found.low
    assert any("4 to 10 ms after the click" in each for each in late.assumed)


def test_the_machines_own_stop_chain_counts_only_where_asked(found: StopTime) -> None:
    assert any("15 to 200 ms" in each for each in found.assumed)
    machine = load_machine("whimbrel")
    asked = stop_time(recorded(sound()), machine=machine, cut_length=0.008)
    assert any("Whimbrel's file" in each for each in asked.assumed)
    with pytest.raises(RecordingError, match="cut length"):
        stop_time(recorded(sound()), machine=machine)


def test_several_stops_are_listed_and_each_can_be_had() -> None:
    three = recorded(sound(stops=(0.0, 2.6, 5.2), length=8.0))
    found = stop_time(three)
    assert [round(each.at - REST, 1) for each in found.events] == [0.0, 2.6, 5.2]
    assert any(each.what == "several" and "by its number" in each.words for each in found.troubles)
    second = stop_time(three, which=2)
    assert second.instant("click").time == pytest.approx(2.6 + CLICK, abs=0.002)
    assert second.low < REST - CLICK < second.high
    with pytest.raises(RecordingError, match="holds 3 stops"):
        stop_time(three, which=4)


def test_a_rate_that_lies_can_be_overridden_and_is_found_by_a_known_tone() -> None:
    true = sound(rate=16_000)
    t = np.arange(len(true)) / 16_000
    hum = sum(0.02 / k * np.sin(2 * np.pi * 50 * k * t) for k in (1, 2, 3))
    lying = recorded(true + hum, rate=17_600.0)
    wrong = stop_time(lying, known_tone=50.0)
    assert wrong.value == pytest.approx((REST - CLICK) / 1.1, abs=0.003)
    words = next(each.words for each in wrong.troubles if each.what == "rate")
    assert "55 Hz" in words
    assert "Try 16000 samples a second" in words
    right = stop_time(lying, rate=16_000.0, known_tone=50.0)
    assert right.value == pytest.approx(REST - CLICK, abs=0.003)
    assert right.instant("click").time == pytest.approx(CLICK, abs=0.002)
    assert not any(each.what == "rate" for each in right.troubles)


def test_a_microphone_that_is_switched_off_later_is_no_stop(found: StopTime) -> None:
    samples = sound()
    samples[int(1.5 * RATE) :] = 0.0
    assert stop_time(recorded(samples)).value == pytest.approx(found.value, abs=0.003)


def test_a_clipped_recording_is_measured_with_a_wider_interval(found: StopTime) -> None:
    clipped = stop_time(recorded(sound(gain=8.0)))
    words = [each.words for each in clipped.troubles if each.what == "clipped"]
    assert any("clipped near the click" in each for each in words)
    assert clipped.budget > found.budget


@pytest.mark.parametrize(
    ("samples", "words"),
    [
        (np.zeros(2 * RATE), "silent"),
        (0.01 * np.random.default_rng(3).standard_normal(2 * RATE), "no moment"),
        (sound()[: RATE // 4], "needs 0.4 s"),
        (sound()[: int((REST + 0.02) * RATE)], "ends .* ms after the rolls' noise falls"),
    ],
)
def test_what_holds_no_stop_is_refused_in_words(samples: np.ndarray, words: str) -> None:
    with pytest.raises(RecordingError, match=words):
        stop_time(recorded(samples))


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"chanels": (1,)}, "Did you mean channels"),
        ({"rate": 10.0}, "Allowed: 4000"),
        ({"click_delay": (0.01, 0.0)}, "the first is the least"),
        ({"temperature": 400.0}, "-40 to 60"),
        ({"from_": "video"}, "'logger' or 'sound'"),
        ({"distance_difference": float("nan")}, "distance_difference"),
    ],
)
def test_an_option_that_cannot_be_is_refused_in_words(options: dict, words: str) -> None:
    with pytest.raises(RecordingError, match=words):
        stop_time(recorded(sound()), **options)


def test_a_click_that_is_not_heard_is_said_and_the_interval_is_wide() -> None:
    rng = np.random.default_rng(9)
    t = np.arange(0, 2.0, 1 / RATE)
    quiet = 0.05 * rng.standard_normal(len(t)) * np.clip((REST - t) / (REST - CATCH), 0, 1)
    quiet += 0.005 * rng.standard_normal(len(t))
    found = stop_time(recorded(quiet))
    assert any(each.what == "faint" and "click" in each.words for each in found.troubles)
    assert found.high - found.low > 0.08
