"""Saying something in the reader's language.

The sentence stands in the code in English, whole, with a name for each value in it:

>>> say("The gap is {gap:.1f} mm.", gap=3.25)
'The gap is 3.2 mm.'

A catalogue (`catalogues/<language>/*.po`, the form of GNU gettext) holds the same sentence in
another language. What no catalogue holds is said in English.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from tripmargin.ground.languages.catalogue import SPOKEN, catalogue_of
from tripmargin.ground.languages.numerals import fill


def language() -> str:
    """The language spoken here and now, as ISO 639 writes it: "en", "de"."""
    return SPOKEN.get()


def speak(code: str) -> None:
    """Speak a language from here on; `speaking` is for a part of a program only.

    Raises
    ------
    LanguageError
        If there is no catalogue of that language.
    """
    catalogue_of(code)
    SPOKEN.set(code)


@contextmanager
def speaking(code: str) -> Iterator[None]:
    """Speak a language within a `with`, in this thread or task only.

    Raises
    ------
    LanguageError
        If there is no catalogue of that language.
    """
    catalogue_of(code)
    before = SPOKEN.set(code)
    try:
        yield
    finally:
        SPOKEN.reset(before)


def say(message: str, /, **values: Any) -> str:
    """A message in the reader's language, with its values in their places.

    Parameters
    ----------
    message : str
        English, a whole sentence or a whole label, as a literal: the catalogues are made of what
        stands in the code. `{name}` or `{name:.1f}` stands for a value.
    **values
        A number is written as the language writes it (decimal comma), so hand over the number
        itself and its form, not a text made of it.
    """
    if not message:
        return ""  # a catalogue's own head stands under the empty message
    said = catalogue_of(SPOKEN.get()).gettext(message)
    return fill(said, values) if values else said


def say_many(one: str, many: str, count: int, /, **values: Any) -> str:
    """A message about `count` things: `{count}` stands for how many.

    >>> say_many("{count} machine", "{count} machines", 1)
    '1 machine'
    """
    said = catalogue_of(SPOKEN.get()).ngettext(one, many, count)
    return fill(said, {"count": count, **values})


def say_as(context: str, message: str, /, **values: Any) -> str:
    """A message that means different things in different places; the context says which.

    >>> say_as("pawl", "lower")
    'lower'
    """
    said = catalogue_of(SPOKEN.get()).pgettext(context, message)
    return fill(said, values) if values else said


def later(message: str) -> str:
    """The message as it stands, marked for the catalogues: `say` says it when it is shown.

    For tables of words that are made before anybody reads: `say(TABLE[key])`.
    """
    return message
