"""A pawl's name in the sentences of this room."""

from __future__ import annotations


def pawl_said(name: str) -> str:
    """A pawl's name in the reader's language; one that the trade does not know as it is.

    >>> pawl_said("lower"), pawl_said("left")
    ('lower', 'left')
    """
    # A list of what is due needs no physics, so that room is opened only where a pawl is named.
    from tripmargin.stopping.pawl_words import pawl_words

    return pawl_words(name)
