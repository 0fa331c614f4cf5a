"""Pieces typed in German. The German is checked against itself only: no outside source."""

from __future__ import annotations

import pytest

from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.languages import speaking
from tripmargin.ground.tables import everyday_metal
from tripmargin.sensing.piece_said import said_piece
from tripmargin.sensing.piece_typed import typed_piece
from tripmargin.sensing.pieces import Piece


@pytest.mark.parametrize("lying", ["", " along", " across", " upright"])
def test_every_name_that_is_said_can_be_typed(lying: str) -> None:
    names = [
        *everyday_metal(), "22.5 mm ball", "12.7 mm ball of stainless steel",
        "8 mm x 120 mm rod of cast iron", "60 mm x 40 mm x 3.5 mm plate of aluminium",
    ]  # fmt: skip
    with speaking("de"):
        said = {f"{name}{lying}": said_piece(f"{name}{lying}") for name in names}
        assert [name for name, words in said.items() if typed(typed_piece(words)) != name] == []
        assert [name for name in said if typed_piece(name) != name] == []  # English goes too


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("22 mm Kugel", "22 mm ball"),
        ("22-mm-Kugel", "22 mm ball"),
        ("Kugel, 22 mm", "22 mm ball"),
        ("Stahlkugel 20 mm", "20 mm ball"),
        ("20 mm Edelstahlkugel", "20 mm ball of stainless steel"),
        ("Kugel 12,5 mm aus rostfreiem Stahl", "12.5 mm ball of stainless steel"),
        ("Stab 8 mal 120 mm quer", "8 mm x 120 mm rod"),
        ("Rundstab 8 x 120 mm längs aus Messing", "8 mm x 120 mm rod of brass"),
        ("m8x30 Schraube längs", "M8x30 bolt"),
        ("SCHRAUBE M12x40", "M12x40 bolt"),
    ],
)
def test_words_in_another_order_are_understood(words: str, name: str) -> None:
    with speaking("de"):
        assert Piece.from_text(typed(typed_piece(words))).name == name


@pytest.mark.parametrize("words", ["Zange 30 mm", "Kugel", "Schraube M9x30 längs", "3,5,7 Kugel"])
def test_what_is_no_piece_stays_none(words: str) -> None:
    with speaking("de"), pytest.raises(ValueError, match="Erlaubt: „Kugel 20 mm“"):
        Piece.from_text(typed(typed_piece(words)))


def test_english_reads_no_german() -> None:
    assert typed_piece("Kugel 20 mm") == "Kugel 20 mm"
