"""So many of a thing, as people say it."""

from __future__ import annotations

from tripmargin.ground.languages import say_many


def many(count: int, thing: str) -> str:
    """A count with its noun; a thing without words here gets an English plural.

    >>> many(1, "false trip"), many(3, "false trip")
    ('1 false trip', '3 false trips')
    """
    if thing == "check":
        return say_many("1 check", "{count} checks", count)
    if thing == "test":
        return say_many("1 test", "{count} tests", count)
    if thing == "trip":
        return say_many("1 trip", "{count} trips", count)
    if thing == "false trip":
        return say_many("1 false trip", "{count} false trips", count)
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"
