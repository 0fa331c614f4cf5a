"""A piece's name in the reader's language.

Names stand in English in machine files and wherever a piece is asked for, so that a file means the
same to everybody; here they are said as they are read.
"""

from __future__ import annotations

import re

from tripmargin.ground.languages import later, numeral, say, say_as
from tripmargin.ground.tables.table_words import MATERIAL_WORDS, PIECE_WORDS

# What may stand behind a size: "M12x40 bolt", "8 mm x 120 mm rod".
_KINDS = {
    "ball": later("{size} ball"),
    "rod": later("{size} rod"),
    "plate": later("{size} plate"),
    "ellipsoid": later("{size} ellipsoid"),
    "bolt": later("{size} bolt"),
    "nut": later("{size} nut"),
    "washer": later("{size} washer"),
    "bearing ball": later("{size} bearing ball"),
    "wire nail": later("{size} wire nail"),
    "round-link chain, one link": later("{size} round-link chain, one link"),
    "roller chain, one link": later("{size} roller chain, one link"),
}
_LYING = {
    "across": later("{piece} across"),
    "along": later("{piece} along"),
    "upright": later("{piece} upright"),
}
_SIZED = re.compile(rf"(?P<size>[\w./\" -]*\d[\w./\" -]*?) (?P<kind>{'|'.join(_KINDS)})")
_LIES = re.compile(rf"(?P<piece>.+) (?P<how>{'|'.join(_LYING)})")
_MADE = re.compile(rf"(?P<piece>.+) of (?P<material>{'|'.join(MATERIAL_WORDS)})")
_TIMES = re.compile(r"(?P<piece>.+), (?P<factor>\d+(?:\.\d+)?) times")
CANNOT_PASS = later("it cannot pass")
"""How every sentence about a piece too thick for the rolls ends, in each language."""
_POINT = re.compile(r"\d+\.(\d+)")


def said_piece(name: str) -> str:
    """The name of a piece as the reader's language says it; what is not understood stays as it is.

    >>> said_piece("M12x40 bolt"), said_piece("8 mm x 120 mm rod of brass along")
    ('M12x40 bolt', '8 mm x 120 mm rod of brass along')
    """
    if name in PIECE_WORDS:
        return say(PIECE_WORDS[name])
    if found := _LIES.fullmatch(name):
        return say(_LYING[found["how"]], piece=said_piece(found["piece"]))
    if found := _TIMES.fullmatch(name):
        factor = float(found["factor"])
        return say("{piece}, {factor:g} times", piece=said_piece(found["piece"]), factor=factor)
    if found := _MADE.fullmatch(name):
        made_of = say(MATERIAL_WORDS[found["material"]])
        return say("{piece} of {material}", piece=said_piece(found["piece"]), material=made_of)
    if found := _SIZED.fullmatch(name):
        return say(_KINDS[found["kind"]], size=_POINT.sub(_in_language, found["size"]))
    return name


def _in_language(number: re.Match[str]) -> str:
    return numeral(float(number[0]), f".{len(number[1])}f")


def a_piece(piece: str) -> str:
    """The piece with its article, as it is spoken.

    >>> a_piece("M12x40 bolt"), a_piece("8 mm x 60 mm rod"), a_piece("20 mm ball")
    ('an M12x40 bolt', 'an 8 mm x 60 mm rod', 'a 20 mm ball')
    """
    if _takes_an(piece):
        return say_as("a piece of metal", "an {piece}", piece=said_piece(piece))
    return say_as("a piece of metal", "a {piece}", piece=said_piece(piece))


def a_piece_first(piece: str) -> str:
    """The same where a sentence begins with it."""
    if _takes_an(piece):
        return say_as("a piece of metal", "An {piece}", piece=said_piece(piece))
    return say_as("a piece of metal", "A {piece}", piece=said_piece(piece))


def _takes_an(piece: str) -> bool:
    return piece.startswith(("M", "8", "11 ", "11.", "18 ", "18."))
