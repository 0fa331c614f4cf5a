"""A machine file's text, read in the language spoken; see `own_words`."""

from __future__ import annotations

from tripmargin.ground.languages.catalogue import SPOKEN, catalogue_of

CONTEXT = "machine file"


def as_written(text: str) -> str:
    """A machine file's text as people read it: translated where the catalogue has just this text.

    >>> as_written("behind the cab")
    'behind the cab'
    """
    return catalogue_of(SPOKEN.get()).pgettext(CONTEXT, text)
