"""Small files that unpack into hours, blocks that lead in a ring, headers that ask for too much."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import soundfile
from asammdf import MDF, Signal

from tripmargin.recordings.reading import parquet, read, unpacking
from tripmargin.recordings.reading.original import Original
from tripmargin.recordings.reading.unpacking import ANY_FILE, DENSEST, MOST, refuse_too_much
from tripmargin.recordings.recording import RecordingError

FEW = 20_000


@pytest.fixture
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """The limits at a size that a test can reach; Parquet's writer gets to 230 numbers a byte."""
    monkeypatch.setattr(unpacking, "ANY_FILE", FEW)
    monkeypatch.setattr(unpacking, "DENSEST", 64)
    monkeypatch.setattr(parquet, "_PART", 8 * FEW)


def silence(folder: Path) -> dict[str, Path]:
    """Zeros in each kind that compresses them to next to nothing."""
    count = 2**22
    soundfile.write(folder / "a.flac", np.zeros((count, 2), "i2"), 48000)
    t = np.arange(count) / 48000
    made = MDF(version="4.10")
    made.append([Signal(np.zeros(count, "u1"), t * 0, name=f"c{k}") for k in range(3)])
    made.save(folder / "a.mf4", compression=2, overwrite=True)
    made.close()
    codes = pa.DictionaryArray.from_arrays(pa.array(np.zeros(count, "i1")), pa.array([1.5]))
    pq.write_table(pa.table({"u": codes}), folder / "a.parquet")
    pq.write_table(
        pa.table({"u": np.zeros(FEW)}), folder / "b.parquet", use_dictionary=False,
        compression="zstd", data_page_size=1 << 30,
    )  # fmt: skip
    return {each.name: each for each in folder.iterdir()}


@pytest.mark.parametrize("name", ["a.flac", "a.mf4", "a.parquet"])
def test_a_small_file_that_unpacks_into_hours_is_refused(small, tmp_path, name):
    file = silence(tmp_path)[name]
    assert file.stat().st_size < 2**22 / 64
    with pytest.raises(RecordingError, match="bytes that unpack into more than") as refused:
        read(file, **({"rate": 1000.0} if name.endswith("parquet") else {}))
    assert "Allowed: 20,000 numbers from any file" in str(refused.value)
    assert "Cut out the part" in str(refused.value)


def test_a_part_that_would_fill_the_memory_is_refused(monkeypatch, tmp_path):
    monkeypatch.setattr(parquet, "_PART", 4 * FEW)
    with pytest.raises(RecordingError, match="unpacks into") as refused:
        read(silence(tmp_path)["b.parquet"], rate=1000.0)
    assert "smaller row groups" in str(refused.value)


def test_the_limits_are_those_of_the_page(tmp_path):
    file = tmp_path / "a.bin"
    file.write_bytes(bytes(1 << 20))
    original = Original.of(file)
    refuse_too_much(original, ANY_FILE)
    with pytest.raises(RecordingError):
        refuse_too_much(original, ANY_FILE + 1)
    page = (Path(__file__).parents[2] / "docs/how-to/read-a-recording.md").read_text("utf-8")
    for limit in (ANY_FILE, DENSEST, MOST):
        assert f"{limit:,}".replace(",", " ") in page, limit


def test_plain_files_have_no_such_limit(small, tmp_path):
    soundfile.write(tmp_path / "a.wav", np.zeros((FEW * 3, 2)), 48000, subtype="PCM_U8")
    assert read(tmp_path / "a.wav").samples == FEW * 3


def mdf(folder: Path, version: str) -> tuple[Path, bytearray]:
    made = MDF(version=version)
    t = np.arange(300) / 100
    for k in range(3):
        made.append([Signal(np.sin(t), t, name=f"u{k}", unit="V")])
    file = folder / ("a.mf4" if version[0] == "4" else "a.mdf")
    made.save(file, overwrite=True)
    made.close()
    return file, bytearray(file.read_bytes())


def test_mdf4_blocks_that_lead_in_a_ring_are_refused(tmp_path):
    file, data = mdf(tmp_path, "4.10")
    first = struct.unpack_from("<Q", data, 64 + 24)[0]
    second = struct.unpack_from("<Q", data, first + 24)[0]
    assert data[second : second + 4] == b"##DG"
    struct.pack_into("<Q", data, second + 24, first)  # the second data group leads to the first
    file.write_bytes(data)
    with pytest.raises(RecordingError, match="lead on without an end"):
        read(file)


def test_mdf3_blocks_that_lead_in_a_ring_are_refused(tmp_path):
    file, data = mdf(tmp_path, "3.30")
    first = struct.unpack_from("<I", data, 64 + 4)[0]
    assert data[first : first + 2] == b"DG"
    struct.pack_into("<I", data, first + 4, first)
    file.write_bytes(data)
    with pytest.raises(RecordingError, match="lead on without an end"):
        read(file)


def test_a_record_that_is_longer_than_the_file_is_no_record(tmp_path):
    file, data = mdf(tmp_path, "4.10")
    places = [k for k in range(len(data)) if data[k : k + 4] == b"##CG"]
    for place in places:
        links = struct.unpack_from("<Q", data, place + 16)[0]
        struct.pack_into("<I", data, place + 24 + 8 * links + 24, 3_000_000_000)  # bytes a record
    file.write_bytes(data)
    with pytest.raises(RecordingError, match="numbers"):
        read(file)


def test_a_list_of_other_files_is_no_sound(tmp_path):
    # a player would open what such a list names
    (tmp_path / "secret.wav").write_bytes(b"RIFF")
    playlist = tmp_path / "a.m4a"
    playlist.write_text("#EXTM3U\n#EXTINF:1,\nsecret.wav\n")
    for kind in ("M4A", "WebM", "AAC"):
        with pytest.raises(RecordingError, match=r"a\.m4a"):
            read(playlist, kind=kind)
