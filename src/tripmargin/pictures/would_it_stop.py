"""Pictures of a "would it stop?" drill: where the piece lies, and where it stands on the map."""

from __future__ import annotations

from math import pi

from tripmargin.drills import Question
from tripmargin.pictures.pass_place import pass_place_picture
from tripmargin.pictures.protection_map import protection_map_picture
from tripmargin.protection import ProtectionMap
from tripmargin.sensing import Piece


def asked_picture(
    question: Question, *, width: float = 360, sun: bool = False, us: bool = False
) -> str:
    """The front view of the roll with the piece at its place, as SVG; it tells no answer.

    Parameters
    ----------
    question : Question
    width : float, px
        At least 280; 360 suits a phone.
    sun, us : bool
        Greatest contrast; inches.

    Raises
    ------
    NotKnownError
        If the machine file does not give the roll.
    """
    at = question.situation
    piece = Piece.from_text(at.piece)
    return pass_place_picture(
        question.machine, piece.name, (6 * piece.volume / pi) ** (1 / 3),
        x=at.x or 0.0, height=at.height or 0.0, width=width, sun=sun, us=us,
    )  # fmt: skip


def told_picture(
    question: Question,
    made: ProtectionMap,
    *,
    width: float = 720,
    sun: bool = False,
    us: bool = False,
) -> str:
    """The protection map with the piece on it, as SVG; it tells the answer.

    Parameters
    ----------
    question : Question
    made : ProtectionMap
        Of the machine as it is set in the question; see `WouldItStop.map_of`.
    width : float, px
        At least 280; 360 suits a phone.
    sun, us : bool
        Greatest contrast; inches.
    """
    return protection_map_picture(
        made, width=width, sun=sun, us=us, in_use=question.situation.cut_length,
        mark=question.on_map,
    )  # fmt: skip
