"""Numbers and units typed in a language that writes decimals with a comma.

What a comma and a point mean in German: common practice (DIN 1333 writes decimals with a comma).
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tripmargin.ground.decimal_commas import meant_by, spelled, typed, typed_list
from tripmargin.ground.languages import speaking
from tripmargin.ground.quantities import quantity
from tripmargin.ground.typed import spelled_lengths, spelled_quantity, typed_lengths, typed_quantity


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("3,5", "3.5"),
        ("3.5", "3.5"),
        ("-12,25", "-12.25"),
        (",5", ".5"),
        ("330,5 mm +- 0,5 mm", "330.5 mm +- 0.5 mm"),
        ("2,5 .. 6", "2.5 .. 6"),
        ("1.500", "1.500"),  # a point is decimal, as in English
        ("1,500", "1.500"),
        ("1.234,5", "1.234,5"),  # two signs: asked about
        ("1,234,500", "1,234,500"),
        ("5, 8 mm", "5, 8 mm"),
        ("Lager, 3 Stück", "Lager, 3 Stück"),
    ],
)
def test_a_comma_is_decimal_in_german_and_asked_about_in_english(text: str, read: str) -> None:
    with speaking("de"):
        assert typed(text) == read
    assert typed(text) == text


@given(st.floats(-1e6, 1e6).map(lambda value: f"{value:.4f}"))
def test_what_is_spelled_is_read_back(number: str) -> None:
    with speaking("de"):
        assert "." not in spelled(number)
        assert typed(spelled(number)) == number
        assert meant_by(typed(spelled(number))) == ()


def test_a_list_of_one_may_be_two_and_is_asked_about() -> None:
    with speaking("de"):
        assert typed_list("4,5; 8") == "4.5; 8"
        assert typed_list("4,5 mm, 8 mm") == "4.5 mm, 8 mm"
        assert typed_list("4,5") == "4,5"
        assert spelled_lengths("9.5 mm") == "9.5 mm"  # else it would be asked about
        assert typed_lengths(spelled_lengths("6 mm; 9.5 mm")) == "6 mm; 9.5 mm"


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("1000 U/min", "rotation", 1000 / 60),
        ("1000 1/min", "rotation", 1000 / 60),
        ("18,5 Ohm", "resistance", 18.5),
        ("1,2 kOhm", "resistance", 1200.0),
        ("1240,5 Std.", "running hours", 1240.5 * 3600),
        ("2 Wochen", "days", 14 * 86400.0),
        ("0,5 Zoll", "length", 0.0127),
        ("180 Grad", "angle", 3.14159265),
    ],
)
def test_units_are_read_by_their_german_names(text: str, dimension: str, value: float) -> None:
    with speaking("de"):
        assert quantity(typed_quantity(text), dimension).nominal == pytest.approx(value, rel=1e-6)


def test_a_value_of_a_file_comes_back_the_same() -> None:
    with speaking("de"):
        for text in ("1000 rpm +- 2.5 %", "0 deg +- 5 deg", "18.2 ohm", "11.5 V .. 14.5 V"):
            assert spelled_quantity(text) != text
            assert typed_quantity(spelled_quantity(text)) == text
