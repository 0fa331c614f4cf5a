"""A comma in a number: what may be meant by it, said both ways where there are two.

Half the world writes 12,5 for 12.5, the other half 1,500 for 1500. Nobody guesses here: whoever
wrote it picks.
"""

from __future__ import annotations

import re
from collections.abc import Callable

_NUMBER = re.compile(r"\d[\d.,]*\d")
_DECIMAL_COMMA = re.compile(r"\d+,\d+|\d{1,3}(?:\.\d{3})+,\d+")
_THOUSANDS = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?")
_PARTS = re.compile(r"\s*;\s*|\s*,\s+|\s+,\s*")


def meant_by(text: str) -> tuple[str, ...]:
    """The text as it may be meant, without commas in its numbers; empty where there are none.

    The comma as a decimal sign comes first, then the comma between thousands.

    Examples
    --------
    >>> meant_by("12,5"), meant_by("330,5 mm +- 0,5 mm"), meant_by("12.5")
    (('12.5',), ('330.5 mm +- 0.5 mm',), ())
    >>> meant_by("1,500 mm"), meant_by("1.234,5 h"), meant_by("12,5,7")
    (('1.500 mm', '1500 mm'), ('1234.5 h',), ())
    """
    if not any("," in number for number in _NUMBER.findall(text)):
        return ()
    read = (_all(text, _DECIMAL_COMMA, _as_decimal), _all(text, _THOUSANDS, _as_thousands))
    return tuple(dict.fromkeys(each for each in read if each))


def meant_by_list(text: str) -> tuple[str, ...]:
    """A list as it may be meant, its parts by semicolons; empty where its commas are plain.

    A comma behind which a space stands parts two values, and so do two commas in one run of
    digits: no number has two decimal signs.

    Examples
    --------
    >>> meant_by_list("4,5; 8"), meant_by_list("4,5")
    (('4.5; 8', '4; 5; 8'), ('4.5', '4; 5'))
    >>> meant_by_list("5, 8 mm"), meant_by_list("5,8,12"), meant_by_list("4.5; 8")
    ((), (), ())
    >>> meant_by_list("4,5; 6,7,8")
    ('4; 5; 6; 7; 8',)
    """
    parts = [part for part in _PARTS.split(text.strip()) if part]
    held = [part for part in parts if re.search(r"\d,\d", part)]
    decimal = [_all(part, _DECIMAL_COMMA, _as_decimal) for part in parts]
    if not held or decimal == [""]:
        return ()
    several = [re.sub(r"(?<=\d),(?=\d)", "; ", part) for part in parts]
    read = ("; ".join(decimal) if all(decimal) else "", "; ".join(several))
    return tuple(each for each in read if each)


def _all(text: str, shape: re.Pattern[str], read: Callable[[str], str]) -> str:
    """The text with each number that holds a comma read so; empty where one cannot be."""
    held = [number for number in _NUMBER.findall(text) if "," in number]
    if not all(shape.fullmatch(number) for number in held):
        return ""
    return _NUMBER.sub(lambda found: read(found[0]) if "," in found[0] else found[0], text)


def _as_decimal(number: str) -> str:
    return number.replace(".", "").replace(",", ".")


def _as_thousands(number: str) -> str:
    return number.replace(",", "")
