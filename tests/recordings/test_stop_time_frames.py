"""Stop times from counted video frames."""

from __future__ import annotations

import numpy as np
import pytest

from tripmargin.recordings.recording import RecordingError
from tripmargin.recordings.stop_time import stop_time_from_frames


def test_the_difference_of_two_rectangles_is_triangular() -> None:
    # JCGM 100:2008, 4.3.9: the sum of two equal rectangles is a triangle; 95 % of it lies within
    # (1 - sqrt(0.05)) of its half-base, by its area.
    rng = np.random.default_rng(0)
    drawn = np.abs(rng.random(400_000) - rng.random(400_000))
    assert np.mean(drawn < 1 - np.sqrt(0.05)) == pytest.approx(0.95, abs=1e-3)
    found = stop_time_from_frames(first=112, last=125, rate=240, rate_uncertainty=0.0)
    assert found.value == pytest.approx(13 / 240)
    assert found.high - found.value == pytest.approx((1 - np.sqrt(0.05)) / 240)


@pytest.mark.parametrize("rate", [25.0, 60.0, 240.0])
def test_intervals_hold_the_truth_in_95_of_100(rate: float) -> None:
    rng = np.random.default_rng(int(rate))
    covered, count = 0, 4000
    for _ in range(count):
        own = rate * (1 + rng.uniform(-0.001, 0.001))
        start, length = rng.uniform(1, 2), rng.uniform(0.05, 0.2)
        first, last = (int(np.ceil(at * own)) for at in (start, start + length))
        if last == first:
            count -= 1
            continue
        found = stop_time_from_frames(first=first, last=last, rate=rate)
        covered += found.low <= length <= found.high
    assert covered / count == pytest.approx(0.95, abs=0.02)


def test_a_rate_that_varies_widens_the_interval_and_is_said() -> None:
    fixed = stop_time_from_frames(first=10, last=20, rate=30)
    varies = stop_time_from_frames(first=10, last=20, rate=30, variable=True)
    assert varies.high - varies.low > 1.4 * (fixed.high - fixed.low)
    assert any("varies" in each.words for each in varies.troubles)
    mean = stop_time_from_frames(first=10, last=20, rate=28.7)
    assert any("mean of a rate that varies" in each.words for each in mean.troubles)
    assert not fixed.troubles
    assert not stop_time_from_frames(first=10, last=20, rate=29.97).troubles


def test_few_frames_are_said() -> None:
    found = stop_time_from_frames(first=10, last=12, rate=30)
    assert any("240" in each.words for each in found.troubles)
    assert found.low >= 0


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"first": -1, "last": 5, "rate": 30}, "first = -1: a frame's number is a whole number"),
        ({"first": 1, "last": 5.5, "rate": 30}, "last = 5.5"),
        (
            {"first": 9, "last": 5, "rate": 30},
            "Frame 5, in which the roll stands, does not come after frame 9, which shows the trip",
        ),
        ({"first": 5, "last": 5, "rate": 30}, "does not come after"),
        ({"first": 1, "last": 5, "rate": 0}, "rate = 0 frames a second. Allowed: above 0"),
        ({"first": 1, "last": 5, "rate": float("nan")}, "rate = nan"),
        ({"first": 1, "last": 5, "rate": 30, "rate_uncertainty": 2.0}, "rate_uncertainty"),
    ],
)
def test_what_cannot_be_counted_is_refused_in_words(given: dict, words: str) -> None:
    with pytest.raises(RecordingError, match=words):
        stop_time_from_frames(**given)


def test_a_delay_of_the_indicator_is_added() -> None:
    # The indicator lights after the crossing: the stop began that much earlier.
    bare = stop_time_from_frames(first=10, last=30, rate=240)
    late = stop_time_from_frames(first=10, last=30, rate=240, delay=(0.0, 0.010))
    assert late.value == pytest.approx(bare.value + 0.005)
    assert late.high - late.low > bare.high - bare.low
