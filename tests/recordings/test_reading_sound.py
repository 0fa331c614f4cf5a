"""Sound files: what is written is read back; what is cut off, clipped or silent is said."""

from __future__ import annotations

import re
import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tripmargin.recordings.reading import read
from tripmargin.recordings.recording import BLOCK, Recording, RecordingError

RATE = 8000
PLAIN = ("PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE")


def sound(seconds: float = 2.0, channels: int = 2, rate: int = RATE, seed: int = 0) -> np.ndarray:
    random = np.random.default_rng(seed)
    return random.uniform(-0.6, 0.6, (round(seconds * rate), channels))


@pytest.fixture
def wav(tmp_path: Path):
    """Write a 16-bit WAV and change bytes of its header."""

    def made(samples: np.ndarray, name: str = "run.wav", **changes: tuple[int, bytes]) -> Path:
        file = tmp_path / name
        soundfile.write(file, samples, RATE, subtype="PCM_16")
        data = bytearray(file.read_bytes())
        for place, new in changes.values():
            data[place : place + len(new)] = new
        file.write_bytes(bytes(data))
        return file

    return made


def told(recording: Recording, what: str) -> str:
    return " ".join(each.words for each in recording.troubles if each.what == what)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40)
@given(
    form=st.sampled_from([("WAV", s) for s in PLAIN] + [("WAVEX", "PCM_24"), ("FLAC", "PCM_16"),
                         ("FLAC", "PCM_24"), ("AIFF", "PCM_16"), ("W64", "PCM_16")]),
    channels=st.integers(1, 4),
    samples=st.integers(1, 3000),
    rate=st.sampled_from([8000, 11025, 44100, 48000, 96000]),
)  # fmt: skip
def test_what_the_sound_library_writes_is_read_back_sample_for_sample(
    tmp_path, form, channels, samples, rate
):
    # writer and comparison: libsndfile through soundfile, the whole file at once
    kind, subtype = form
    file = tmp_path / f"run.{'wav' if kind == 'WAVEX' else kind.lower()}"
    values = np.random.default_rng(samples).uniform(-0.9, 0.9, (samples, channels))
    soundfile.write(file, values, rate, format=kind, subtype=subtype)
    made = read(file)
    whole, _ = soundfile.read(file, always_2d=True)
    block = made.read()
    np.testing.assert_array_equal(block.values, whole)
    np.testing.assert_allclose(block.times, np.arange(samples) / rate, atol=1e-12)
    assert (made.rate, made.samples, len(made.channels)) == (rate, samples, channels)


def test_a_window_is_that_part_of_the_whole(wav):
    made = read(wav(sound()))
    whole = made.read()
    for start, stop in ((0.0, 0.1), (0.50001, 1.0), (1.9, 5.0), (1.0, 1.0), (3.0, 4.0)):
        part = made.read(("channel 2",), start=start, stop=stop)
        inside = (whole.times >= start - 1e-9) & (whole.times <= stop + 1e-9)
        np.testing.assert_array_equal(part.values[:, 0], whole.values[inside, 1])


def test_blocks_are_no_longer_than_promised(wav):
    made = read(wav(sound(40.0, 1)))
    lengths = [len(block.times) for block in made.blocks()]
    assert (max(lengths), sum(lengths)) == (BLOCK, made.samples)


def test_a_file_cut_off_is_read_as_far_as_it_goes_and_it_is_told(wav):
    file = wav(sound())
    data = file.read_bytes()
    file.write_bytes(data[: len(data) // 2])
    made = read(file)
    assert made.samples == pytest.approx(RATE, abs=20)
    assert "promises 2 s" in told(made, "truncated")
    assert len(made.read().times) == made.samples


@pytest.mark.parametrize("length", [0, 0xFFFFFFFF])
def test_a_header_without_a_length_does_not_hide_the_sound(wav, length):
    made = read(wav(sound(), length=(40, struct.pack("<I", length))))
    assert made.samples == 2 * RATE
    assert "no length" in told(made, "truncated")


def test_a_header_whose_length_is_too_small_does_not_hide_the_rest(wav):
    made = read(wav(sound(), length=(40, struct.pack("<I", 8000))))
    assert made.samples == 2 * RATE
    assert "go on behind" in told(made, "truncated")
    np.testing.assert_array_equal(made.read().values, soundfile.read(wav(sound(), "b.wav"))[0])


def test_room_and_chunks_behind_the_sound_are_no_sound(wav):
    for behind in (bytes(9000), b"LIST\x08\0\0\0INFOabcd", b"LIST\x08\0\0\0INFOabcd" + bytes(50)):
        file = wav(sound())
        file.write_bytes(file.read_bytes() + behind)
        made = read(file)
        assert (made.samples, told(made, "truncated")) == (2 * RATE, "")


def test_a_rate_that_contradicts_the_bytes_a_second_is_told_and_can_be_set_right(wav):
    file = wav(sound(), rate=(28, struct.pack("<I", 4 * 16000)))
    made = read(file)
    assert "16000" in told(made, "rate")
    assert made.rate == RATE
    again = read(file, rate=16000)
    assert (again.rate, again.duration) == (16000, pytest.approx((2 * RATE - 1) / 16000))
    assert again.read(start=0.5, stop=0.5).times.tolist() == [0.5]


def test_a_rate_of_nought_needs_one_given(wav):
    file = wav(sound(), rate=(24, struct.pack("<I", 0)))
    with pytest.raises(RecordingError, match="rate=48000"):
        read(file)
    assert read(file, rate=RATE).duration == pytest.approx(2.0, abs=1e-3)


def test_a_flac_cut_off_is_read_as_far_as_it_goes(tmp_path):
    file = tmp_path / "run.flac"
    soundfile.write(file, sound(4.0), RATE)
    data = file.read_bytes()
    file.write_bytes(data[: len(data) // 2])
    made = read(file)
    assert 0.3 * 4 < made.duration < 0.6 * 4
    assert "breaks off" in told(made, "truncated")
    assert len(made.read().times) == made.samples


def test_clipping_is_told_with_its_place_and_steady_tones_are_not(wav):
    time = np.arange(2 * RATE) / RATE
    tone = 0.5 * np.sin(2 * np.pi * 97 * time)
    assert not told(read(wav(tone)), "clipped")
    hard = tone.copy()
    hard[RATE:] *= 3
    made = read(wav(np.clip(hard, -0.999, 0.999), "hard.wav"))
    assert "clipped" in told(made, "clipped")
    (clipped,) = (each for each in made.troubles if each.what == "clipped")
    assert clipped.at == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize("level", [0.0, 1e-4])
def test_a_silent_recording_is_told(wav, level):
    assert "channel 1" in told(read(wav(level * sound())), "silent")


def test_a_stretch_in_which_sound_is_missing_is_told_with_its_place(wav):
    samples = sound()
    samples[4000:6000, 1] = 0.0
    made = read(wav(samples))
    (silent,) = (each for each in made.troubles if each.what == "silent")
    assert "channel 2" in silent.words
    assert silent.at == pytest.approx(0.5, abs=0.011)


def test_a_sound_made_over_from_a_lower_rate_is_told(tmp_path):
    # made over by the general library's resampler
    from scipy.signal import resample_poly

    slow = np.random.default_rng(2).normal(0, 0.1, 8000 * 4)
    file = tmp_path / "up.wav"
    soundfile.write(file, resample_poly(slow, 6, 1), 48000, subtype="PCM_16")
    found = re.search(r"above ([\d.]+) kHz", told(read(file), "narrow"))
    assert found is not None
    assert float(found[1]) == pytest.approx(4.0, abs=0.2)
    soundfile.write(file, np.random.default_rng(3).normal(0, 0.1, 48000 * 4), 48000)
    assert not told(read(file), "narrow")


def test_a_sound_that_cannot_be_decoded_is_refused(tmp_path, wav):
    for content in (b"RIFF\x24\x00\x00\x00WAVE", b"fLaC" + bytes(60), b"RIFF\x04\0\0\0WAVEfmt "):
        file = tmp_path / "bad.wav"
        file.write_bytes(content)
        with pytest.raises(RecordingError, match=r"bad\.wav"):
            read(file)
    with pytest.raises(RecordingError, match="says nothing about a WAV"):
        read(wav(sound()), delimiter=",")


def encoded(file: Path, codec: str, samples: np.ndarray, rate: int) -> None:
    """Write a phone's file with the coding library."""
    from fractions import Fraction

    import av

    with av.open(file, "w") as container:
        stream = container.add_stream(codec, rate=rate, layout="mono")
        resampler = av.AudioResampler(format=stream.format.name, layout="mono", rate=rate)
        for k in range(0, len(samples), 1024):
            part = samples[None, k : k + 1024].astype(np.float32)
            frame = av.AudioFrame.from_ndarray(part, format="fltp", layout="mono")
            frame.sample_rate, frame.pts, frame.time_base = rate, k, Fraction(1, rate)
            for ready in resampler.resample(frame):
                container.mux(stream.encode(ready))
        for ready in resampler.resample(None):
            container.mux(stream.encode(ready))
        container.mux(stream.encode(None))


@pytest.mark.parametrize(("name", "codec"), [("a.m4a", "aac"), ("a.3gp", "aac"), ("b.m4a", "alac")])
def test_a_phone_s_file_has_the_length_recorded_and_the_click_in_its_place(tmp_path, name, codec):
    samples = np.random.default_rng(0).normal(0, 0.01, 3 * 48000)
    samples[24000:24010] = 0.9
    encoded(tmp_path / name, codec, samples, 48000)
    made = read(tmp_path / name)
    block = made.read()
    assert made.samples == len(block.times) == len(samples)
    assert block.times[np.argmax(np.abs(block.values))] == pytest.approx(0.5, abs=2e-4)
    if codec == "aac":
        assert "coding added at the end" in told(made, "padded")
    # AAC draws the noise of its noisiest bands anew at each decoding, so the click tells the place
    part = made.read(start=0.4, stop=0.6)
    assert part.times[np.argmax(np.abs(part.values))] == pytest.approx(0.5, abs=2e-4)
    late = made.read(start=1.7, stop=2.1)
    inside = (block.times >= 1.7 - 1e-9) & (block.times <= 2.1 + 1e-9)
    np.testing.assert_array_equal(late.times, block.times[inside])
    if codec == "alac":
        np.testing.assert_array_equal(late.values, block.values[inside])


def test_a_window_far_into_a_phone_s_file_is_in_its_place(tmp_path):
    samples = np.random.default_rng(0).normal(0, 0.01, 4 * 48000)
    samples[120000:120010] = 0.9
    encoded(tmp_path / "a.m4a", "aac", samples, 48000)
    part = read(tmp_path / "a.m4a").read(start=2.4, stop=2.6)
    assert part.times[np.argmax(np.abs(part.values))] == pytest.approx(2.5, abs=2e-4)


def test_raw_aac_says_that_it_begins_late(tmp_path):
    samples = np.zeros(48000)
    samples[24000] = 0.9
    encoded(tmp_path / "a.aac", "aac", samples, 48000)
    made = read(tmp_path / "a.aac")
    assert "1024 samples" in told(made, "padded")
    block = made.read()
    late = block.times[np.argmax(np.abs(block.values))] - 0.5
    assert late == pytest.approx(1024 / 48000, abs=3e-4)


def test_a_file_without_sound_is_refused(tmp_path):
    file = tmp_path / "a.m4a"
    file.write_bytes(bytes(4) + b"ftypM4A " + bytes(200))
    with pytest.raises(RecordingError, match=r"a\.m4a"):
        read(file)
