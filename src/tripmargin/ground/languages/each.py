"""A text said once in every language, for what cannot be kept in parts (`phrases`).

An error is said where it is raised. Where it is kept for readers of other languages too, what
raised it is asked once more in each of them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from tripmargin.ground.languages.catalogue import ENGLISH, SPOKEN, known_languages
from tripmargin.ground.languages.saying import speaking

Said = TypeVar("Said")


def in_each(saying: Callable[[], Said]) -> dict[str, Said]:
    """What `saying` says in each language that is offered, by the language's code.

    Examples
    --------
    >>> from tripmargin.ground.languages import say
    >>> in_each(lambda: say("Needed."))["en"]
    'Needed.'
    """
    found = {}
    for code in known_languages():
        with speaking(code):
            found[code] = saying()
    return found


def here(said: Mapping[str, Said]) -> Said:
    """What is said in the language spoken; in English where nothing is in it."""
    return said.get(SPOKEN.get(), said[ENGLISH])


@dataclass(frozen=True, slots=True)
class InEach:
    """A text in each language; `str()` gives the one spoken then.

    >>> str(InEach({"en": "Needed."}))
    'Needed.'
    """

    texts: Mapping[str, str]

    def __str__(self) -> str:
        return here(self.texts)
