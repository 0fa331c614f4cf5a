"""A comma in a number, read both ways where there are two."""

from __future__ import annotations

import pytest

from tripmargin.ground.decimal_commas import meant_by, meant_by_list


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("12,5", ("12.5",)),
        ("330,5 mm +- 0,5 mm", ("330.5 mm +- 0.5 mm",)),
        ("12,5 mm ball", ("12.5 mm ball",)),
        ("1,500", ("1.500", "1500")),
        ("1,234.5", ("1234.5",)),
        ("1.234,5", ("1234.5",)),
        ("1,234,567", ("1234567",)),
        ("12,5,7", ()),
        ("12.5", ()),
        ("5, 8", ()),
        ("", ()),
        (",5", ()),
        ("5,", ()),
    ],
)
def test_a_number(text: str, meant: tuple[str, ...]) -> None:
    assert meant_by(text) == meant


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("4,5; 8", ("4.5; 8", "4; 5; 8")),
        ("4,5;8,5", ("4.5; 8.5", "4; 5; 8; 5")),
        ("4,5", ("4.5", "4; 5")),
        ("4,5; 6,7,8", ("4; 5; 6; 7; 8",)),
        ("5,8,12 mm", ()),
        ("5, 8, 12", ()),
        ("4.5; 8", ()),
        ("", ()),
        (";", ()),
    ],
)
def test_a_list(text: str, meant: tuple[str, ...]) -> None:
    assert meant_by_list(text) == meant
