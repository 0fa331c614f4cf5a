"""The columns of a CSV file of entries."""

from __future__ import annotations

from collections.abc import Iterable

from tripmargin.records.kinds import KINDS, Field

FIXED = ("uid", "machine", "kind", "at", "received_at", "who", "corrects", "note", "source")
NEEDED = ("machine", "kind", "at")


def field_keys(occurring: Iterable[str]) -> list[str]:
    """Every field of every kind in the kinds' order, families by the keys that occur.

    Keys that this version does not know stand at the end: nothing is left out.
    """
    left = sorted(set(occurring))
    made: dict[str, None] = {}
    for kind in KINDS.values():
        for field in kind.fields:
            if not field.family:
                made[field.key] = None
            else:
                made |= dict.fromkeys(key for key in left if key.startswith(field.key))
    return list(made | dict.fromkeys(left))


def any_field(key: str) -> Field | None:
    """The field of a key in whichever kind has it."""
    return next((field for kind in KINDS.values() if (field := kind.field_of(key))), None)
