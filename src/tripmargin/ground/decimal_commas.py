"""A comma in a number: what may be meant by it, said both ways where there are two.

Half the world writes 12,5 for 12.5, the other half 1,500 for 1500. Nobody guesses here: whoever
wrote it picks. Only in a language that writes a comma for decimals is one read so at once.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from tripmargin.ground.languages.catalogue import POINT, decimal_sign

_NUMBER = re.compile(r"\d[\d.,]*\d")
_DECIMAL_COMMA = re.compile(r"\d+,\d+|\d{1,3}(?:\.\d{3})+,\d+")
_THOUSANDS = re.compile(r"\d{1,3}(?:,\d{3})+(?:\.\d+)?")
_ONE_COMMA = re.compile(r"(?<![\d.,])(\d+),(\d+)(?![\d.,]*\d)|^(\s*[+-]?),(\d+)(?![\d.,]*\d)")
_ONE_POINT = re.compile(r"(?<![\d.,])(\d+)\.(\d+)(?![\d.,]*\d)")
_PARTS = re.compile(r"\s*;\s*|\s*,\s+|\s+,\s*")


def typed(text: str) -> str:
    """What a person typed, with decimal points where the language writes decimal commas.

    For boxes of a form, never for a file: a file means the same to readers of all languages. A
    point stays a decimal point in every language. A number with both signs, or with two commas, is
    left as it is, to be asked about (`meant_by`).

    Examples
    --------
    >>> from tripmargin.ground.languages import speaking
    >>> with speaking("de"):
    ...     typed("3,5"), typed("330,5 mm +- 0,5 mm"), typed("3.5"), typed(",5 mm")
    ('3.5', '330.5 mm +- 0.5 mm', '3.5', '.5 mm')
    >>> with speaking("de"):
    ...     typed("1.234,5"), typed("5,8,12"), typed("5, 8 mm")
    ('1.234,5', '5,8,12', '5, 8 mm')
    >>> typed("3,5")
    '3,5'
    """
    return text if decimal_sign() == POINT else _ONE_COMMA.sub(_with_point, text)


def typed_list(text: str) -> str:
    """A list as it was typed, read as `typed` reads one number.

    One comma in a list of nothing else may also part two values, so it is left to be asked about.

    Examples
    --------
    >>> from tripmargin.ground.languages import speaking
    >>> with speaking("de"):
    ...     typed_list("4,5; 8"), typed_list("4,5 mm, 8 mm"), typed_list("4,5")
    ('4.5; 8', '4.5 mm, 8 mm', '4,5')
    """
    return typed(text) if len(_PARTS.split(text.strip(" ;"))) > 1 else text


def spelled(text: str) -> str:
    """A text with decimal points, from a file or an address, as the language writes it.

    Examples
    --------
    >>> from tripmargin.ground.languages import speaking
    >>> with speaking("de"):
    ...     spelled("3.4 mm +- 0.4 mm"), spelled("06.11.2026"), spelled("M8x30")
    ('3,4 mm +- 0,4 mm', '06.11.2026', 'M8x30')
    >>> spelled("3.4 mm")
    '3.4 mm'
    """
    sign = decimal_sign()
    return text if sign == POINT else _ONE_POINT.sub(rf"\1{sign}\2", text)


def spelled_list(text: str) -> str:
    """The same of a list; one number alone keeps its point (see `typed_list`)."""
    return spelled(text) if len(_PARTS.split(text.strip(" ;"))) > 1 else text


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


def _with_point(found: re.Match[str]) -> str:
    before, behind, sign, alone = found.groups()
    return f"{before}.{behind}" if before else f"{sign}.{alone}"


def _as_decimal(number: str) -> str:
    return number.replace(".", "").replace(",", ".")


def _as_thousands(number: str) -> str:
    return number.replace(",", "")
