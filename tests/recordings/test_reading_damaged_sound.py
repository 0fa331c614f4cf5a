"""Sound files of floating point whose samples are no numbers: told, without a warning."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from tripmargin.recordings.reading import read
from tripmargin.recordings.reading.sound_watch import SEGMENT, narrow

RATE = 48_000


def written(tmp_path: Path, samples: np.ndarray) -> Path:
    file = tmp_path / "damaged.wav"
    soundfile.write(file, samples, RATE, subtype="DOUBLE")
    return file


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("where", [slice(4800, 4820), slice(0, 20_000), slice(None)])
def test_samples_that_are_no_numbers_are_counted_with_their_place(
    tmp_path: Path, bad: float, where: slice
) -> None:
    # Warnings are errors here: none may come.
    samples = 0.1 * np.random.default_rng(1).standard_normal(2 * RATE)
    samples[where] = bad
    recording = read(written(tmp_path, samples))
    count = np.count_nonzero(~np.isfinite(samples))
    first = np.argmin(np.isfinite(samples)) / RATE
    (told,) = [one for one in recording.troubles if one.what == "unreadable"]
    assert f"{count} samples are no number, the first at {first:.4g} s" in told.words
    assert told.at == pytest.approx(first)


def test_what_is_left_says_how_loud_it_is(tmp_path: Path) -> None:
    samples = np.full(2 * RATE, 1e-5) * np.random.default_rng(2).standard_normal(2 * RATE)
    samples[100] = np.inf
    words = [one.words for one in read(written(tmp_path, samples)).troubles]
    assert any("as good as silent" in each for each in words), words


def test_a_sound_without_spoilt_samples_is_not_told_of_any(tmp_path: Path) -> None:
    samples = 0.1 * np.random.default_rng(3).standard_normal(2 * RATE)
    assert [one.what for one in read(written(tmp_path, samples)).troubles] == []


def test_huge_numbers_have_a_spectrum_too() -> None:
    # 1e300 squared is no double: only the proportions count.
    noise = np.random.default_rng(4).standard_normal((4, SEGMENT))
    spectrum = np.fft.rfft(noise)
    spectrum[:, SEGMENT // 8 :] = 0
    low = np.fft.irfft(spectrum, SEGMENT)
    assert [one.words for one in narrow(list(low), RATE)] == [
        one.words for one in narrow(list(1e300 * low), RATE)
    ]
    assert narrow(list(low), RATE) != ()
    assert narrow([np.full(SEGMENT, np.nan)], RATE) == ()
