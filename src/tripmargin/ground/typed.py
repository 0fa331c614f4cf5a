"""A quantity typed into a box: decimal commas and words for units of the language spoken.

Files are not read so: a file means the same to readers of all languages.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from tripmargin.ground.decimal_commas import spelled, spelled_list, typed, typed_list
from tripmargin.ground.languages import language, say_as
from tripmargin.ground.languages.catalogue import ENGLISH
from tripmargin.ground.unit_words import unit_words

_SHOWN = ("rpm", "rev/s", "ohm", "degC", "degF", "deg", "in")
"""Units that a language may write otherwise: what stands on a screen can be typed."""


def typed_quantity(text: str) -> str:
    """What was typed, as `quantity` reads it; what is not understood stays as it is.

    Examples
    --------
    >>> from tripmargin.ground.languages import speaking
    >>> with speaking("de"):
    ...     typed_quantity("1000 U/min +- 2,5 %"), typed_quantity("18 Ohm"), typed_quantity("3,5")
    ('1000 rpm +- 2.5 %', '18 ohm', '3.5')
    >>> typed_quantity("3,5 mm")
    '3,5 mm'
    """
    return typed(_with_english_units(text))


def typed_lengths(text: str) -> str:
    """A list of lengths, its units read too; see `typed_list`."""
    return typed_list(_with_english_units(text))


def spelled_quantity(text: str) -> str:
    """A quantity as a file has it, as the language writes it.

    Examples
    --------
    >>> from tripmargin.ground.languages import speaking
    >>> with speaking("de"):
    ...     spelled_quantity("0 deg +- 0.5 deg"), spelled_quantity("1000 rpm")
    ('0 ° +- 0,5 °', '1000 1/min')
    """
    return spelled(_with_units_here(text))


def spelled_lengths(text: str) -> str:
    """A list of lengths, as the language writes it."""
    return spelled_list(_with_units_here(text))


def _with_units_here(text: str) -> str:
    for unit in _SHOWN:
        if (here := unit_words(unit)) != unit:
            text = re.sub(rf"(?<=\d ){re.escape(unit)}(?![\w/])", here, text)
    return text


def _with_english_units(text: str) -> str:
    if language() == ENGLISH:
        return text
    for words, unit in _words():
        if words != unit:
            text = re.sub(rf"(?<=[\d\s.]){re.escape(words)}(?![\w/])", unit, text)
    return text


def _words() -> list[tuple[str, str]]:
    """What is typed for units, the longest first, and the units."""
    several = {
        "rpm": say_as("typed for a unit, parted by commas", "rpm"),
        "ohm": say_as("typed for a unit, parted by commas", "ohm"),
        "kohm": say_as("typed for a unit, parted by commas", "kohm"),
        "h": say_as("typed for a unit, parted by commas", "h"),
        "d": say_as("typed for a unit, parted by commas", "d"),
        "week": say_as("typed for a unit, parted by commas", "week"),
        "in": say_as("typed for a unit, parted by commas", "in"),
        "deg": say_as("typed for a unit, parted by commas", "deg"),
    }
    return longest_first(several, [(unit_words(unit), unit) for unit in _SHOWN])


def longest_first(
    several: Mapping[str, str], more: Iterable[tuple[str, str]] = ()
) -> list[tuple[str, str]]:
    """Words that may be typed and what each stands for, the longest first.

    `several` has, by what it stands for, words parted by commas; `more` has them singly.

    >>> longest_first({"ohm": "Ohm, R"}, [("Kugel", "ball")])
    [('Kugel', 'ball'), ('Ohm', 'ohm'), ('R', 'ohm')]
    """
    words = [(one.strip(), name) for name, said in several.items() for one in said.split(",")]
    return sorted([*words, *more], key=lambda pair: -len(pair[0]))
