"""What people read, in their own language: English in the code, others from catalogues."""

from tripmargin.ground.languages.catalogue import ENGLISH, LanguageError, known_languages
from tripmargin.ground.languages.numerals import numeral
from tripmargin.ground.languages.saying import (
    language,
    later,
    say,
    say_as,
    say_many,
    speak,
    speaking,
)

__all__ = [
    "ENGLISH",
    "LanguageError",
    "known_languages",
    "language",
    "later",
    "numeral",
    "say",
    "say_as",
    "say_many",
    "speak",
    "speaking",
]
