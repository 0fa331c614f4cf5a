"""Numbers from text: the language's own, digit by digit the same."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from tripmargin.recordings.reading.text.cells import cells_of
from tripmargin.recordings.reading.text.numbers import parsed
from tripmargin.recordings.reading.text.words import CellReader

FORMS = st.sampled_from(["{!r}", "{:.3f}", "{:.0f}", "{:+.5e}", "{:.17g}", "{:.12f}", "{:E}"])
WRITTEN = st.one_of(
    st.builds(lambda form, x: form.format(x), FORMS, st.floats(-1e18, 1e18)),
    st.builds(lambda form, x: form.format(x), FORMS, st.floats(-1, 1)),
    st.integers(-(10**20), 10**20).map(str),
    st.from_regex(r"[+-]?[0-9]{1,9}\.?[0-9]{0,12}([eE][+-]?[0-9]{1,2})?", fullmatch=True),
    st.sampled_from(["0", "-0", "-0.0", "+.5", "5.", "1e22", "1e23", "123456789012345678"]),
)


@settings(max_examples=300)
@given(st.lists(WRITTEN, min_size=1, max_size=40))
def test_a_number_is_read_as_the_language_reads_it_or_left_to_it(texts):
    # outside source: Python's float(), which rounds correctly
    cells = cells_of(("\n".join(texts) + "\n").encode(), ";", ".", 1)
    places = (cells.starts, cells.ends, cells.points, cells.powers)
    values, read = parsed(cells.letters, *places)
    for text, value, was_read in zip(texts, values[:, 0], read[:, 0], strict=True):
        if was_read:
            assert value == float(text), text
            assert np.signbit(value) == np.signbit(float(text))
        assert CellReader(".", None).read(text).value == float(text)


@given(st.lists(st.text("0123456789.,+-eE xN", max_size=8), min_size=1, max_size=20))
def test_what_is_no_number_is_never_read_as_one(texts):
    texts = [f"{text.strip() or '-'}" for text in texts]
    cells = cells_of(("\n".join(texts) + "\n").encode(), ";", ".", 1)
    _, read = parsed(cells.letters, cells.starts, cells.ends, cells.points, cells.powers)
    assert len(read) == len(texts)
    for text, was_read in zip(texts, read[:, 0], strict=True):
        if was_read:
            float(text)  # raises where it is none


def test_rows_with_other_numbers_of_cells_are_set_apart_with_their_lines():
    cells = cells_of(b"1;2\n3\n\n4;5;6\n 7 ; 8 \r\n".replace(b"\r", b""), ";", ".", 2)
    assert cells.odd == ((1, 1), (3, 3))
    assert cells.lines.tolist() == [0, 4]
    assert [cells.text(1, k) for k in (0, 1)] == ["7", "8"]


def test_quotation_marks_hide_delimiters_within_their_line_only():
    cells = cells_of(b'"1,5","2"\n"3,5,4\n"5,5",6\n', ",", ",", 2)
    assert [cells.text(0, k) for k in (0, 1)] == ["1,5", "2"]
    assert [cells.text(1, k) for k in (0, 1)] == ["5,5", "6"]
    assert [line for line, _ in cells.odd] == [1]
