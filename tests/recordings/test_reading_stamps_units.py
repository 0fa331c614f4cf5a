"""Stamps with names of months, cells with units of their own, the time in a group of its own."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from asammdf import MDF, Signal

from tests.recordings.texts import guessed, told
from tripmargin.recordings.reading import read
from tripmargin.recordings.reading.text.stamps import form_of, seconds_of
from tripmargin.recordings.recording import RecordingError

ROWS = 500


def put(folder: Path, text: str) -> Path:
    file = folder / "run.csv"
    file.write_text(text, encoding="utf-8")
    return file


# source: the standard library's own reading of the same instants
STAMPS = {
    "12-Mar-2026 14:03:05.250": (2026, 3, 12, 14, 3, 5, 250_000),
    "12-MAR-26 14:03:05.250": (2026, 3, 12, 14, 3, 5, 250_000),
    "12 March 2026 2:03:05 pm": (2026, 3, 12, 14, 3, 5),
    "12. Mar 2026 14:03": (2026, 3, 12, 14, 3),
    "Mar 12 2026": (2026, 3, 12),
    "Mar 12 2026 14:03:05,250": (2026, 3, 12, 14, 3, 5, 250_000),
    "May 1, 2026 00:00:00": (2026, 5, 1),
    "September 30, 2026 23:59:59": (2026, 9, 30, 23, 59, 59),
    "3 Sept 2026 01:02:03": (2026, 9, 3, 1, 2, 3),
    "29-Feb-2024 10:00:00": (2024, 2, 29, 10),
}


@pytest.mark.parametrize("text", STAMPS)
def test_a_stamp_with_the_name_of_a_month_is_that_instant(text: str) -> None:
    assert form_of(text) in ("stamp", "date")
    assert seconds_of(text) == datetime(*STAMPS[text], tzinfo=UTC).timestamp()


@pytest.mark.parametrize("text", ["31-Feb-2026 10:00:00", "12-Mrz-2026", "Marching 12 2026", "May"])
def test_what_is_no_such_stamp_is_none(text: str) -> None:
    assert np.isnan(seconds_of(text))


@pytest.mark.parametrize(
    ("stamp", "delimiter", "sign"),
    [
        ("12-Mar-2026 14:03:{s}", ",", "."),
        ("12-Mar-2026 14:03:{s}", ";", ","),
        ("Mar 12 2026 14:03:{s}", ",", "."),
        ("12 Mar 2026 14:03:{s}", "\t", "."),
        ('"Mar 12, 2026 14:03:{s}"', ",", "."),
    ],
)
def test_a_table_with_such_stamps_is_read(tmp_path, stamp, delimiter, sign):
    rows = "".join(
        (stamp.format(s=f"{k / 100 + 5:06.3f}") + delimiter + f"{k % 7 / 2}\n").replace(".", sign)
        for k in range(ROWS)
    )
    made = read(put(tmp_path, f"time{delimiter}U [V]\n{rows}"))
    assert (made.rate, made.samples, made.began) == (100.0, ROWS, "2026-03-12T14:03:05")
    assert [(each.name, each.unit) for each in made.channels] == [("U", "V")]
    assert made.read().values[:8, 0] == pytest.approx(np.arange(8) % 7 / 2)


def test_a_day_that_ends_while_the_logger_runs(tmp_path):
    rows = "".join(
        f"{'12-Mar' if k < 10 else '13-Mar'}-2026 {(86390 + k) % 86400 // 3600:02d}:"
        f"{(86390 + k) % 3600 // 60:02d}:{(86390 + k) % 60:02d},{k}\n"
        for k in range(60)
    )
    made = read(put(tmp_path, "time,U\n" + rows))
    assert made.duration == 59.0
    assert made.rate == 1.0


@pytest.mark.parametrize("sign", [".", ","])
def test_cells_with_units_are_numbers_and_say_the_unit(tmp_path, sign):
    rows = "".join(f"{k / 10:.1f} ms;{12 + k % 3 / 2} V;{k % 5} mA\n" for k in range(ROWS))
    made = read(put(tmp_path, "t;U;I\n" + rows.replace(".", sign)))
    assert [(each.name, each.unit) for each in made.channels] == [("U", "V"), ("I", "mA")]
    assert made.rate == 10_000.0
    assert made.read().values[1].tolist() == [12.5, 1.0]


@pytest.mark.parametrize(("heading", "unit", "scale"), [("U", "V", 1), ("U [mV]", "mV", 1000)])
def test_cells_in_changing_units_are_brought_into_one(tmp_path, heading, unit, scale):
    rows = "".join(f"{k / 10:.1f},{'950 mV' if k % 3 else '1.2 V'}\n" for k in range(ROWS))
    made = read(put(tmp_path, f"t,{heading}\n{rows}"))
    assert made.channels[0].unit == unit
    assert made.read().values[:3, 0] == pytest.approx(np.array([1.2, 0.95, 0.95]) * scale)


def test_a_cell_in_another_kind_of_unit_is_told_not_taken(tmp_path):
    rows = "".join(f"{k / 10:.1f},{'9 A' if k == 40 else '1.2 V'}\n" for k in range(ROWS))
    made = read(put(tmp_path, f"t,U\n{rows}"))
    assert '"9 A"' in told(made, "unreadable")
    assert np.isnan(made.read().values[40, 0])
    many = rows.replace("1.2 V", "1.2 A", ROWS // 2)
    with pytest.raises(RecordingError, match="no number, and"):
        read(put(tmp_path, "t,U [V]\n" + many))


def test_lines_about_the_file_with_units_are_no_rows(tmp_path):
    head = "Serial: 12 V\nRange;5 V\nGain;2 A\nOffset;3 V\nt;U\n"
    made = read(put(tmp_path, head + "".join(f"{k / 1000:.3f};{k % 4}\n" for k in range(100))))
    assert (made.samples, guessed(made, "header")) == (100, "5")


T = np.arange(2000) / 1000
U = np.sin(40 * T)


def without_master(file: MDF, group: int) -> None:
    """What was the group's time becomes a number like others, and says nothing of time."""
    channel = file.groups[group].channels[0]
    channel.channel_type = channel.sync_type = 0
    channel.name, channel.unit = "number", ""


def mdf(folder: Path, times: int = 1, *, plain: bool = False) -> Path:
    """A group of numbers without a time, behind groups that have nothing but times."""
    made = MDF(version="4.10")
    for k in range(times):
        made.append([Signal(T * (k + 1) * 1e3, T * (k + 1), name="Zeit", unit="ms")])
        if plain:
            without_master(made, k)
        else:
            del made.groups[k].channels[1:]
    made.append([Signal(U, T, name="U", unit="V"), Signal(2 * U, T, name="I", unit="A")])
    without_master(made, times)
    file = folder / "run.mf4"
    made.save(file, overwrite=True)
    made.close()
    return file


def test_the_only_group_of_times_is_the_time(tmp_path):
    made = read(mdf(tmp_path), group=2)
    assert made.rate == 1000.0
    assert guessed(made, "time") == "that of group 1"
    assert "as many records" in next(g.because for g in made.guesses if g.what == "time")
    assert made.read(("U",)).values[:, 0] == pytest.approx(U)
    assert made.read(start=1.5, stop=1.502).times == pytest.approx([1.5, 1.501, 1.502])
    assert read(mdf(tmp_path)).channels[1:] == made.channels[1:]


def test_a_channel_of_times_in_another_group_is_the_time(tmp_path):
    made = read(mdf(tmp_path, plain=True), group=2)
    assert made.rate == 1000.0
    assert guessed(made, "time") == "Zeit of group 1"


def test_two_groups_of_times_are_not_guessed_between(tmp_path):
    with pytest.raises(RecordingError, match="no time") as refused:
        read(mdf(tmp_path, times=2), group=3)
    assert "rate=1000" in str(refused.value)
    assert read(mdf(tmp_path, times=2), group=3, rate=500.0).rate == 500.0
