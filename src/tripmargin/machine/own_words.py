"""Which texts of a machine file people read: names, places, what to do, what a check proves."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

ASSUMED_NOISE = "2 % .. 10 % of the threshold"
"""The text of a noise that nobody gave: no file has it, yet it stands where a file's text would."""

_PROSE = ("description", "place", "proves", "leaves_open", "colour", "do", "text", "source")
_NAMED = ("parts", "states", "looks", "paths")
"""Tables under names of the person's own, which are shown as titles."""
_POSITIONS = ("closed_in", "open_in")
_WORD = re.compile(r"[a-z]{2}")


def own_words(tables: dict[str, Any]) -> Iterator[str]:
    """Every text that people read, in the file's order, some more than once.

    Names that are only designations, such as K1 or W12, are left out: they read the same in every
    language. So is the machine's own name.

    Parameters
    ----------
    tables : dict
        The machine file as TOML gives it.

    Examples
    --------
    >>> list(own_words({"circuit": {"parts": {"K1": {"place": "cab"}, "roll check": {}}}}))
    ['roll check', 'cab']
    """
    for text in _texts(tables):
        if _WORD.search(text):
            yield text


def _texts(tables: dict[str, Any]) -> Iterator[str]:
    yield from (pawl["name"] for pawl in tables.get("chain", {}).get("pawls", ()))
    for key in ("machine", "circuit", "checks"):
        yield from _below(tables.get(key, {}))


def _below(table: dict[str, Any]) -> Iterator[str]:
    for key, value in table.items():
        if isinstance(value, str):
            if key in _PROSE or key == "switch":
                yield value
        elif key == "switches":
            yield from (*value, *value.values())
        elif key in _POSITIONS:
            yield from value
        elif key == "steps":
            yield from _steps(value)
        elif isinstance(value, dict):
            if key in _NAMED:
                yield from value
            yield from _below(value)


def _steps(steps: list[Any]) -> Iterator[str]:
    """Operating steps themselves, not the names of them that a state is reached by."""
    for step in steps:
        if isinstance(step, dict):
            yield step["name"]
            yield from _below(step)
