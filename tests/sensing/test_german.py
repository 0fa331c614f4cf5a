"""Pieces and what is known of a pass, in German. The German is checked against itself only: no
outside source."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tripmargin import load_machine
from tripmargin.ground.errors import NotKnownError, QuantityError
from tripmargin.ground.languages import say, speaking
from tripmargin.ground.tables import everyday_metal
from tripmargin.sensing.passing import simulate_pass
from tripmargin.sensing.piece_said import CANNOT_PASS, said_piece
from tripmargin.sensing.pieces import Piece


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("20 mm ball", "Kugel 20 mm"),
        ("12.7 mm ball of stainless steel", "Kugel 12,7 mm aus Edelstahl"),
        ("8 mm x 120 mm rod along", "Rundstab 8 mm x 120 mm, längs"),
        ("M12x40 bolt", "Schraube M12x40"),
        ("3.1x80 wire nail", "Drahtstift 3,1x80"),
        ("20 mm bearing ball, 1.5 times", "Lagerkugel 20 mm, 1,5-fach"),
        ("horseshoe", "Hufeisen"),
        ("something of a person's own", "something of a person's own"),
    ],
)
def test_a_piece_is_called_by_its_german_name(name: str, said: str) -> None:
    with speaking("de"):
        assert said_piece(name) == said
    assert said_piece(name) == name


def test_every_piece_of_the_table_has_a_german_name() -> None:
    with speaking("de"):
        assert [name for name in everyday_metal() if said_piece(name) == name] == []
    assert [name for name in everyday_metal() if said_piece(name) != name] == []


def test_a_pass_tells_what_to_know_in_the_language_of_the_reader() -> None:
    machine = load_machine("curlew")
    seen = simulate_pass(machine, Piece.ball(0.5, "brass"), x=0.1, height=0.3, speed=1.5)
    with speaking("de"):
        thick, metal = seen.notes[0], seen.notes[1]
    assert thick.startswith("Das Teil ist dicker (500 mm) als die Öffnung zwischen den Walzen")
    assert metal.startswith("Messing ist kaum magnetisch")
    assert seen.notes[0].endswith("it cannot pass.")


def test_what_is_wrong_is_said_in_german() -> None:
    with speaking("de"), pytest.raises(QuantityError, match="eine Kugel braucht Durchmesser, und"):
        Piece.from_text("20 mm x 30 mm ball")
    with speaking("de"), pytest.raises(NotKnownError, match="Nicht bekannt: ein Durchgang"):
        simulate_pass(
            replace(load_machine("curlew"), sensor=None),
            Piece.ball(0.02), x=0.0, height=0.03, speed=1.0,
        )  # fmt: skip


def test_a_piece_too_thick_is_known_by_how_its_sentence_ends() -> None:
    machine = load_machine("curlew")
    thick = simulate_pass(machine, Piece.ball(0.5), x=0.1, height=0.3, speed=1.5)
    with speaking("de"):
        assert thick.notes[0].endswith(f"{say(CANNOT_PASS)}.")
