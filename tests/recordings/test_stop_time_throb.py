"""The machine's throb in a stop's sound, and how like a stop a fall of the noise is.

No outside source for the levels: planted swings, recovered.
"""

from __future__ import annotations

import numpy as np
import pytest

from tripmargin.recordings.recording import Block
from tripmargin.recordings.stop_time.sound_events import overview_of
from tripmargin.recordings.stop_time.sound_ranking import Fall, ranked
from tripmargin.recordings.stop_time.sound_throb import throb_of
from tripmargin.recordings.stop_time.sound_words import LIKE, WIDE, no_stop_words

QUIET = slice(500, 900)
RATE = 16_000


def swinging(turn: float, depth: float, seed: int = 5) -> tuple[np.ndarray, np.ndarray]:
    """Power of some noise that swells and fades, and its logarithm without the noise."""
    planted = depth * np.sin(2 * np.pi * np.arange(1000) / turn)
    return np.exp(planted) * np.random.default_rng(seed).gamma(8, 1 / 8, 1000), planted


@pytest.mark.parametrize("turn", [22, 46, 87, 150])
def test_a_swing_heard_after_the_stop_is_told_for_the_time_before_it(turn: int) -> None:
    level, planted = swinging(turn, 0.6)
    told = np.log(throb_of(level, QUIET))
    before = slice(QUIET.start - 60, QUIET.start)
    assert np.corrcoef(told[before], planted[before])[0, 1] > 0.8
    assert np.var(planted[before] - told[before]) < 0.5 * np.var(planted[before])


def test_noise_that_does_not_swing_is_left_alone() -> None:
    level, _ = swinging(50, 0.0)
    assert np.abs(np.log(throb_of(level, QUIET))).max() < 0.1


@pytest.mark.parametrize(
    ("level", "quiet"),
    [
        (np.zeros(1000), QUIET),
        (np.repeat([1.0, 0.0], 500), slice(450, 850)),
        (np.ones(1000), slice(980, 1000)),
        (np.ones(1000), slice(1000, 1000)),
    ],
    ids=["silence", "switched off", "too short", "nothing"],
)
def test_where_nothing_can_be_told_nothing_is(level: np.ndarray, quiet: slice) -> None:
    assert throb_of(level, quiet) == pytest.approx(1.0)


def likeness(fall: float, knock: float) -> list[Fall]:
    """Of noise that falls by a share of its amplitude, with a knock before it."""
    t = np.arange(0, 2.0, 1 / RATE)
    made = 0.05 * np.random.default_rng(2).standard_normal(len(t)) * np.where(t < 1.0, 1.0, fall)
    since = np.maximum(t - 0.95, 0)
    made += (t > 0.95) * knock * np.exp(-since / 0.002) * np.sin(2 * np.pi * 3000 * since)
    samples = made[:, None]
    return ranked(overview_of([Block(t, samples)], RATE), RATE, lambda at: (samples, 0.0))


def test_a_fall_is_the_likelier_a_stop_the_farther_it_is_and_the_surer_the_knock() -> None:
    far, near = likeness(0.2, 0.5)[0], likeness(0.5, 0.5)[0]
    unheard = likeness(0.2, 0.0)[0]
    assert far.at == pytest.approx(1.0, abs=0.05)
    assert far.likeness > near.likeness
    assert far.likeness > 1.5 * unheard.likeness
    assert likeness(1.0, 0.5) == []


def test_a_fall_like_a_machines_own_is_said_to_be_no_clear_stop() -> None:
    assert no_stop_words(WIDE / 2, 2 * LIKE) == ()
    (small,) = no_stop_words(WIDE / 2, LIKE / 2)
    assert "falls no farther" in small.words
    (wide,) = no_stop_words(2 * WIDE, 2 * LIKE)
    assert "160 ms" in wide.words
