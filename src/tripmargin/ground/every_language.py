"""Sentences told in every language at once, for what takes long and is kept."""

from __future__ import annotations

from collections.abc import Callable

from tripmargin.ground.languages import ENGLISH, known_languages, language, speaking


def in_every_language(
    because: Callable[[bool], tuple[str, ...]],
) -> dict[str, tuple[tuple[str, ...], tuple[str, ...]]]:
    """Sentences in metric and in US units, in each language that somebody may read them in.

    For what takes long and is kept: whoever reads it may speak another language than whoever asked.

    Parameters
    ----------
    because : callable
        Told whether in US units, gives the sentences in the language spoken.

    Returns
    -------
    dict
        A language's code to its sentences in metric and in US units.
    """
    told = {}
    for code in (ENGLISH, *known_languages(), language()):
        if code not in told:
            with speaking(code):
                told[code] = because(False), because(True)
    return told
