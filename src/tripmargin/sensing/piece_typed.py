"""A piece typed in the reader's language, as its English name: what `piece_said` says, read back.

Machine files and entries hold English names, so that they mean the same to everybody. People type
what they read on the screen, or the same words in another order.
"""

from __future__ import annotations

import re

from tripmargin.ground.languages import language, say, say_as
from tripmargin.ground.languages.catalogue import ENGLISH
from tripmargin.ground.tables import everyday_metal
from tripmargin.ground.tables.table_words import MATERIAL_WORDS
from tripmargin.ground.typed import longest_first
from tripmargin.sensing.piece_said import said_piece

_COMMA = re.compile(r"(?<=\d),(?=\d)")
_HYPHENS = re.compile(r"(?<=\d)-(mm|cm|m|in)-(?=[^\W\d])")
_LENGTH = r"\d[\d./]*(?:,\d+)?(?: ?(?:mm|cm|m|in)\b|\")?"
# English puts the size first: "ball of brass 20 mm" and "bolt M8x30" are its other way round.
_KIND_FIRST = re.compile(
    r"(?P<kind>(?:\w+ )?ball|rod|plate|bolt|nut|washer)(?P<made> of \w+(?: steel| iron)?)?,? "
    rf"(?P<size>M[\d.]+(?:x[\d.]+)?|{_LENGTH}(?: ?x ?{_LENGTH})*)(?P<more>.*)"
)


def typed_piece(text: str) -> str:
    """The English name of a piece that was typed in the language spoken.

    What is not understood stays as it was typed, and so does English. Commas in numbers are left
    to `ground.decimal_commas.typed`, but in a name of the table.

    Examples
    --------
    >>> from tripmargin.ground.languages import speaking
    >>> with speaking("de"):
    ...     typed_piece("Kugel 22 mm"), typed_piece("Rundstab 8 mm x 120 mm aus Messing, quer")
    ('22 mm ball', '8 mm x 120 mm rod of brass across')
    >>> with speaking("de"):
    ...     typed_piece("Schraube M8x30 längs"), typed_piece("22 mm ball"), typed_piece("Zange")
    ('M8x30 bolt along', '22 mm ball', 'Zange')
    """
    if language() == ENGLISH:
        return text
    left = _HYPHENS.sub(r" \1 ", " ".join(text.replace("×", "x").split()))
    for said, name in _table_names():
        if found := _as_word(said).search(_COMMA.sub(".", left)):
            behind = _in_english(left[found.end() :])
            return f"{name} {re.sub(r'^[, ]+', '', behind)}".strip()
    read = _in_english(left)
    if read == left:
        return text
    read = re.sub(r", +", " ", read)
    if found := _KIND_FIRST.fullmatch(read):
        return f"{found['size']} {found['kind']}{found['made'] or ''}{found['more']}".strip()
    return read


def _table_names() -> list[tuple[str, str]]:
    """Everyday pieces as the language says them, the longest first, and their names."""
    names = [(_COMMA.sub(".", said_piece(name)), name) for name in everyday_metal()]
    return sorted(names, key=lambda pair: -len(pair[0]))


def _in_english(text: str) -> str:
    """The text with each word that the language has for a piece in English."""
    for word, english in _words():
        text = _as_word(word).sub(english, text)
    return text


def _as_word(text: str) -> re.Pattern[str]:
    return re.compile(rf"(?<!\w){re.escape(text)}(?!\w)", re.IGNORECASE)


def _words() -> list[tuple[str, str]]:
    """Words of the language, the longest first, and the English for each."""
    several = {
        "ball": say_as("typed for a piece, parted by commas", "ball"),
        "steel ball": say_as("typed for a piece, parted by commas", "steel ball"),
        "stainless ball": say_as("typed for a piece, parted by commas", "stainless ball"),
        "aluminium ball": say_as("typed for a piece, parted by commas", "aluminium ball"),
        "brass ball": say_as("typed for a piece, parted by commas", "brass ball"),
        "rod": say_as("typed for a piece, parted by commas", "rod"),
        "plate": say_as("typed for a piece, parted by commas", "plate"),
        "bolt": say_as("typed for a piece, parted by commas", "bolt"),
        "nut": say_as("typed for a piece, parted by commas", "nut"),
        "washer": say_as("typed for a piece, parted by commas", "washer"),
        "bearing ball": say_as("typed for a piece, parted by commas", "bearing ball"),
        "stainless steel": say_as("typed for a piece, parted by commas", "stainless steel"),
        "aluminium": say_as("typed for a piece, parted by commas", "aluminium"),
        "of": say_as("typed for a piece, parted by commas", "of"),
        "x": say_as("typed for a piece, parted by commas", "x"),
        "across": say_as("typed for a piece, parted by commas", "across"),
        "along": say_as("typed for a piece, parted by commas", "along"),
        "upright": say_as("typed for a piece, parted by commas", "upright"),
    }
    return longest_first(
        several, [(say(message), name) for name, message in MATERIAL_WORDS.items()]
    )
