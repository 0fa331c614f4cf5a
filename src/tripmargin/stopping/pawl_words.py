"""A pawl's name as it is read: the two usual ones in every language, others as they are."""

from __future__ import annotations

from tripmargin.ground.languages import say_as
from tripmargin.ground.languages.own_words import as_written


def pawl_words(name: str) -> str:
    """A pawl's name in the reader's language.

    >>> pawl_words("lower"), pawl_words("left")
    ('lower', 'left')
    """
    if name == "lower":
        return say_as("pawl", "lower")
    if name == "upper":
        return say_as("pawl", "upper")
    return as_written(name)
