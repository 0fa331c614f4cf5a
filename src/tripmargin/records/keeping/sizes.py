"""How large a machine of the records may be: a page of one must not keep the others waiting."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from tripmargin.ground.errors import Problem, shortened
from tripmargin.ground.languages import say
from tripmargin.machine import Machine

MOST: dict[str, int] = {
    "feed.cut_lengths": 60,
    "chain.pawls": 8,
    "sensor.assemblies": 12,
    "circuit.parts": 80,
    "circuit.steps": 60,
    "circuit.faults": 60,
    "circuit.test_points": 10,
    "checks.states": 24,
    "checks.looks": 140,
    "checks.paths": 30,
    "checks.repairs": 120,
}
"""By field: more than the largest demo machine has, and more still where little hangs on it.

Measured on two slow cores: the proof of a demo machine takes 3.5 s, with 200 cut lengths 24 s; with
1000 it was not done after 45 s. With 300 pawls it takes 29 s and 0.8 GB, with 1000 of them 2.2 GB.

What is wrong with a machine takes 12 s of one core the first time with the largest of the demo
machines' circuits (48 parts, 14 states, 78 looks, 3 test points), 27 s with 64, 20, 100 and 6,
56 s with 72, 24, 120 and 10. With 120, 60, 240 and 60, which were let in once, it took 13 minutes
beside other work, and 0.8 GB. Whatever a file thinks of besides, web/whats_wrong/keeper.py gives up
after two minutes of work; meanwhile other pages are answered as before.
"""


LONGEST_NAME = 100
"""Letters of a machine's name: it stands at the top of every page."""
LONGEST = 1000
"""Letters of one name or text; the longest of the demo machines has some 200."""
LONGEST_LIST = 120
"""Values of one list, such as the steps that a machine was worked through; the demo machines have
at most 24."""
LONGEST_KEY = LONGEST + 50
"""Letters of a value's key in an entry: its family, and a name that the machine's file gives."""
DEEPEST = 32
"""Objects and lists within each other in what a file brings; a copy of a machine has some 8."""
LARGEST_LOG_FILE = 10_000_000
"""Bytes of a file of entries that a browser sends; the command line takes larger ones.

Some 50,000 entries as CSV. On two slow cores they are looked through in 7 to 17 s, and written in
10 s, in which others on SQLite wait with what they write; they give up after 30 s.
"""


def too_deep(value: Any) -> bool:
    """Whether objects and lists lie within each other more than `DEEPEST` deep.

    >>> held: list = []
    >>> for _ in range(DEEPEST):
    ...     held = [held]
    >>> too_deep(held[0]), too_deep(held)
    (False, True)
    """
    level = [value]
    for _ in range(DEEPEST):
        level = [
            one
            for held in level
            if isinstance(held, dict | list)
            for one in (held.values() if isinstance(held, dict) else held)
            if isinstance(one, dict | list)
        ]
        if not level:
            return False
    return True


def too_large(machine: Machine, file: str) -> list[Problem]:
    """What a machine has too many of to be proved while others wait; empty where nothing is.

    Parameters
    ----------
    machine : Machine
    file : str
        The file's name, for the problems.
    """
    found = []
    if len(machine.name.strip()) > LONGEST_NAME:
        found.append(
            Problem(
                file,
                None,
                "machine.name",
                shortened(machine.name),
                say("{count} letters", count=len(machine.name.strip())),
                say("at most {most}", most=LONGEST_NAME),
                say("People have to read it on a phone."),
            )
        )
    for field in MOST:
        section, _, last = field.partition(".")
        there: Any = getattr(getattr(machine, section), last, None) or ()
        found += _too_many(field, there, file)
    return found


def too_many(tables: Mapping[str, Any], file: str) -> list[Problem]:
    """As `too_large`, of the tables of a file that are no machine yet, or no whole one."""
    found = []
    for field in MOST:
        section, _, last = field.partition(".")
        held = tables.get(section)
        there = held.get(last) if isinstance(held, Mapping) else None
        if isinstance(there, Mapping | list):
            found += _too_many(field, there, file)
    return found


def _too_many(field: str, there: Any, file: str) -> list[Problem]:
    if len(there) <= MOST[field]:
        return []
    return [
        Problem(
            file,
            None,
            field,
            say("{count} of them", count=len(there)),
            say("too many for a server that others use"),
            say("at most {most}", most=MOST[field]),
            say("Leave out what no answer hangs on; the command line takes them all."),
        )
    ]


def too_long(tables: Mapping[str, Any], file: str) -> list[Problem]:
    """Names and texts that no page has room for; empty where there are none.

    Parameters
    ----------
    tables : mapping
        The tables of a machine file, as they are written.
    file : str
        The file's name, for the problems.
    """
    return [
        Problem(
            file,
            None,
            shortened(".".join(path)),
            shortened(text),
            say("{count} letters", count=len(text)),
            say("at most {most}", most=LONGEST),
            say("Write it shorter."),
        )
        for path, text in _texts(tables, ())
        if len(text) > LONGEST
    ] + [
        Problem(
            file,
            None,
            shortened(".".join(path)),
            say("{count} of them", count=count),
            say("too long a list"),
            say("at most {most}", most=LONGEST_LIST),
            say("Leave out what no answer hangs on."),
        )
        for path, count in _lists(tables, ())
        if count > LONGEST_LIST
    ]


def _lists(value: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], int]]:
    """How many values each list has, with its path."""
    if isinstance(value, Mapping):
        for key, one in value.items():
            yield from _lists(one, (*path, str(key)))
    elif isinstance(value, list):
        yield path, len(value)
        for one in value:
            yield from _lists(one, path)


def _texts(value: Any, path: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every key and every text, with its path."""
    if isinstance(value, str):
        yield path, value
    elif isinstance(value, Mapping):
        for key, one in value.items():
            yield path, key
            yield from _texts(one, (*path, key))
    elif isinstance(value, list):
        for one in value:
            yield from _texts(one, path)
