"""Recordings spoilt at random: each gives a stop time or is refused in words, never anything else.

Seeded: what fails here fails again. No outside source: the ways of spoiling are common practice
(cut off, silent, clipped, constant, channels swapped, a wrong rate, gaps, damaged numbers).
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from tripmargin.recordings.reading.arrays import recording_of_arrays
from tripmargin.recordings.recording import Recording, RecordingError
from tripmargin.recordings.stop_time import StopTime, stop_time

Samples = np.ndarray
Draw = np.random.Generator
SOUNDS, LOGS = 90, 120
RATES = (100, 1000, 4000, 4001, 8000, 16_000, 44_100, 192_000)
OFTEN = (0.02, 0.02, 0.2, 0.06, 0.36, 0.28, 0.04, 0.02)


def stopped(draw: Draw, rate: int) -> Samples:
    """A click, a clack 60 ms later, noise that dies away; now and then too little on one side."""
    before, after = draw.choice([0, 0.001, 0.1, 0.5, 1]), draw.choice([0, 0.001, 0.06, 0.3, 0.8])
    t = np.arange(0, before + 0.07 + after, 1 / rate)
    left = np.clip((before + 0.072 - t) / 0.012, 0, 1)
    made = 0.05 * left * draw.standard_normal(len(t))
    made += float(draw.choice([0, 1e-6, 0.005, 0.05])) * draw.standard_normal(len(t))
    for at, loud, tone in ((before, 0.25, 0.25 * rate), (before + 0.06, 0.4, 0.12 * rate)):
        since = np.maximum(t - at, 0)
        made += (t > at) * loud * np.exp(-since / 0.002) * np.sin(2 * np.pi * tone * since)
    return made


def part(draw: Draw, x: Samples) -> slice:
    first, last = sorted(draw.integers(0, len(x) + 1, 2))
    return slice(int(first), int(last))


def put(x: Samples, where: Any, value: Any) -> Samples:
    made = x.copy()
    made[where] = value
    return made


def wild(draw: Draw, x: Samples) -> Samples:
    """Numbers that no microphone gives: a damaged file of floating-point samples."""
    some = part(draw, x)
    signs = draw.choice([-1, 1], len(x[some]))
    return put(x, some, signs * 10.0 ** draw.uniform(-40, 300, len(signs)))


SOUND_WAYS: tuple[Callable[[Draw, Samples], Samples], ...] = (
    lambda draw, x: x[part(draw, x)],
    lambda draw, x: x[int(draw.uniform(0, 0.3) * len(x)) :],
    lambda draw, x: x[: int(draw.uniform(0.7, 1) * len(x))],
    lambda draw, x: x[:1],
    lambda draw, x: put(x, part(draw, x), 0.0),
    lambda draw, x: put(x, part(draw, x), np.nan),
    lambda draw, x: np.full_like(x, draw.choice([0.0, 0.5, 1.0, -1.0])),
    lambda draw, x: np.clip(x * draw.choice([10.0, 1e3]), -1, 1),
    lambda draw, x: np.round(x * 4) / 4,
    lambda draw, x: x * draw.choice([1e-6, 1e-3, 1e5]),
    lambda draw, x: x[::-1],
    lambda draw, x: x + 0.3,
    lambda draw, x: put(x, slice(0, 1), 1.0),
    lambda draw, x: put(x, slice(-1, None), 1.0),
    lambda draw, x: put(x, slice(-1, None), draw.choice([np.inf, -np.inf, 1e6, 1e19, 1e30])),
    lambda draw, x: np.sin(0.7 * np.arange(len(x))),
    lambda draw, x: np.concatenate([x, x]),
    wild,
)
SOUND_OPTIONS: tuple[dict[str, Any], ...] = (
    {"rate": 4000.0}, {"rate": 192_000.0}, {"rate": 100.0}, {"rate": "fast"},
    {"click_delay": 0.5}, {"click_delay": (0.0, 0.5)}, {"click_delay": 9.0},
    {"click_delay": (1, 2, 3)}, {"distance_difference": 100.0},
    {"distance_difference": (-100.0, 100.0)}, {"which": 0}, {"which": 2}, {"channels": (2,)},
    {"channels": ()}, {"channels": 1}, {"known_tone": 50.0}, {"temperature": float("nan")},
)  # fmt: skip


def a_sound(draw: Draw) -> tuple[Recording, dict[str, Any]]:
    rate = int(draw.choice(RATES, p=OFTEN))
    x = stopped(draw, rate)
    for _ in range(int(draw.integers(0, 3))):
        x = SOUND_WAYS[int(draw.integers(len(SOUND_WAYS)))](draw, x)
        x = x if len(x) else np.zeros(1)
    if draw.random() < 0.3:  # the stop is on one channel only, either of them
        both = [x, 0.01 * draw.standard_normal(len(x))]
        x = np.column_stack(both if draw.random() < 0.5 else both[::-1])
    picked = SOUND_OPTIONS[int(draw.integers(len(SOUND_OPTIONS)))] if draw.random() < 0.4 else {}
    return recording_of_arrays(x, rate=rate, name="heard.wav", kind="WAV"), picked


def logged(draw: Draw, rate: float, n: int) -> Samples:
    """A trip line and a roll's sensor, speed or pulses; some with no noise at all."""
    t = np.arange(n) / rate
    end = max(float(t[-1]), 1 / rate)
    trip = draw.uniform(0.3, 0.8) * end
    catch, slowing = trip + draw.uniform(0, 0.1) * end, draw.uniform(1e-6, 0.1) * end
    left = np.clip(1 - (t - catch) / slowing, 0, 1)
    line = np.where(t < trip, 12.0, 0.2) + draw.normal(0, draw.choice([0, 0.05, 0.3]), n)
    roll = 0.1 + 4 * left + draw.normal(0, draw.choice([0, 0.03, 0.3]), n)
    if draw.random() < 0.5:
        angle = np.cumsum(left) / rate / end * draw.choice([3, 30, 100])
        roll = np.where(angle % 1 < 0.5, 5.0, 0.1)
    return np.column_stack([line, roll])


def column(draw: Draw, x: Samples, change: Callable[[Samples], Any]) -> Samples:
    """Change one of the channels."""
    k = int(draw.integers(x.shape[1]))
    return put(x, (slice(None), k), change(x[:, k]))


LOG_WAYS: tuple[Callable[[Draw, Samples], Samples], ...] = (
    lambda draw, x: x[part(draw, x)],
    lambda draw, x: x[:, ::-1],
    lambda draw, x: x[::-1],
    lambda draw, x: x[:, :1],
    lambda draw, x: np.column_stack([x, x[:, :1]]),
    lambda draw, x: put(x, part(draw, x), x[0]),
    lambda draw, x: column(draw, x, lambda y: y[0]),
    lambda draw, x: column(draw, x, lambda y: np.nan),
    lambda draw, x: column(draw, x, lambda y: put(y, part(draw, y), np.nan)),
    lambda draw, x: column(draw, x, lambda y: np.arange(len(y)) > len(y) / 2),
    lambda draw, x: column(draw, x, lambda y: np.arange(len(y)) % 2),
    lambda draw, x: column(draw, x, lambda y: y * draw.choice([0, -1, 1e-12, 1e12, 1e200])),
    lambda draw, x: column(draw, x, lambda y: put(y, len(y) // 2, draw.choice([1e6, np.inf]))),
    lambda draw, x: column(draw, x, np.round),
)
LOG_OPTIONS: tuple[dict[str, Any], ...] = (
    {"roll_is": "pulses"}, {"roll_is": "speed"}, {"trip": 2}, {"trip": 3}, {"roll": "channel 2"},
    {"trip": 1, "roll": 1}, {"trip_delay": -0.5}, {"trip_delay": (-0.5, 0.5)}, {"which": 0},
    {"which": 2},
)  # fmt: skip


def a_log(draw: Draw) -> tuple[Recording, dict[str, Any]]:
    rate, n = float(draw.choice([20, 100, 1e3, 1e4])), int(draw.choice([1, 3, 20, 1000, 3000]))
    x = logged(draw, rate, n)
    for _ in range(int(draw.integers(0, 3))):
        x = LOG_WAYS[int(draw.integers(len(LOG_WAYS)))](draw, x)
        x = x if len(x) else np.zeros((1, 2))
    steps = np.full(len(x), 1 / rate)
    kind = int(draw.integers(4))
    if kind == 0:  # uneven
        steps = draw.exponential(1 / rate, len(x)) + 1e-9
    elif kind == 1:  # a gap
        steps[int(draw.integers(len(x)))] += float(draw.choice([0.1, 5, 1e4]))
    elif kind == 2 and draw.random() < 0.2:  # a stamp that comes again: refused by the reading
        steps[len(x) // 2] = 0.0
    options = LOG_OPTIONS[int(draw.integers(len(LOG_OPTIONS)))] if draw.random() < 0.5 else {}
    return recording_of_arrays(x, times=np.cumsum(steps), name="logged.csv", kind="CSV"), options


def answered(made: Callable[[Draw], tuple[Recording, dict[str, Any]]], seed: int) -> bool:
    """Whether there is a stop time; else there must be words."""
    try:
        recording, options = made(np.random.default_rng([seed, 2027]))
        found = stop_time(recording, **options)
    except RecordingError as error:
        words = str(error)
        assert len(words) > 30, words
        # A keyword of Python's means nothing on a page or to a command.
        assert not re.search(r"\w=|None|nan(?! degC)|array|index", words), words
        return False
    assert isinstance(found, StopTime)
    assert 0 <= found.low <= found.value <= found.high, (seed, found)
    assert found.value > 0
    for each in found.instants:
        assert each.low <= each.time <= each.high, (seed, each)
    json.dumps(found.to_dict(), allow_nan=False)
    told = [*found.assumed, *(each.words for each in found.troubles)]
    assert not [each for each in told if re.search(r"\w=", each)]
    return True


def test_a_spoilt_sound_is_measured_or_refused_in_words() -> None:
    count = sum(answered(a_sound, seed) for seed in range(SOUNDS))
    assert 0.1 * SOUNDS < count < 0.7 * SOUNDS  # both ends are met, or nothing was tried


def test_a_spoilt_log_is_measured_or_refused_in_words() -> None:
    count = sum(answered(a_log, seed) for seed in range(LOGS))
    assert 0.05 * LOGS < count < 0.7 * LOGS


def good_sound() -> Samples:
    draw = np.random.default_rng(1)
    t = np.arange(0, 1.6, 1 / 8000)
    made = (0.05 * np.clip((0.872 - t) / 0.012, 0, 1) + 0.004) * draw.standard_normal(len(t))
    for at, tone in ((0.8, 2000), (0.86, 1000)):
        since = np.maximum(t - at, 0)
        made += (t > at) * 0.3 * np.exp(-since / 0.002) * np.sin(2 * np.pi * tone * since)
    return made


@pytest.mark.parametrize(
    ("samples", "options", "words"),
    [
        (put(good_sound(), 4000, 1e30), {}, r"sample at 0\.5 s is 1e\+30.*from -1 to 1"),
        (put(good_sound(), 4000, -np.inf), {}, "is infinite.*damaged"),
        (good_sound(), {"click_delay": 0.4}, "stand 7. ms after.* 400 ms are to be taken off"),
        (good_sound(), {"which": 0}, "counted from 1"),
        (good_sound(), {"channels": ()}, "at least one"),
        (good_sound(), {"click_delay": "soon"}, "a number, or two"),
        (good_sound(), {"temperature": "warm"}, "-40 to 60"),
        (good_sound(), {"rate": 192_000.0}, "holds 0.067 s of sound"),
    ],
)
def test_each_is_refused_with_what_is_wrong(
    samples: Samples, options: dict[str, Any], words: str
) -> None:
    with pytest.raises(RecordingError, match=words):
        stop_time(recording_of_arrays(samples, rate=8000, name="heard.wav", kind="WAV"), **options)


def test_one_channel_may_be_named_without_a_list() -> None:
    both = np.column_stack([good_sound(), np.zeros(len(good_sound()))])
    recording = recording_of_arrays(both, rate=8000, name="heard.wav", kind="WAV")
    found = stop_time(recording, channels=1)
    assert found.low < 0.072 < found.high
    assert found.value == stop_time(recording, channels=("channel 1",)).value


def test_a_channel_without_a_number_leaves_the_others_as_they_are() -> None:
    t = np.arange(0, 1.5, 1e-3)
    trip, roll = np.where(t < 0.9, 12.0, 0.2), np.clip((0.96 - t) / 0.02, 0, 1)
    spoilt = put(trip, slice(100, 110), np.inf)
    tables = [
        np.column_stack([trip, roll, np.full(len(t), np.nan)]),
        np.column_stack([spoilt, roll]),
    ]
    for table in tables:
        found = stop_time(recording_of_arrays(table, rate=1e3, name="a.csv", kind="CSV"))
        assert found.low < 0.06 < found.high
