"""Where the catalogues lie, and what is in them.

A language is a folder of `catalogues/`, named as ISO 639 names it. People write its `*.po` files,
one for each room; `tools/catalogues.py` makes the one `tripmargin.mo` of them that is read here.
What a language needs besides sentences is in its catalogue too: its own name and its decimal
sign. So a language more is a folder more, and no code.
"""

from __future__ import annotations

from contextvars import ContextVar
from functools import cache
from gettext import GNUTranslations, NullTranslations
from pathlib import Path

from tripmargin.ground.errors import TripmarginError

CATALOGUES = Path(__file__).parent / "catalogues"
COMPILED = "tripmargin.mo"
ENGLISH = "en"
POINT = "."
NAME = ("name of this language", "English")
DECIMAL_SIGN = ("decimal sign", POINT)
SPOKEN: ContextVar[str] = ContextVar("language", default=ENGLISH)


class LanguageError(TripmarginError):
    """There is no such language."""


def known_languages() -> dict[str, str]:
    """Languages that can be spoken, each with its own name for itself, English first.

    A language is offered once its catalogue gives its name: whoever writes it does that last.
    """
    codes = sorted(path.parent.name for path in CATALOGUES.glob(f"*/{COMPILED}"))
    named = {code: catalogue_of(code).pgettext(*NAME) for code in codes}
    return {ENGLISH: NAME[1]} | {code: name for code, name in named.items() if name != NAME[1]}


@cache
def catalogue_of(code: str) -> NullTranslations:
    """A language's catalogue.

    Raises
    ------
    LanguageError
        If there is none.
    """
    if code == ENGLISH:
        return NullTranslations()
    path = CATALOGUES / code / COMPILED
    if not code.isalpha() or not path.is_file():
        from tripmargin.ground.languages.saying import say

        refused = say("language {code!r}: there is no catalogue of it.", code=code)
        allowed = say("Allowed: {known}.", known=", ".join(known_languages()))
        way = say("How to add one stands in docs/how-to/add-a-language.md.")
        raise LanguageError(f"{refused}\n  {allowed}\n  {way}")
    with path.open("rb") as file:
        return GNUTranslations(file)


def decimal_sign() -> str:
    """The sign before decimals in the language spoken."""
    return catalogue_of(SPOKEN.get()).pgettext(*DECIMAL_SIGN)
