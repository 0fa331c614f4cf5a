"""Stop times that are heard, over real machine noise: intervals that hold the truth.

`tests/recordings/synthetic.py` says how the recordings are made and what the signal-to-noise ratio
is; the seeds are not those with which the estimator was set.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.recordings.backgrounds import backgrounds
from tests.recordings.synthetic import stop
from tripmargin.recordings.reading.arrays import recording_of_arrays
from tripmargin.recordings.stop_time import stop_time

COUNT = 1000
SEED = 20_261


def measured(snr: float, count: int) -> np.ndarray:
    """Rows of low, value, high and truth, s; no recording is left out."""
    sounds = backgrounds()
    rows = []
    for k in range(count):
        made = stop(np.random.default_rng([SEED, int(snr), k]), sounds, snr=snr)
        recording = recording_of_arrays(made.samples, rate=made.rate)
        found = stop_time(recording, from_="sound", distance_difference=0.0)
        rows.append((found.low, found.value, found.high, made.stop_time))
    return np.array(rows)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("snr", "middle_error", "middle_width"), [(10.0, 0.003, 0.020), (3.0, 0.006, 0.060)]
)
def test_intervals_hold_the_truth_in_95_of_100(
    snr: float, middle_error: float, middle_width: float
) -> None:
    # Issue 5: 95 +- 2 % of 1 000 synthetic recordings at 10 dB and at 3 dB; error under 3 ms at
    # 10 dB: the middle one. Intervals may not pass by being wide: their middle width is held too.
    low, value, high, truth = measured(snr, COUNT).T
    covered = np.mean((low <= truth) & (truth <= high))
    error = np.abs(value - truth)
    print(
        f"{snr:g} dB: covered {covered:.3f}, error: middle {np.median(error) * 1e3:.2f} ms, 90 in"
        f" 100 under {np.quantile(error, 0.9) * 1e3:.1f} ms, 95 under"
        f" {np.quantile(error, 0.95) * 1e3:.1f} ms; middle width"
        f" {np.median(high - low) * 1e3:.1f} ms"
    )
    assert 0.93 <= covered <= 0.97
    assert np.median(error) < middle_error
    assert np.median(high - low) < middle_width


def test_a_handful_of_stops_is_found_and_held() -> None:
    low, value, high, truth = measured(10.0, 12).T
    assert np.mean((low <= truth) & (truth <= high)) >= 10 / 12
    assert np.median(np.abs(value - truth)) < 0.005
