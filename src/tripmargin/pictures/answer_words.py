"""The answers of a look, as a chart on paper says them: a meter's ranges that touch as one."""

from __future__ import annotations

import re
from itertools import permutations

from tripmargin.faultfinding.suspects.found_words import word_said
from tripmargin.ground.languages import say

# Answers are kept in these words whatever is spoken, see `faultfinding.suspects.bands`.
_LESS, _MORE, _OVERLOAD, _ANY = "less than ", "more than ", " or overload", "any reading"
_RANGE = re.compile(
    rf"(?:{_LESS}|{_MORE}|(?P<low>.+) to )(?P<end>.+?)(?P<over>{_OVERLOAD})?",
)
_LIMIT = re.compile(r"(?P<value>[-\d.e+]+) (?P<unit>V|ohm|kohm|Mohm)")


def touching(words: list[str]) -> list[str]:
    """Ranges of a meter that touch as one range; other words as they are.

    >>> touching(["17 ohm to 1.3 kohm", "less than 17 ohm"])
    ['less than 1.3 kohm']
    >>> touching(["on", "dim"])
    ['on', 'dim']
    """
    merged = list(words)
    for one, other in permutations(words, 2):
        if one not in merged or other not in merged:
            continue
        lower, upper = _RANGE.fullmatch(one), _RANGE.fullmatch(other)
        if lower is None or upper is None or one.startswith(_MORE):
            continue
        begins = upper["low"] or (upper["end"] if other.startswith(_MORE) else None)
        if lower["end"] != begins:
            continue
        merged = [word for word in merged if word not in (one, other)]
        merged.append(_range(lower["low"], upper, other))
        return touching(merged)
    return merged


def _range(low: str | None, upper: re.Match[str], other: str) -> str:
    """The range from the lower end of one to the upper end of another that it touches."""
    if other.startswith(_MORE):
        return f"{_MORE}{low}{upper['over'] or ''}" if low else _ANY
    return f"{low} to {upper['end']}" if low else f"{_LESS}{upper['end']}"


def answer_words(word: str, subject: str = "") -> str:
    """An answer in the reader's words: a meter's range, or a word of a look at a subject.

    >>> answer_words("17 ohm to 1.3 kohm"), answer_words("can't tell")
    ('17 ohm to 1.3 kohm', "can't tell")
    """
    if word == _ANY:
        return say("any reading")
    found = _RANGE.fullmatch(word)
    if found is None or (end := _limit(found["end"])) is None:
        return word_said(word, subject)
    if word.startswith(_LESS):
        return say("less than {limit}", limit=end)
    if word.startswith(_MORE):
        if found["over"]:
            return say("more than {limit} or overload", limit=end)
        return say("more than {limit}", limit=end)
    return say("{low} to {high}", low=_limit(found["low"]) or found["low"], high=end)


def _limit(text: str) -> str | None:
    """A limit such as "1.3 kohm"; None for a text that is none."""
    found = _LIMIT.fullmatch(text)
    if found is None:
        return None
    value = float(found["value"])
    if found["unit"] == "V":
        return say("{value:.1f} V", value=value)
    if found["unit"] == "ohm":
        return say("{value:.3g} ohm", value=value)
    if found["unit"] == "kohm":
        return say("{value:.3g} kohm", value=value)
    return say("{value:.3g} Mohm", value=value)
