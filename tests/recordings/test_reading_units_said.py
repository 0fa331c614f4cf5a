"""Units that a person says: for channels without a name, and for what no column is called."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from tripmargin.recordings.reading import read

ROWS = "".join(f"{k / 1000:.3f};{k % 7}.5;{k % 5}.25\n" for k in range(300))


def test_channels_without_a_name_go_by_their_numbers(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text(ROWS)
    recording = read(file, units={"channel 2": "mV"})
    assert [(one.name, one.unit) for one in recording.channels] == [
        ("channel 1", ""),
        ("channel 2", "mV"),
    ]
    assert [one for one in recording.troubles if one.what == "units"] == []


def test_the_unit_of_a_nameless_time_is_not_that_of_the_channels(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text(ROWS)
    recording = read(file, units={"": "ms"})
    assert [one.unit for one in recording.channels] == ["", ""]
    assert recording.rate == pytest.approx(1e6)
    assert [one for one in recording.troubles if one.what == "units"] == []


@pytest.mark.parametrize("kind", ["csv", "wav"])
def test_a_unit_for_what_no_column_is_called_is_told(tmp_path: Path, kind: str) -> None:
    file = tmp_path / f"a.{kind}"
    if kind == "csv":
        file.write_text(f"t [s];trip [V];roll [V]\n{ROWS}")
    else:
        soundfile.write(file, 0.1 * np.random.default_rng(0).standard_normal(16_000), 8000)
    recording = read(file, units={"rolll": "mV"})
    (told,) = [one.words for one in recording.troubles if one.what == "units"]
    assert "No column is called 'rolll': the unit said for it changes nothing." in told
    assert ("1 'trip', 2 'roll'" if kind == "csv" else "1 'channel 1'") in told


def test_the_times_column_may_be_named(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_text(f"stamp;trip [V];roll [V]\n{ROWS}")
    recording = read(file, time="stamp", units={"stamp": "ms", "roll": "mV"})
    assert recording.rate == pytest.approx(1e6)
    assert [one for one in recording.troubles if one.what == "units"] == []
