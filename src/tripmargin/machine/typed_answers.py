"""Answers of `machine new` between a person's language and the file's: numbers, units, words.

A file holds decimal points and English words, and means the same to readers of all languages.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from tripmargin.ground.decimal_commas import spelled
from tripmargin.ground.languages import language, say, say_as
from tripmargin.ground.languages.catalogue import ENGLISH
from tripmargin.ground.typed import spelled_lengths, spelled_quantity, typed_lengths, typed_quantity

if TYPE_CHECKING:
    from tripmargin.machine.asking import Question


def typed_answer(question: Question, text: str) -> str:
    """An answer as it was typed, with points for decimals and the words of a file.

    What is not understood stays as it is.

    >>> from tripmargin.ground.languages import speaking
    >>> from tripmargin.machine.asking import Question
    >>> from tripmargin.machine.fields import Spec
    >>> roll = Question(("feed", "roll_diameter"), Spec("quantity", "roll", "length"))
    >>> with speaking("de"):
    ...     typed_answer(roll, "330,5 +- 4")
    '330.5 +- 4'
    """
    if question.path[-1] == "suppression":
        return _suppression(typed_quantity(text), to_file=True)
    if question.spec.kind == "lengths":
        return typed_lengths(text)
    return typed_quantity(text) if question.spec.kind == "quantity" else text


def spelled_answer(question: Question, text: str) -> str:
    """An answer, or what a file says, as a person of the language would type it."""
    if question.path[-1] == "suppression":
        return _suppression(spelled_quantity(text), to_file=False)
    if question.spec.kind == "lengths":
        return spelled_lengths(text)
    return spelled_quantity(text) if question.spec.kind == "quantity" else text


def spelled_allowed(text: str) -> str:
    """What may be answered, whose examples are a file's, as a person of the language types it.

    >>> from tripmargin.ground.languages import speaking
    >>> with speaking("de"):
    ...     spelled_allowed('Widerstand, geschrieben wie "18.5 ohm", von 0,1 Ω bis 9 Ω')
    'Widerstand, geschrieben wie „18,5 Ω“, von 0,1 Ω bis 9 Ω'
    """
    if language() == ENGLISH:
        return text
    opened, closed = say("“{text}”", text="\n").split("\n")
    quoted = re.compile(rf'["{opened}]([^"{closed}]*)["{closed}]')
    return spelled(quoted.sub(lambda found: say("“{text}”", text=spelled_quantity(found[1])), text))


def _suppression(text: str, *, to_file: bool) -> str:
    """What stands across the hold winding: the file's word for it, or the language's first one."""
    if language() == ENGLISH:
        return text
    for english, several in _suppression_words().items():
        words = [one.strip() for one in several.split(",")]
        for said in sorted(words, key=len, reverse=True) if to_file else [english]:
            found = rf"(?<![\w-]){re.escape(said)}(?!\w)"
            text = re.sub(found, english if to_file else words[0], text, flags=re.IGNORECASE)
    return text


def _suppression_words() -> dict[str, str]:
    return {
        "zener": say_as("typed for what is across the winding, parted by commas", "zener"),
        "diode": say_as("typed for what is across the winding, parted by commas", "diode"),
        "resistor": say_as("typed for what is across the winding, parted by commas", "resistor"),
        "none": say_as("typed for what is across the winding, parted by commas", "none"),
    }
