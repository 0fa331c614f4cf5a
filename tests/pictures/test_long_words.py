"""A long word is broken into lines in a time that a page can wait for."""

from __future__ import annotations

import time
from itertools import pairwise

import pytest

from tripmargin.pictures.svg import text_width, wrapped


def test_a_long_word_is_broken_at_once_and_whole() -> None:
    word = "quernstone-" * 500
    began = time.process_time()
    lines = wrapped(f"a {word} b", 14, 300)
    assert time.process_time() - began < 5  # s; it took more than a minute
    assert "".join(lines).replace(" ", "") == f"a{word}b"
    assert all(text_width(line, 14) <= 300 for line in lines)


@pytest.mark.parametrize("width", [1.0, 8.0, 50.0, 333.0])
def test_lines_are_as_long_as_they_may_be(width: float) -> None:
    lines = wrapped("wwwwwiiiiimmmmm-----", 10, width, bold=True)
    for line, following in pairwise(lines):
        assert text_width(line + following[0], 10, bold=True) > width
