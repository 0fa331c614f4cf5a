"""What is wrong with a text of numbers is told with its line, or refused in clear words."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.recordings.texts import ROWS, table, told
from tripmargin.recordings.reading import read
from tripmargin.recordings.recording import RecordingError


@pytest.fixture
def put(tmp_path: Path):
    def made(content: str | bytes, name: str = "run.csv", encoding: str = "utf-8") -> Path:
        file = tmp_path / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
        return file

    return made


def test_mixed_decimal_signs_are_refused_with_line_column_and_value(put):
    lines = table("{t:.3f};{u}\n", head="t;U [V]\n").replace("0.076;2.0\n", "0.076;2,0\n")
    with pytest.raises(RecordingError) as refused:
        read(put(lines))
    for part in ("run.csv:78", "column 2 (U)", '"2,0"', "one decimal sign", "thousands="):
        assert part in str(refused.value)


def test_a_decimal_comma_between_commas_is_refused_when_rows_grow_ragged(put):
    lines = "".join(
        f"{k},{k % 3}" + (",5" if k % 4 == 0 and k > 10 else "") + "\n" for k in range(ROWS)
    )
    with pytest.raises(RecordingError, match="decimal comma"):
        read(put("t,U\n" + lines))


def test_words_for_nothing_and_empty_cells_are_missing_not_zero(put):
    lines = table("{t:.3f},{u}\n").replace(",1.5\n", ",OVL\n", 3).replace(",2.0\n", ",\n", 2)
    made = read(put(lines))
    assert np.isnan(made.read().values).sum() == 5
    assert "5 cells" in told(made, "missing")
    assert "line 5" in told(made, "missing")


def test_a_few_spoilt_cells_and_lines_are_left_out_and_told_many_refused(put):
    good = table("{t:.3f},{u}\n")
    made = read(put(good.replace("\n0.077,2.5", "\n0.077,2.S")))
    assert 'line 79: "2.S"' in told(made, "unreadable")
    assert np.isnan(made.read().values).sum() == 1
    assert "first line 79" in told(
        read(put(good.replace("\n0.077,2.5", "\n0.077,2.5,9"))), "unreadable"
    )
    foot = read(put(good + "\nEnd of data\n"))
    assert foot.samples == ROWS
    assert "End of data" in told(foot, "unreadable")
    with pytest.raises(RecordingError, match=r'run\.csv:5: column 2 \(U\) = "1\.x": no number'):
        read(put(good.replace(",1.5\n", ",1.x\n")))


def test_a_last_line_that_broke_off_is_left_out_and_told(put):
    made = read(put(table("{t:.3f},{u}\n") + "2.0"))
    assert made.samples == ROWS
    assert f"{ROWS + 2}" in told(made, "truncated")


FOREIGN = {
    "a picture": b"\x89PNG\r\n\x1a\n" + bytes(range(256)),
    "a workbook": b"PK\x03\x04" + bytes(26) + b"[Content_Types].xml",
    "0 bytes": b"",
    "compressed": b"\x1f\x8b\x08" + bytes(40),
    "no row of numbers": b"Dear yard,\nnothing to see here.\n",
    "neither text": bytes(range(256)) * 4,
}


@pytest.mark.parametrize("what", FOREIGN)
def test_what_is_no_table_is_refused_in_clear_words(put, what):
    with pytest.raises(RecordingError, match=what) as refused:
        read(put(FOREIGN[what]))
    assert "Allowed:" in str(refused.value)
    assert "run.csv" in str(refused.value)


WRONG = [
    ({"delimiter": "dash"}, "comma"), ({"decimal": ";"}, "point"), ({"encoding": "x"}, "utf-8"),
    ({"encoding": "cp037"}, "utf-8"), ({"header": -1}, "0 or more"), ({"rate": 0.0}, "above 0"),
    ({"rate": float("nan")}, "above 0"), ({"time": "Tme"}, "1 't'"), ({"time": 9}, "1 't'"),
    ({"kind": "XLS"}, "CSV"), ({"group": 2}, "time"), ({"thousands": "star"}, "apostrophe"),
]  # fmt: skip


@pytest.mark.parametrize(("option", "allowed"), WRONG)
def test_a_wrong_option_is_refused_with_what_is_allowed(put, option, allowed):
    with pytest.raises(RecordingError, match="Allowed") as refused:
        read(put(table("{t:.3f},{u}\n")), **option)
    assert allowed in str(refused.value)
