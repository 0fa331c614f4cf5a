"""Fields of a problem's tables, each read with an error that says what would do."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from tripmargin.faultfinding.deciding.troubles import ProblemError
from tripmargin.ground.errors import nearest
from tripmargin.ground.languages import say


def table(value: Any, where: str, key: str = "") -> Mapping[str, Any]:
    """Return a table of keys and values, or the one that stands in a table under a key."""
    if key:
        value, where = value.get(key), joined(where, key)
    if not isinstance(value, Mapping):
        raise ProblemError(where, value, _wrong(value), say("a table of keys and values"))
    return value


def listed(owner: Mapping[str, Any], where: str, key: str, *, needed: bool = True) -> list[Any]:
    """Return the list that stands under a key; an empty one where it is absent and not needed."""
    value = owner.get(key)
    if value is None and not needed:
        return []
    if not isinstance(value, list):
        raise ProblemError(joined(where, key), value, _wrong(value), "a list")
    return value


def tables(owner: Mapping[str, Any], key: str, *, needed: bool = True) -> list[Mapping[str, Any]]:
    """Return the list of tables that stands under a key."""
    entries = listed(owner, "", key, needed=needed)
    return [table(entry, f"{key}[{number}]") for number, entry in enumerate(entries)]


def ids(where: str, entries: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """Return the names of the entries of a list of tables."""
    return names(f"{where}[].id", [entry.get("id") for entry in entries], some=False)


def names(where: str, values: Sequence[Any], *, some: bool = True) -> tuple[str, ...]:
    """Names that are texts, free of the sign that joins pairs, each once."""
    for name in values:
        if not isinstance(name, str) or not name or "+" in name:
            raise ProblemError(where, name, say("not a name"), say("a text without '+'"))
        if values.count(name) > 1:
            raise ProblemError(where, name, say("named twice"), say("each name once"))
    if some and not values:
        raise ProblemError(where, None, say("empty"), say("at least one name"))
    return tuple(values)


def one_of(where: str, value: Any, known: Sequence[str]) -> int:
    """Return the place of a name among the known ones."""
    if value not in known:
        near = nearest(value, known) if isinstance(value, str) else None
        hint = say("Did you mean {near!r}?", near=near) if near else ""
        raise ProblemError(where, value, say("not known"), ", ".join(known), hint)
    return list(known).index(value)


def number(where: str, value: Any) -> float:
    """Return a number that is finite and not negative."""
    good = isinstance(value, (int, float)) and not isinstance(value, bool)
    if not good or not math.isfinite(value) or value < 0:
        raise ProblemError(
            where, value, say("not such a number"), say("a finite number, 0 or more")
        )
    return float(value)


def joined(where: str, key: str) -> str:
    """Return the place of a key in a table.

    >>> joined("", "verify"), joined("checks[0]", "p")
    ('verify', 'checks[0].p')
    """
    return f"{where}.{key}" if where else key


def _wrong(value: Any) -> str:
    return say("missing") if value is None else say("of the wrong kind")
