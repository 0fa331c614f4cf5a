"""Numbers and pieces that a person types, with decimal commas where the language writes them."""

from __future__ import annotations

from typing import Any

import click

from tripmargin.ground.decimal_commas import typed
from tripmargin.ground.languages import say


class Number(click.ParamType[float]):
    """A bare number of an option.

    Parameters
    ----------
    example : float
        Named where what was typed is no number.
    """

    name = "number"

    def __init__(self, example: float) -> None:
        self.example = example

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """The number; refused is what is none, or has a comma that may mean two things."""
        try:
            return float(typed(str(value)))
        except ValueError:
            self.fail(
                say(
                    '"{value}" is not a number. Allowed: a number such as {example:g}, without a'
                    " sign between thousands.",
                    value=value,
                    example=self.example,
                ),
                param,
                ctx,
            )


def piece_typed(text: str) -> Any:
    """The piece of metal that was typed, in the reader's words or in those of a machine file.

    Raises
    ------
    ValueError
        If it is none.
    """
    return _pieces().from_text(piece_name(text))


def piece_name(text: str) -> str:
    """The name of a piece as a machine file has it, from what was typed."""
    from tripmargin.sensing.piece_typed import typed_piece

    return typed(typed_piece(text))


def pieces_typed(text: str) -> list[tuple[str, Any]]:
    """Several pieces with commas between: each one's name, and the piece.

    A comma between two digits parts no pieces, for each piece ends in a word.

    Raises
    ------
    ValueError
        If one is none.
    """
    names = [piece_name(part) for part in typed(text).split(",")]
    return [(name, _pieces().from_text(name)) for name in names]


def _pieces() -> Any:
    from tripmargin.sensing import Piece  # heavy

    return Piece
