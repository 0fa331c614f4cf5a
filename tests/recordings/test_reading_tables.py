"""Parquet, MDF and numbers in memory: by pages, windows, times, and what is wrong."""

from __future__ import annotations

import builtins
from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from tripmargin.recordings.reading import read, recording_of_arrays
from tripmargin.recordings.recording import Channel, Recording, RecordingError

ROWS = 200_000
RANDOM = np.random.default_rng(0)
TIME = np.arange(ROWS) / 4000
VALUES = RANDOM.normal(size=(ROWS, 2))


def parquet(file: Path, time: pa.Array | np.ndarray, name: str = "time [s]") -> Path:
    table = pa.table({
        name: time, "Trip [V]": VALUES[:, 0], "Roll": VALUES[:, 1].astype(np.float32),
        "note": pa.array(["x"] * ROWS), "on": pa.array(VALUES[:, 0] > 0),
    })  # fmt: skip
    pq.write_table(table, file, row_group_size=70_000)
    return file


TIMES = {
    "numbers": TIME,
    "stamps": pa.array(
        (TIME * 1e6).round().astype("int64") + 1_777_802_400_000_000, pa.timestamp("us")
    ),
    "durations": pa.array((TIME * 1e9).round().astype("int64"), pa.duration("ns")),
}


def told(recording: Recording, what: str) -> str:
    return " ".join(each.words for each in recording.troubles if each.what == what)


@pytest.mark.parametrize("kind", TIMES)
def test_parquet_is_read_by_row_groups_with_any_kind_of_time(tmp_path, kind):
    made = read(parquet(tmp_path / "run.parquet", TIMES[kind]))
    assert (made.kind, made.samples, made.rate) == ("Parquet", ROWS, 4000)
    assert made.channels == (Channel("Trip", "V"), Channel("Roll"), Channel("on"))
    whole = made.read()
    np.testing.assert_allclose(whole.times, TIME, atol=1e-9)
    np.testing.assert_array_equal(whole.values[:, 0], VALUES[:, 0])
    part = made.read(("Roll",), start=30.0, stop=31.0)
    inside = (whole.times >= 30.0) & (whole.times <= 31.0)
    np.testing.assert_array_equal(part.values[:, 0], VALUES[inside, 1].astype(np.float32))
    assert [guess.value for guess in made.guesses if guess.what == "left out"] == ["note"]


def test_parquet_from_a_data_frame_with_missing_values(tmp_path):
    import pandas as pd

    frame = pd.DataFrame({"t": TIME[:1000], "U": VALUES[:1000, 0]}).set_index("t")
    frame.iloc[5] = np.nan
    frame.to_parquet(tmp_path / "frame.parquet")
    made = read(tmp_path / "frame.parquet")
    assert np.flatnonzero(np.isnan(made.read().values)).tolist() == [5]


def test_parquet_options_and_damage(tmp_path):
    file = parquet(tmp_path / "run.parquet", VALUES[:, 0], "a")
    with pytest.raises(RecordingError, match="rate=1000"):
        read(file)
    assert read(file, rate=10).duration == pytest.approx((ROWS - 1) / 10)
    with pytest.raises(RecordingError, match="no such column"):
        read(file, time="note")
    data = file.read_bytes()
    file.write_bytes(data[: len(data) // 2])
    with pytest.raises(RecordingError, match="damaged"):
        read(file)


def mdf(file: Path, **how: object) -> Path:
    """Two groups of different rates, written by asammdf."""
    from asammdf import MDF, Signal

    with MDF(version="4.10") as out:
        fast = [
            Signal(VALUES[:, k], TIME, name=name, unit="V")
            for k, name in enumerate(("out", "coil"))
        ]
        out.append(fast, acq_name="fast")
        out.append(
            [Signal(np.arange(500), np.arange(500) / 10, name="rpm", unit="rpm")], acq_name="slow"
        )
        out.save(file, overwrite=True, **how)
    return file


@pytest.mark.parametrize("compression", [0, 2])
def test_mdf_reads_one_group_and_lists_the_others(tmp_path, compression):
    made = read(mdf(tmp_path / "run.mf4", compression=compression))
    assert (made.kind, made.samples, made.rate) == ("MDF4", ROWS, 4000)
    assert made.channels == (Channel("out", "V"), Channel("coil", "V"))
    (group,) = (guess for guess in made.guesses if guess.what == "group")
    assert group.value == "1"
    assert "2 slow (500 records, 1 channels)" in group.because
    whole = made.read()
    np.testing.assert_array_equal(whole.values, VALUES)
    part = made.read(("coil",), start=20.0, stop=21.0)
    inside = (TIME >= 20.0) & (TIME <= 21.0)
    np.testing.assert_array_equal(part.values[:, 0], VALUES[inside, 1])


def test_mdf_another_group_and_a_wrong_one(tmp_path):
    file = mdf(tmp_path / "run.mf4")
    slow = read(file, group=2)
    assert (slow.rate, slow.samples, slow.channels) == (10, 500, (Channel("rpm", "rpm"),))
    with pytest.raises(RecordingError, match="1 fast"):
        read(file, group=3)


def test_mdf_3_is_read_too(tmp_path):
    from asammdf import MDF, Signal

    file = tmp_path / "old.mdf"
    with MDF(version="3.30") as out:
        out.append([Signal(VALUES[:1000, 0], TIME[:1000], name="U", unit="V")])
        out.save(file, overwrite=True)
    made = read(file)
    assert made.kind == "MDF3"
    np.testing.assert_array_equal(made.read().values[:, 0], VALUES[:1000, 0])


@pytest.mark.parametrize("share", [0.02, 0.5, 0.9])
def test_an_mdf_cut_off_is_refused(tmp_path, share):
    file = mdf(tmp_path / "run.mf4")
    before = file.read_bytes()
    file.write_bytes(before[: int(share * len(before))])
    with pytest.raises(RecordingError, match="Copy it from the logger again"):
        read(file)


@pytest.mark.parametrize(
    ("module", "name"), [("asammdf", "a.mf4"), ("pyarrow", "a.parquet"), ("av", "a.m4a")]
)
def test_without_the_extra_the_error_says_how_to_install_it(tmp_path, monkeypatch, module, name):
    real = builtins.__import__

    def without(wanted, *more):
        if wanted.split(".")[0] == module:
            raise ImportError(wanted)
        return real(wanted, *more)

    heads = {"a.mf4": b"MDF     4.10    ", "a.parquet": b"PAR1", "a.m4a": bytes(4) + b"ftypM4A "}
    file = tmp_path / name
    file.write_bytes(heads[name] + bytes(100))
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(RecordingError, match=r"pip install \"tripmargin\[loggers\]\""):
        read(file)


def test_the_file_itself_is_never_changed(tmp_path):
    for file in (mdf(tmp_path / "run.mf4"), parquet(tmp_path / "run.parquet", TIME)):
        before = file.read_bytes()
        made = read(file)
        made.read(start=1.0, stop=2.0)
        assert file.read_bytes() == before
    assert {each.name for each in tmp_path.iterdir()} == {"run.mf4", "run.parquet"}


def test_arrays_are_a_recording_like_any_other():
    made = recording_of_arrays(VALUES, rate=4000, names=["out", "coil"], units=["V", "mV"])
    assert (made.samples, made.rate, len(made.sha256)) == (ROWS, 4000, 64)
    part = made.read(("coil",), start=1.0, stop=1.001)
    np.testing.assert_array_equal(part.values[:, 0], VALUES[4000:4005, 1])
    uneven = recording_of_arrays([1.0, 2.0, 3.0], times=[5.0, 6.0, 9.0])
    assert uneven.rate is None
    assert uneven.read().times.tolist() == [0.0, 1.0, 4.0]


@pytest.mark.parametrize(
    "wrong",
    [
        {"values": [], "rate": 1.0},
        {"values": [1.0, 2.0]},
        {"values": [1.0, 2.0], "rate": -1.0},
        {"values": [1.0, 2.0], "times": [1.0, 1.0]},
        {"values": [[1.0, 2.0]], "rate": 1.0, "names": ["a"]},
    ],
)
def test_arrays_that_are_no_recording_are_refused(wrong):
    with pytest.raises(RecordingError, match="Allowed"):
        recording_of_arrays(**wrong)
