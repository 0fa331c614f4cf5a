"""What the scripts of a page say, handed over to it in the language spoken.

A page has no catalogue and asks no server, so the translations of what its scripts say are written
into it as data: `script/say.js` reads them.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from functools import cache
from typing import Any

from tripmargin.ground.languages.catalogue import ENGLISH, SPOKEN, catalogue_of, decimal_sign

_TEXT = r'"((?:[^"\\]|\\.)*)"'
_CALL = re.compile(rf"\b(say|sayAs|sayMany)\(\s*{_TEXT}(?:\s*,\s*{_TEXT})?")
_WITHIN = "\x04"  # as the catalogues have it between a context and its message
_COUNTS = 200  # whose plural forms are handed over; languages' rules go on by hundreds

Message = tuple[str, str, str]
"""Name of the call, and its one or two texts."""


def messages_in(script: str) -> tuple[Message, ...]:
    """What a script says: every literal inside a call of `say`, `sayAs` or `sayMany`.

    >>> messages_in('say("Begin"); sayAs("gap", "half"); sayMany("{count} gap", "{count} gaps", n)')
    (('say', 'Begin', ''), ('sayAs', 'gap', 'half'), ('sayMany', '{count} gap', '{count} gaps'))
    """
    return tuple(dict.fromkeys(_messages(script)))


def _messages(script: str) -> Iterator[Message]:
    for name, first, second in _CALL.findall(script):
        yield name, _plain(first), "" if name == "say" else _plain(second)


def _plain(literal: str) -> str:
    return str(json.loads(f'"{literal}"'))


_messages_in = cache(messages_in)


def script_words(script: str) -> dict[str, Any] | None:
    """The translations of what a script says; None in English.

    Returns
    -------
    dict or None
        JSON-ready. `sign` before decimals; `words` by message, of those alone that differ: with a
        context or a plural, both texts with U+0004 between them, and of a plural all its forms;
        `plurals` has the form of each count from 0.
    """
    if SPOKEN.get() == ENGLISH:
        return None
    catalogue = catalogue_of(SPOKEN.get())
    words: dict[str, str | list[str]] = {}
    rule: Callable[[int], int] = getattr(catalogue, "plural", _as_in_english)
    several = [rule(count) for count in range(_COUNTS)]
    for name, first, second in _messages_in(script):
        key = f"{first}{_WITHIN}{second}"
        if name == "say":
            words[first] = catalogue.gettext(first)
        elif name == "sayAs":
            words[key] = catalogue.pgettext(first, second)
        else:
            counts = [several.index(form) for form in range(max(several) + 1)]
            words[key] = [catalogue.ngettext(first, second, count) for count in counts]
    differ = {key: said for key, said in words.items() if said != key.rpartition(_WITHIN)[2]}
    return {"sign": decimal_sign(), "plurals": "".join(map(str, several)), "words": differ}


def _as_in_english(count: int) -> int:
    return int(count != 1)
