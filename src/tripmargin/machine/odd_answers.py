"""Answers that are odd before any rule of the machine file is asked: letters, commas in lists."""

from __future__ import annotations

import re

from tripmargin.ground.decimal_commas import meant_by_list
from tripmargin.ground.errors import Problem, shortened
from tripmargin.ground.languages import say

_UNPRINTABLE = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]")


def unprintable(text: str) -> str:
    r"""The first letter that nobody means to type and no record holds, by its number; else empty.

    >>> unprintable("Kn\0t"), unprintable("Kn\N{LATIN SMALL LETTER O WITH DIAERESIS}t")
    ('U+0000', '')
    """
    found = _UNPRINTABLE.search(text)
    return f"U+{ord(found[0]):04X}" if found else ""


def odd_answer(field: str, kind: str, allowed: str, text: str) -> Problem | None:
    """What is wrong with an answer that the file's own rules would not see; None where nothing is.

    A list whose commas may be decimal signs is not guessed at: both readings are said.

    Parameters
    ----------
    field : str
        Its dotted path.
    kind : str
        Of its `Spec`.
    allowed : str
        What may be answered, in words.
    text : str
        As it was typed.
    """
    where, seen = (say("your answer"), None, field), f'"{shortened(text.strip())}"'
    letter = unprintable(text)
    if letter:
        seen = ascii(shortened(text.strip()))
        what = say("it holds a character that cannot be printed ({letter})", letter=letter)
        return Problem(*where, seen, what, allowed, say("Type it anew."))
    meant = meant_by_list(text) if kind == "lengths" else ()
    if meant:
        hint = (
            say(
                'If the comma is a decimal sign, write "{decimal}"; if it parts two lengths, write'
                ' "{parted}".',
                decimal=meant[0],
                parted=meant[-1],
            )
            if len(meant) > 1
            else say('If it parts two lengths, write "{parted}".', parted=meant[-1])
        )
        return Problem(*where, seen, say("a comma inside a number"), allowed, hint)
    return None
