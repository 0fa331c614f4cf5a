"""Files with bytes changed, lost and added: read as far as it goes, or refused in words."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
import soundfile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tripmargin.recordings.reading import read
from tripmargin.recordings.recording import RecordingError

VALUES = np.random.default_rng(0).uniform(-0.5, 0.5, (2000, 2))
ADDED = st.sampled_from(
    [b"\n", b";", b",", b'"', b"-", b"e9", b"\0", b"nan", b"1e400", b"\r", b"#"]
)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder: Path = tmp_path_factory.mktemp("whole")
    soundfile.write(folder / "a.wav", VALUES, 8000)
    soundfile.write(folder / "a.flac", VALUES, 8000)
    pq.write_table(pa.table({"t": np.arange(2000) / 100, "u": VALUES[:, 0]}), folder / "a.parquet")
    rows = "".join(f"{k / 1000:.3f};{k % 7}.5\n" for k in range(300))
    (folder / "a.csv").write_text(f"Rate: 5\nt;U [V]\n{rows}")
    stamps = "".join(f"03.05.2026 10:00:{k % 60:02d},{k:03d};{k % 7},5\n" for k in range(300))
    (folder / "b.csv").write_bytes(f"Zeit;U\n{stamps}".encode("utf-16"))
    return {each.name: each.read_bytes() for each in folder.iterdir()}


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=200)
@given(data=st.data(), name=st.sampled_from(["a.wav", "a.flac", "a.parquet", "a.csv", "b.csv"]))
def test_a_spoilt_file_is_read_or_refused_and_never_breaks_the_reader(
    whole: dict[str, bytes], tmp_path: Path, data: st.DataObject, name: str
) -> None:
    content = bytearray(whole[name])
    for _ in range(data.draw(st.integers(1, 5))):
        place = data.draw(st.integers(0, max(len(content) - 1, 0)))
        near = data.draw(st.booleans())
        place = min(place, 150) if near else place
        match data.draw(st.sampled_from(["change", "cut", "add", "drop"])):
            case "change" if content:
                content[place] = data.draw(st.integers(0, 255))
            case "cut":
                content = content[:place]
            case "add":
                content[place:place] = data.draw(ADDED)
            case _:
                del content[place : place + data.draw(st.integers(1, 40))]
    file = tmp_path / name
    file.write_bytes(bytes(content))
    try:
        made = read(file)
        block = made.read()
    except RecordingError as error:
        refused = str(error)
    else:
        refused = ""
    if refused:
        assert refused.startswith(name)
        return
    assert len(block.times) <= made.samples
    assert (np.diff(block.times) > 0).all()
    assert file.read_bytes() == bytes(content)


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match="cannot be found"):
        read(tmp_path / "none.csv")
    with pytest.raises(RecordingError, match="a folder"):
        read(tmp_path)
