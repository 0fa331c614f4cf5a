"""Recordings that other programs wrote, and other programs' reading of them.

Sound: the odd WAV files that come with scipy's own tests (BSD licence), against scipy's reader and
libsndfile. MDF4: two files by two other programs, which come with the source of asammdf (LGPL;
`make test` fetches them), against a plain reading of their blocks; and a file that another library,
mf4-rs (MIT licence), wrote.
"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path

import mf4_rs
import numpy as np
import pytest
import scipy.io
from scipy.io import wavfile

from tests.outside.mdf_by_hand import channels
from tests.reference import lacking
from tripmargin.recordings.reading import read
from tripmargin.recordings.recording import RecordingError

SOUNDS = Path(scipy.io.__file__).parent / "tests" / "data"
MDF = Path(sys.prefix) / "test-files" / "asammdf"
CUT = ("early-eof-no-data", "incomplete-chunk")
NOT_DECODED = ("36bit", "45bit", "53bit", "5S-64bit")
NOT_SCIPY = ("ulaw", "12bit", "9S-5bit", "1byteu", "20bit")


def sounds() -> list[Path]:
    return sorted(SOUNDS.glob("*.wav"))


def has(path: Path, parts: tuple[str, ...]) -> bool:
    return any(part in path.name for part in parts)


def scaled(values: np.ndarray) -> np.ndarray:
    """scipy's samples, from -1 to 1."""
    made = values.reshape(len(values), -1).astype(np.float64)
    return made if values.dtype.kind == "f" else made / -float(np.iinfo(values.dtype).min)


@pytest.mark.parametrize("file", sounds(), ids=lambda file: file.stem)
def test_an_odd_sound_file_is_read_as_another_reader_does_or_refused_in_words(file: Path) -> None:
    if has(file, CUT + NOT_DECODED):
        with pytest.raises(RecordingError, match="Allowed"):
            read(file)
        return
    made = read(file)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # scipy's about the chunks that it does not know
        if has(file, NOT_SCIPY):
            assert len(made.read().times) == made.samples > 0
            return
        try:
            rate, theirs = wavfile.read(file)
        except ValueError:  # the file ends early or contradicts itself, which scipy refuses
            assert {trouble.what for trouble in made.troubles} & {"truncated", "rate"}
            return
    assert made.rate == rate
    np.testing.assert_allclose(made.read().values, scaled(theirs), atol=1e-9)


@pytest.fixture(params=["ASAP2_Demo_V171.mf4", "test_metadata.mf4"])
def foreign(request: pytest.FixtureRequest) -> Path:
    file = MDF / request.param
    if not file.is_file():
        lacking(f"{file.name} of asammdf's source (`make test` fetches it)")
    return file


def test_an_mdf_of_another_program_has_the_values_that_a_plain_reading_finds(foreign: Path) -> None:
    # outside source: the format's blocks read one by one by tests/outside/mdf_by_hand.py
    compared, recordings = set(), {}
    for found in channels(foreign.read_bytes()):
        if found.is_time or not len(found.values):
            continue
        made = recordings.setdefault(found.group, read(foreign, group=found.group))
        ours = made.read((found.name,)).values[:, 0]
        np.testing.assert_array_equal(ours, found.values, err_msg=found.name)
        compared.add(found.group)
    assert len(compared) == len(recordings) >= 2


def test_an_mdf_of_another_program_has_the_times_that_a_plain_reading_finds(foreign: Path) -> None:
    # outside source: as above
    times = [each for each in channels(foreign.read_bytes()) if each.is_time]
    assert len(times) >= 2
    for found in times:
        ours = read(foreign, group=found.group).read().times
        np.testing.assert_allclose(ours, found.values - found.values[0], atol=1e-12)


def test_an_mdf_that_another_library_wrote_is_read_back(tmp_path: Path) -> None:
    random = np.random.default_rng(0)
    times, values = np.arange(5000) / 2500, random.normal(size=(5000, 2))
    file = tmp_path / "rows.mf4"
    out = mf4_rs.MdfWriter(str(file))
    out.init_mdf_file()
    group = out.add_channel_group("logger")
    out.add_time_channel(group, "t")
    for name in ("out", "coil"):
        out.add_float_channel(group, name)
    out.start_data_block(group)
    out.write_columns_f64(group, [times, np.ascontiguousarray(values[:, 0]),
                                  np.ascontiguousarray(values[:, 1])])  # fmt: skip
    out.finish_data_block(group)
    out.finalize()
    made = read(file)
    np.testing.assert_array_equal(made.read().values, values)
    assert (made.rate, [each.name for each in made.channels]) == (2500, ["out", "coil"])
