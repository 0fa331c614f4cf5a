"""Cells that are no plain number: left empty, a word for nothing, on and off, thousands signs."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from math import nan

from tripmargin.recordings.reading.naming import cell_unit

_NOTHING = (
    "nan",
    "na",
    "n/a",
    "#n/a",
    "#na",
    "null",
    "none",
    "nil",
    "-",
    "--",
    "---",
    "----",
    "?",
    "*",
    "inf",
    "-inf",
    "+inf",
    "infinity",
    "-infinity",
    "ind",
    "-ind",
    "1.#qnan",
    "-1.#ind",
    "-nan",
    "err",
    "error",
    "#error",
    "#num!",
    "#value!",
    "#div/0!",
    "ovl",
    "ol",
    "overload",
    "overflow",
    "ovfl",
    "ovrflw",
    "invalid",
    "no data",
    "nodata",
    "bad",
    "open",
    "undef",
    "fail",
    "timeout",
)
MISSING = frozenset(_NOTHING)
SWITCHES = {
    word: value
    for value, words in (
        (1.0, ("true", "on", "high", "yes", "ein", "wahr", "ja", "closed", "active")),
        (0.0, ("false", "off", "low", "no", "aus", "falsch", "nein", "opened", "inactive")),
    )
    for word in words
}
_WITH_UNIT = re.compile(
    r"(?P<number>[^a-zA-Z%°Ωµμ]*\d)[ \u00a0\u202f]?(?P<unit>[a-zA-Z%°Ωµμ].{0,8})"
)
_BLANKS = " \u00a0\u202f\u2009"  # as they stand between thousands
_APOSTROPHES = "'\u2019"


@dataclass(frozen=True)
class Reading:
    """What one cell says: its value, and "missing", "unreadable" or "mixed" where it has none.

    `unit` is the one written behind the number in the cell itself, as in "12.5 V".
    """

    value: float
    trouble: str = ""
    unit: str = ""


class CellReader:
    """Reads one cell at a time, by a file's decimal sign and thousands sign.

    `thousands` None: blanks and apostrophes between groups of three are taken for such signs, and
    the other decimal sign is not.
    """

    def __init__(self, decimal: str, thousands: str | None) -> None:
        self.decimal, self.thousands = decimal, thousands
        self.other = "." if decimal == "," else ","
        if thousands is None:
            signs = _BLANKS + _APOSTROPHES
        else:
            signs = {" ": _BLANKS, "'": _APOSTROPHES}.get(thousands, thousands)
        mark = re.escape(decimal)
        behind = r"(?:[eE][+-]?\d+)?"
        head = rf"[+-]?(?:\d+(?:{mark}\d*)?|{mark}\d+)"
        if decimal == ",":  # "5," is more often a cell and its delimiter than a number
            head = rf"[+-]?(?:\d+(?:{mark}\d+)?|{mark}\d+)"
        self._plain = re.compile(head + behind, re.ASCII)
        group = f"([{re.escape(signs)}])" if signs else r"(\Z.)"
        self._grouped = re.compile(
            rf"[+-]?[1-9]\d{{0,2}}{group}\d{{3}}(?:\1\d{{3}})*(?:{mark}\d+)?", re.ASCII
        )
        other = re.escape(self.other)
        self._other = re.compile(rf"[+-]?\d*{other}\d+{behind}|[+-]?\d+{other}{behind}", re.ASCII)
        self._mixed = re.compile(rf"[+-]?[\d{re.escape('.,')}]+", re.ASCII)

    def read(self, text: str) -> Reading:
        """The value of a cell that may be anything."""
        text = text.strip()
        if not text:
            return Reading(nan, "missing")
        if self.is_plain(text):
            return Reading(float(text.replace(self.decimal, ".")))
        if found := self._grouped.fullmatch(text):
            return Reading(float(text.replace(found[1], "").replace(self.decimal, ".")))
        if self._other.fullmatch(text) or self._mixed.fullmatch(text):
            return Reading(nan, "mixed" if self.other in text else "unreadable")
        word = text.lower()
        if word in SWITCHES:
            return Reading(SWITCHES[word])
        number, unit = self.parted(text)
        if unit:
            return replace(self.read(number), unit=unit)
        return Reading(nan, "missing" if word in MISSING else "unreadable")

    def parted(self, text: str) -> tuple[str, str]:
        """Number and unit of a cell such as "12.5 V"; the unit is empty where there is none."""
        found = _WITH_UNIT.fullmatch(text)
        if not found or not cell_unit(found["unit"]):
            return text, ""
        number = found["number"]
        return (number, found["unit"]) if self._is_bare(number) else (text, "")

    def is_plain(self, text: str) -> bool:
        """Whether it is a number without thousands signs."""
        return self._plain.fullmatch(text) is not None

    def is_number(self, text: str) -> bool:
        """Whether it is a number, thousands signs or not, with a unit behind it or not."""
        return self._is_bare(text) or bool(self.parted(text)[1])

    def _is_bare(self, text: str) -> bool:
        return self.is_plain(text) or self._grouped.fullmatch(text) is not None
