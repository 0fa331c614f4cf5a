"""The margin in words and cells, endless stops and pieces that do not fit included."""

from __future__ import annotations

from math import inf

import pytest

from tests.pictures.examples import Spread
from tripmargin import load_machine
from tripmargin.pictures.margins import cell, rest_words, span, too_large
from tripmargin.sensing import Piece, simulate_pass


@pytest.mark.parametrize(
    ("margin", "said"),
    [
        (Spread(0.1, 0.05, 0.15), "comes to rest 100 mm before the shear bar (50 to 150 mm)"),
        (
            Spread(-0.1, -0.2, -0.05),
            "goes through, to rest 100 mm past the shear bar (50 to 200 mm)",
        ),
        (
            Spread(0.1, -0.05, 0.15),
            "comes to rest 100 mm before the shear bar (50 mm past it to 150 mm before it)",
        ),
        (
            Spread(0.1, -inf, 0.15),
            "comes to rest 100 mm before the shear bar (150 mm before it at best; at worst the stop"
            " may never come about and the feed runs on)",
        ),
        (
            Spread(-inf, -inf, 0.15),
            "never comes to rest: the stop does not come about and the feed runs on; at best 150 mm"
            " before the shear bar",
        ),
        (
            Spread(-inf, -inf, -inf),
            "never comes to rest: the stop does not come about and the feed runs on",
        ),
    ],
)
def test_a_margin_says_where_the_metal_rests_or_that_it_does_not(margin: Spread, said: str) -> None:
    assert rest_words(margin, us=False) == said


def test_cells_of_a_table_hold_words_where_there_is_no_number() -> None:
    assert (cell(0.0254, True), cell(-inf, True)) == ("1", "runs on")
    assert span(Spread(0.1, -inf, 0.15), False) == "runs on to 150"
    assert span(Spread(-inf, -inf, -inf), False) == "runs on"


def test_a_piece_that_does_not_fit_between_the_rolls_is_known_by_its_pass() -> None:
    machine = load_machine("curlew")
    place = {"x": 0.1, "height": 0.03, "speed": 2.0}
    assert too_large(simulate_pass(machine, Piece.ball(0.5), **place).notes)
    assert not too_large(simulate_pass(machine, Piece.ball(0.02), **place).notes)
