"""The times of a text's rows: stamps, clocks, units, rates, and where they are not even."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from tests.recordings.texts import ROWS, guessed, table, told
from tripmargin.recordings.reading import read
from tripmargin.recordings.recording import Channel, RecordingError


@pytest.fixture
def put(tmp_path: Path):
    def made(content: str | bytes, name: str = "run.csv", encoding: str = "utf-8") -> Path:
        file = tmp_path / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
        return file

    return made


STAMPS = {
    "%Y-%m-%dT%H:%M:%S.%f": ",", "%Y-%m-%d %H:%M:%S,%f": ";", "%d.%m.%Y %H:%M:%S.%f": ";",
    "%m/%d/%Y %I:%M:%S.%f %p": ",", "%Y%m%dT%H%M%S.%f": ",", "%d/%m/%y %H:%M:%S.%f": "\t",
}  # fmt: skip


@pytest.mark.parametrize("form", STAMPS)
def test_date_time_stamps_are_read_over_midnight(put, form):
    # written by the standard library's strftime
    begin, delimiter = datetime(2026, 5, 3, 23, 59, 59), STAMPS[form]
    lines = [
        (begin + timedelta(milliseconds=k)).strftime(form) + f"{delimiter}{k % 7}\n"
        for k in range(ROWS)
    ]
    made = read(put(f"when{delimiter}U\n" + "".join(lines)))
    assert made.rate == 1000
    assert made.began == "2026-05-03T23:59:59"
    np.testing.assert_allclose(made.read().times, np.arange(ROWS) / 1000, atol=1e-9)


def test_a_date_and_a_clock_in_two_columns_are_one_time(put):
    begin = datetime(2026, 5, 3, 23, 59, 59)
    rows = [begin + timedelta(milliseconds=k) for k in range(ROWS)]
    lines = [f"{r:%d.%m.%Y}\t{r:%H:%M:%S},{r.microsecond // 1000:03d}\t1,5\n" for r in rows]
    made = read(put("Datum\tUhrzeit\tU [V]\n" + "".join(lines)))
    assert (made.rate, made.channels) == (1000, (Channel("U", "V"),))


def test_a_clock_alone_goes_on_over_midnight(put):
    begin = datetime(2026, 5, 3, 23, 59, 59)
    rows = [begin + timedelta(milliseconds=k) for k in range(ROWS)]
    made = read(put("Zeit;U\n" + "".join(f"{r:%H:%M:%S.%f};{k % 5}\n" for k, r in enumerate(rows))))
    assert made.duration == pytest.approx((ROWS - 1) / 1000, abs=1e-9)
    late = made.read(start=1.5, stop=1.6)
    np.testing.assert_allclose(late.times, np.arange(1500, 1601) / 1000, atol=1e-9)


@pytest.mark.parametrize(
    ("name", "factor", "line"),
    [
        ("Time (ms)", 1e-3, "{0:.1f},{1}\n"),
        ("t/us", 1e-6, "{0},{1}\n"),
        ("Zeit [min]", 60.0, "{0},{1}\n"),
        ("timestamp", 1e-3, "17778024{0:05d},{1}\n"),
    ],
)
def test_units_of_time_scale(put, name, factor, line):
    made = read(put(f"{name},U\n" + "".join(line.format(k, k % 7) for k in range(300))))
    assert made.duration == pytest.approx(299 * factor)


def test_stamps_too_coarse_for_the_rows_are_spread_evenly_and_it_is_said(put):
    made = read(put("time,U\n" + "".join(f"{k // 10 / 1000:.3f},{k % 9}\n" for k in range(ROWS))))
    assert (made.rate, made.samples) == (10000, ROWS)
    assert guessed(made, "times") == "row number at 10000 Hz"


def test_rounded_stamps_are_taken_as_even(put):
    made = read(put("time,U\n" + "".join(f"{k / 3000:.4f},{k % 9}\n" for k in range(ROWS))))
    assert made.rate == 3000
    np.testing.assert_allclose(made.read().times, np.arange(ROWS) / 3000, atol=1e-12)


def test_a_rate_in_the_head_serves_where_no_column_is_the_time(put):
    made = read(put(table("{k},{u}\n", head="Sample rate: 2 kHz\n\nTrip,Roll\nV,V\n")))
    assert made.rate == 2000
    assert [each.name for each in made.channels] == ["Trip", "Roll"]
    assert guessed(made, "rate") == "2000"


def test_a_rate_in_the_head_that_disagrees_with_the_times_is_told(put):
    made = read(put(table("{t:.3f},{u}\n", head="Abtastrate: 500 Hz\nt,U\n")))
    assert made.rate == 1000
    assert "500 Hz" in told(made, "rate")


def test_a_rate_given_against_the_file_s_own_times_is_told(put):
    made = read(put(table("{t:.3f},{u}\n")), rate=2000)
    assert made.duration == pytest.approx((ROWS - 1) / 2000)
    assert "2000 Hz" in told(made, "rate")


def test_gaps_repeated_and_backward_times_are_told_with_their_place(put):
    gap = read(
        put("t,U\n" + "".join(f"{k + (500 if k > 999 else 0):d}e-3,{k % 9}\n" for k in range(ROWS)))
    )
    assert gap.rate is None
    assert "0.501 s from 0.999 s" in told(gap, "gap")
    again = table("{t:.3f},{u}\n").replace("\n0.700,", "\n0.699,")
    assert "line 702" in told(read(put(again)), "repeated time")
    with pytest.raises(
        RecordingError, match=r"run\.csv:1502: time = .*goes back from 1\.499 s to 0"
    ):
        read(put("t,U\n" + "".join(f"{k % 1500 / 1000:.3f},{k % 9}\n" for k in range(3000))))


def test_a_row_out_of_order_is_left_out_and_told(put):
    random = np.random.default_rng(3)
    times = np.cumsum(random.uniform(0.5e-3, 1.5e-3, ROWS))
    times[500] = times[480] + 1e-4
    made = read(put("t,U\n" + "".join(f"{t:.7f},{k}\n" for k, t in enumerate(times))))
    block = made.read()
    assert made.samples == len(block.times) == ROWS - 1
    assert (np.diff(block.times) > 0).all()
    assert "line 502" in told(made, "backward time")
    assert told(made, "uneven")
    assert made.rate is None


def test_no_time_and_no_rate_is_refused_and_says_how_to_go_on(put):
    file = put("U,I\n" + "".join(f"{k % 7},{k % 3}\n" for k in range(100)))
    with pytest.raises(RecordingError, match="rate=1000"):
        read(file)
    assert read(file, rate=1).samples == 100


def test_a_column_that_only_counts_is_no_time(put):
    file = put("X,CH1\n" + "".join(f"{k},{k % 7 / 10}\n" for k in range(300)))
    with pytest.raises(RecordingError, match="rate=1000"):
        read(file)
