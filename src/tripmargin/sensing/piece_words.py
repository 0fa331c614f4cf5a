"""Reading a piece from words such as "8 mm x 120 mm rod along" or "M12x40 bolt"."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import NoReturn

from tripmargin.ground.decimal_commas import meant_by
from tripmargin.ground.errors import QuantityError
from tripmargin.ground.languages import later, say, say_many
from tripmargin.ground.languages.lists import listed
from tripmargin.ground.tables import find_everyday_piece, material, materials, nearest_everyday_name
from tripmargin.sensing.shapes import DIMENSIONS, said_length

__all__ = ["PieceWords", "read_piece_words"]

_KINDS = ("ball", "rod", "plate")
_MILLIMETRES = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, '"': 25.4}


_NUMBER = r"[-+]?(?:\d+[\s-]+\d+\s*/\s*\d+|\d+\s*/\s*\d+|(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?)"
_LENGTH = rf"(?P<number>{_NUMBER})\s*(?P<unit>mm|cm|m|in|\")?(?![a-z0-9])"
_CHAIN = re.compile(
    rf"(?<![\w.])(?:{_NUMBER})\s*(?:mm|cm|m|in|\")?(?:\s*(?:x|by)\s*(?:{_NUMBER})\s*(?:mm|cm|m|in|\")?)*"
    r"(?![a-z0-9.])"
)
_ATTITUDE = re.compile(r"\b(?:axis\s+(?P<axis>[xyz])|(?P<word>across|along|upright))\b")
_ALLOWED = later(
    '"20 mm ball", "8 mm x 120 mm rod" (diameter first), "60 mm x 40 mm x 3 mm plate", '
    'or a name of the table such as "M12x40 bolt"; lengths in mm, cm, m or in; '
    'after it "across", "along" or "upright", and a material'
)


@dataclass(frozen=True, slots=True)
class PieceWords:
    """What the words said."""

    kind: str = ""  # "ball", "rod", "plate"; empty with a table name
    dimensions: tuple[float, ...] = ()  # m, in the order of the words
    table_name: str | None = None
    material: str | None = None
    axis: str | None = None  # "x", "y", "z" or a word for one of them


def read_piece_words(text: str) -> PieceWords:
    """Read a ball, rod or plate with its dimensions, or a name of the table of everyday metal.

    Parameters
    ----------
    text : str
        Lengths in mm, cm, m or in, fractions allowed; after it "across", "along", "upright" or
        "axis x", and a material.

    Returns
    -------
    PieceWords

    Raises
    ------
    QuantityError
        If the words are not understood.

    Examples
    --------
    >>> read_piece_words("8 mm x 120 mm rod upright")
    PieceWords(kind='rod', dimensions=(0.008, 0.12), table_name=None, material=None, axis='upright')
    """
    if not isinstance(text, str) or len(text) > 200:
        _refuse(str(text), say("not a piece in words of at most 200 letters"))
    meant = meant_by(text)
    if meant:
        ways = listed((f'"{each}"' for each in meant), "or")
        raise QuantityError(
            text, say("a comma inside a number"), say(_ALLOWED), say("Write {ways}.", ways=ways)
        )
    wanted = " ".join(text.lower().replace("×", "x").replace("″", '"').replace(",", " ").split())
    wanted, axis = _take_attitude(text, wanted)
    known = find_everyday_piece(wanted)
    if known is not None:
        return PieceWords(table_name=known, axis=axis)
    rest, material_name = _take_material(wanted)
    known = find_everyday_piece(rest)
    if known is not None:
        return PieceWords(table_name=known, material=material_name, axis=axis)
    return _read_shape(text, rest, material_name, axis)


def _read_shape(text: str, rest: str, material_name: str | None, axis: str | None) -> PieceWords:
    chain = _CHAIN.search(rest)
    left = f"{rest[: chain.start()]} {rest[chain.end() :]}" if chain else rest
    words = [word for word in left.split() if word != "of"]
    strange = " ".join(word for word in words if word not in _KINDS)
    if strange:
        _refuse(text, say("'{word}' is not understood", word=strange))
    if len(words) != 1:
        _refuse(
            text,
            say("no ball, rod or plate is named in it")
            if not words
            else say("more than one shape in it"),
        )
    kind = words[0]
    dimensions = _lengths(text, chain.group()) if chain else ()
    if len(dimensions) != len(DIMENSIONS[kind]):
        _refuse(text, _wrong_count(kind, len(dimensions)))
    return PieceWords(kind=kind, dimensions=dimensions, material=material_name, axis=axis)


_NEEDED = {
    "ball": later("a ball needs {needed}"),
    "rod": later("a rod needs {needed}"),
    "plate": later("a plate needs {needed}"),
}


def _wrong_count(kind: str, count: int) -> str:
    """How many lengths a shape needs, and how many stand there."""
    needs = say(_NEEDED[kind], needed=" x ".join(map(said_length, DIMENSIONS[kind])))
    if count == 0:
        return say("{needs}, and no lengths stand there", needs=needs)
    return say_many(
        "{needs}, and {count} length stands there",
        "{needs}, and {count} lengths stand there",
        count,
        needs=needs,
    )


def _take_attitude(text: str, wanted: str) -> tuple[str, str | None]:
    found = list(_ATTITUDE.finditer(wanted))
    if not found:
        return wanted, None
    if len(found) > 1:
        _refuse(text, say("it says twice how the piece lies"))
    where = found[0]
    rest = " ".join(f"{wanted[: where.start()]} {wanted[where.end() :]}".split())
    return rest, where["axis"] or where["word"]


def _take_material(wanted: str) -> tuple[str, str | None]:
    """The longest word for a material in the text, and the text without it."""
    words = sorted(
        (alias for row in materials().values() for alias in (row.name, *row.aliases)),
        key=len,
        reverse=True,
    )
    for word in words:
        where = re.search(rf"\b{re.escape(word)}\b", wanted)
        if where:
            rest = f"{wanted[: where.start()]} {wanted[where.end() :]}"
            return " ".join(rest.split()).removesuffix(" of"), material(word).name
    return wanted, None


def _lengths(text: str, chain: str) -> tuple[float, ...]:
    """Lengths in metres; a number without a unit takes that of the next one."""
    values: list[float] = []
    unit: str | None = None
    for part in reversed(re.split(r"\s*(?:x|by)\s*", chain)):
        match = re.fullmatch(_LENGTH, part.strip())
        if match is None:
            _refuse(text, say("'{part}' is not a length", part=part.strip()))
        unit = match["unit"] or unit
        if unit is None:
            _refuse(text, say("no unit after '{part}'", part=part.strip()))
        values.append(_number(text, match["number"]) * _MILLIMETRES[unit] / 1000.0)
    return tuple(reversed(values))


def _number(text: str, written: str) -> float:
    """A decimal number, a fraction "3/4" or a mixed one "1 1/2" or "1-1/2"."""
    if "/" not in written:
        return float(written)
    sign = -1.0 if written.startswith("-") else 1.0
    head, _, below = written.lstrip("+-").rpartition("/")
    whole, above = [*re.split(r"[\s-]+", head.strip()), ""][:2]
    if not above:
        whole, above = "0", whole
    if float(below) == 0.0:
        _refuse(text, say("'{written}' divides by zero", written=written))
    return sign * (float(whole) + float(above) / float(below))


def _refuse(text: str, why: str) -> NoReturn:
    near = nearest_everyday_name(text[:200])
    hint = say('The nearest name in the table is "{near}".', near=near) if near else ""
    raise QuantityError(text, why, say(_ALLOWED), hint)
