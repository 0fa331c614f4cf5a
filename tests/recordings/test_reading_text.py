"""Tables of numbers as text: written any way, they are read back the same."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.recordings.texts import ROWS, guessed, table
from tripmargin.recordings.reading import read
from tripmargin.recordings.recording import Channel, RecordingError

HEADS = (
    "Logger: L-7",
    "Serial;12",
    "Remark, none",
    "",
    "# made in the yard",
    "Begin;2026-05-03;10:00",
    "Channels\t3",
    "Recorded by hand",
)
HEADINGS = ("{name} [{unit}]", "{name} ({unit})", "{name}/{unit}", "{name}")


@dataclass(frozen=True)
class Style:
    """A way to write a table."""

    delimiter: str
    decimal: str
    encoding: str
    newline: str
    heads: tuple[str, ...]
    heading: str | None
    units_row: bool
    quoted: bool
    form: str


@st.composite
def styles(draw):
    decimal = draw(st.sampled_from(".,"))
    quoted = draw(st.booleans())
    delimiter = draw(st.sampled_from([",", ";", "\t", "|", " "]))
    if decimal == "," and delimiter == ",":
        quoted = True
    heading = draw(st.sampled_from([None, *HEADINGS]))
    if delimiter == " ":
        heading = draw(st.sampled_from([None, "{name}[{unit}]", "{name}"]))
    heads = draw(st.lists(st.sampled_from(HEADS), max_size=30)) if heading else []
    return Style(
        delimiter,
        decimal,
        draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "latin-1", "cp1252"])),
        draw(st.sampled_from(["\n", "\r\n", "\r"])),
        tuple(heads),
        heading,
        bool(heading == "{name}" and draw(st.booleans())),
        quoted,
        draw(st.sampled_from(["repr", ".3f", ".6e", ".9g", "d"])),
    )


def written(style: Style, columns: list[tuple[str, str]], rows: list[list[float]]):
    """The file's bytes, and the numbers that its texts stand for."""
    lines = [line + style.newline for line in style.heads]
    text = io.StringIO()
    how = csv.QUOTE_ALL if style.quoted else csv.QUOTE_MINIMAL
    out = csv.writer(text, delimiter=style.delimiter, quoting=how, lineterminator=style.newline)
    if style.heading:
        out.writerow([style.heading.format(name=name, unit=unit) for name, unit in columns])
    if style.units_row:
        out.writerow([unit for _, unit in columns])
    numbers = []
    for row in rows:
        cells = [f"{row[0]:.6f}", *(_cell(value, style.form) for value in row[1:])]
        numbers.append([float(cell) for cell in cells])
        out.writerow([cell.replace(".", style.decimal) for cell in cells])
    return ("".join(lines) + text.getvalue()).encode(style.encoding), np.array(numbers)


def _cell(value: float, form: str) -> str:
    if form == "repr":
        return repr(value)
    return str(round(value)) if form == "d" else format(value, form)


NUMBERS = st.floats(-1e12, 1e12, allow_nan=False) | st.integers(-(10**6), 10**6).map(float)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(
    style=styles(),
    data=st.data(),
    width=st.integers(1, 4),
    step=st.sampled_from([0.0005, 0.001, 0.01, 2.5]),
    start=st.sampled_from([0.0, 1.5, 120.0]),
)
def test_any_table_written_any_way_is_read_back_the_same(tmp_path, style, data, width, step, start):
    # writer: the standard library's csv module; numbers by the language's own formatting
    rows = data.draw(st.lists(st.lists(NUMBERS, min_size=width, max_size=width), min_size=4,
                              max_size=30))  # fmt: skip
    names = [("t", "s"), ("Trip", "V"), ("Coil", "mV"), ("Rolle", "rpm"), ("Weg", "mm")]
    table = [[start + k * step, *row] for k, row in enumerate(rows)]
    file = tmp_path / "table.csv"
    content, numbers = written(style, names[: width + 1], table)
    file.write_bytes(content)
    made = read(file)
    block = made.read()
    np.testing.assert_allclose(block.times, numbers[:, 0] - numbers[0, 0], atol=1e-9, rtol=0)
    np.testing.assert_array_equal(block.values, numbers[:, 1:])
    assert made.rate == pytest.approx(1 / step, rel=1e-6)
    if style.heading:
        units = style.units_row or style.heading != "{name}"
        wanted = [Channel(n, u if units else "") for n, u in names[1 : width + 1]]
        assert list(made.channels) == wanted


@pytest.fixture
def put(tmp_path: Path):
    def made(content: str | bytes, name: str = "run.csv", encoding: str = "utf-8") -> Path:
        file = tmp_path / name
        file.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
        return file

    return made


def test_each_guess_can_be_overridden(put):
    file = put(table("{t:.3f};{u};{k}\n", head="what\nt;U;Nr\n"))
    made = read(file, delimiter="semicolon", decimal="point", encoding="latin-1", header=2,
                time="none", rate=50, kind="csv", units={"U": "mV"})  # fmt: skip
    assert made.duration == (ROWS - 1) / 50
    assert made.channels[1] == Channel("U", "mV")
    assert {each.what for each in made.guesses} == set()
    assert read(file, time=3, units={"Nr": "ms"}).duration == pytest.approx((ROWS - 1) / 1000)


def test_thousands_signs_between_groups_of_three_are_no_decimal_signs(put):
    lines = "".join(f"{k / 1000:.3f};{101000 + k:,.1f}\n" for k in range(ROWS))
    made = read(put("t;p [Pa]\n" + lines))
    np.testing.assert_array_equal(made.read().values[:, 0], 101000.0 + np.arange(ROWS))
    assert guessed(made, "thousands sign") == "comma"
    swiss = lines.replace(",", "'")
    again = read(put("t;p [Pa]\n" + swiss, "swiss.csv"))
    np.testing.assert_array_equal(again.read().values, made.read().values)


def test_switched_lines_in_words_are_ones_and_noughts(put):
    made = read(put(table("{t:.3f},{u}\n").replace(",1.5\n", ",ON\n").replace(",0.0\n", ",OFF\n")))
    assert set(made.read().values[:6, 0]) >= {0.0, 1.0}


def test_a_window_is_the_same_as_that_part_of_the_whole_whatever_page_it_lies_in(put):
    # five pages of half a megabyte; the window's ends lie on rows, between them and on page ends
    lines = "".join(f"{k / 1000:.3f},{k % 977},{k % 13}\n" for k in range(150_000))
    made = read(put("t,U,I\n" + lines))
    whole = made.read()
    for start, stop in ((0.0, 0.0), (17.0005, 99.2), (149.999, 200.0), (60.0, 60.0), (5, 4)):
        part = made.read((2,), start=start, stop=stop)
        inside = (whole.times >= start) & (whole.times <= stop)
        np.testing.assert_array_equal(part.times, whole.times[inside])
        np.testing.assert_array_equal(part.values[:, 0], whole.values[inside, 1])
    assert all(len(block.times) <= 1 << 18 for block in made.blocks())


def test_the_original_is_untouched_and_a_change_while_reading_is_noticed(put):
    import hashlib

    content = table("{t:.3f},{u}\n").encode()
    file = put(content)
    made = read(file)
    assert (made.sha256, made.size) == (hashlib.sha256(content).hexdigest(), len(content))
    assert file.read_bytes() == content
    with file.open("ab") as open_file:
        open_file.write(b"2.000,1.0\n")
    with pytest.raises(RecordingError, match="was changed"):
        made.read()


def test_what_pandas_writes_is_read_the_same(put):
    # writer: pandas, a general library; its index column is left out and told
    import pandas as pd

    random = np.random.default_rng(1)
    frame = pd.DataFrame({"time": np.arange(500) / 250, "a b": random.normal(size=500),
                          "c": random.integers(-9, 9, 500)})  # fmt: skip
    for index in (True, False):
        for how in ({"sep": ","}, {"sep": ";", "decimal": ","}, {"sep": "\t"}):
            made = read(put(frame.to_csv(index=index, **how)))
            np.testing.assert_array_equal(made.read().values, frame[["a b", "c"]].to_numpy())
            assert made.rate == 250
            assert (guessed(made, "left out") == "column 1") is index


def test_head_lines_beside_the_numbers_do_not_hide_them(put):
    rows = [f"{k * 4e-4:.6f},{k % 7 / 10}" for k in range(500)]
    heads = ["Record Length,2500,,", "Unit,s,,", "Made,by hand,,"] + [",,,"] * 497
    lines = "".join(f"{head}{row},\n" for head, row in zip(heads, rows, strict=True))
    made = read(put(lines))
    assert (made.rate, made.samples, len(made.channels)) == (2500, 500, 1)


def test_names_with_blanks_between_wide_blanks_are_found(put):
    lines = "".join(f"  {k / 100:8.2f}      {k % 7 / 10:6.1f}\n" for k in range(300))
    made = read(put("Elapsed time (s)     Trip line (V)\n" + lines))
    assert made.channels == (Channel("Trip line", "V"),)
    assert made.rate == 100


def test_units_in_brackets_under_the_names_and_a_blank_line_below(put):
    lines = "".join(f"{-5 + k / 10:.4f},{k % 7 / 10}\n" for k in range(300))
    made = read(put("Time,Channel A\n(ms),(V)\n\n" + lines))
    assert made.channels == (Channel("Channel A", "V"),)
    assert made.rate == 10000
    assert made.read().times[0] == 0.0
