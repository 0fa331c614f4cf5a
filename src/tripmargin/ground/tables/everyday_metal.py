"""Everyday metal in the field: what turns up in a crop, as balls, rods and plates."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import Any

from tripmargin.ground.languages import say
from tripmargin.ground.tables.equivalents import FORMS
from tripmargin.ground.tables.materials import material

__all__ = [
    "EverydayPiece",
    "everyday_metal",
    "everyday_piece",
    "find_everyday_piece",
    "nearest_everyday_name",
]


@dataclass(frozen=True, slots=True)
class EverydayPiece:
    """One row of the table, as the ball, rod or plate that stands for it."""

    name: str
    kind: str  # "ball", "rod" or "plate"
    dimensions: tuple[float, ...]  # m: (diameter,), (diameter, length), (length, width, thickness)
    material: str
    modelled_as: str  # what was taken for what, in one sentence
    source: str  # of the dimensions

    @property
    def volume(self) -> float:
        """Volume of the metal, m^3."""
        first, *rest = self.dimensions
        if self.kind == "ball":
            return math.pi / 6.0 * first**3
        if self.kind == "rod":
            return math.pi / 4.0 * first**2 * rest[0]
        return first * math.prod(rest)


@cache
def everyday_metal() -> dict[str, EverydayPiece]:
    """Every row of the table by its name, in the table's order.

    Examples
    --------
    >>> everyday_metal()["20 mm bearing ball"].dimensions
    (0.02,)
    """
    lengths = _file()["bolts"]["lengths"]
    rows = [_bolt(f"{thread}x{length} bolt") for thread in lengths for length in lengths[thread]]
    for entry in _file()["series"]:
        rows += [_row(entry["name"].format(size), entry, n) for size, n in entry["sizes"].items()]
    for entry in _file()["piece"]:
        numbers = {key: value for key, value in entry.items() if key not in _WORDS}
        rows.append(_row(entry["name"], entry, numbers))
    return {row.name: row for row in rows}


def everyday_piece(name: str) -> EverydayPiece:
    """The row of that name; a bolt of a known thread may have any length.

    Raises
    ------
    ValueError
        If there is no such row; the nearest name is given.

    Examples
    --------
    >>> everyday_piece("M10 x 37 bolt").name
    'M10x37 bolt'
    """
    known = find_everyday_piece(name)
    if known is None:
        near = nearest_everyday_name(name)
        if near is None:
            raise ValueError(
                say("piece = {name!r}: not in the table of everyday metal.", name=name)
            )
        raise ValueError(
            say(
                "piece = {name!r}: not in the table of everyday metal. Did you mean {near!r}?",
                name=name,
                near=near,
            )
        )
    return everyday_metal().get(known) or _bolt(known)


def find_everyday_piece(name: str) -> str | None:
    """The table's own spelling of a name, or None; case and spaces do not matter.

    Examples
    --------
    >>> find_everyday_piece("m12 X 40 Bolt")
    'M12x40 bolt'
    """
    wanted = _plain(name)
    spelled = _spellings().get(wanted)
    if spelled is not None:
        return spelled
    bolt = _BOLT.fullmatch(wanted)
    if bolt and f"M{bolt['thread']}" in _file()["bolts"]["heads"]:
        length = float(bolt["length"])
        if 0.0 < length <= 1000.0:
            return f"M{bolt['thread']}x{length:g} bolt"
    return None


def nearest_everyday_name(name: str) -> str | None:
    """The name in the table that reads most like this one, or None if none does.

    Examples
    --------
    >>> nearest_everyday_name("M8 nutt")
    'M8 nut'
    """
    import difflib

    near = difflib.get_close_matches(_plain(name), _spellings(), n=1, cutoff=0.5)
    return _spellings()[near[0]] if near else None


_BOLT = re.compile(r"m(?P<thread>\d+)x(?P<length>\d+(?:\.\d+)?)(?:mm)?bolt")
_MM = 1e-3
_GRAM = 1e-3
_WORDS = {"name", "form", "material", "source"}


@cache
def _file() -> dict[str, Any]:
    import tomllib
    from importlib.resources import files

    text = files(__package__).joinpath("everyday_metal.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def _spellings() -> dict[str, str]:
    return {_plain(name): name for name in everyday_metal()}


def _plain(name: str) -> str:
    return "".join(str(name).lower().replace("×", "x").replace(",", " ").split())


def _bolt(name: str) -> EverydayPiece:
    """A bolt of a thread in the table and any length, from a name such as "M8x30 bolt"."""
    bolts = _file()["bolts"]
    thread, length = name.removesuffix(" bolt").split("x")
    return _row(name, {**bolts, "form": "bolt"}, {**bolts["heads"][thread], "length": length})


def _row(name: str, entry: dict[str, Any], numbers: dict[str, Any]) -> EverydayPiece:
    """One row; `numbers` are the file's, lengths in mm and a mass in g."""
    made_of = entry.get("material", "steel")
    metres = {key: float(value) * _MM for key, value in numbers.items() if key != "mass"}
    if "mass" in numbers:
        metres["volume"] = float(numbers["mass"]) * _GRAM / material(made_of).density
    kind, dimensions, words = FORMS[entry["form"]](**metres)
    return EverydayPiece(name, kind, dimensions, made_of, words, entry["source"])
