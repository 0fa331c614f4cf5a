"""How large a machine of the records may be: a page of one must not keep the others waiting."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from tripmargin.ground.errors import Problem, shortened
from tripmargin.machine import Machine

MOST: dict[str, int] = {
    "feed.cut_lengths": 60,
    "chain.pawls": 8,
    "sensor.assemblies": 12,
    "circuit.parts": 120,
    "circuit.steps": 100,
    "circuit.faults": 60,
    "circuit.test_points": 60,
    "checks.states": 60,
    "checks.looks": 240,
    "checks.paths": 30,
    "checks.repairs": 120,
}
"""By field: about three times what the largest demo machine has, and more where little hangs on it.

Measured on two slow cores: the proof of a demo machine takes 3.5 s, with 200 cut lengths 24 s; with
1000 it was not done after 45 s. With 300 pawls it takes 29 s and 0.8 GB, with 1000 of them 2.2 GB.
"""


LONGEST_NAME = 100
"""Letters of a machine's name: it stands at the top of every page."""
LONGEST = 1000
"""Letters of one name or text; the longest of the demo machines has some 200."""


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
                file, None, "machine.name", shortened(machine.name),
                f"{len(machine.name.strip())} letters", f"at most {LONGEST_NAME}",
                "People have to read it on a phone.",
            )
        )  # fmt: skip
    for field, most in MOST.items():
        section, _, last = field.partition(".")
        there: Any = getattr(getattr(machine, section), last, None) or ()
        if len(there) > most:
            found.append(
                Problem(
                    file, None, field, f"{len(there)} of them", "too many for a server that others"
                    " use", f"at most {most}",
                    "Leave out what no answer hangs on; the command line takes them all.",
                )
            )  # fmt: skip
    return found


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
            file, None, shortened(".".join(path)), shortened(text), f"{len(text)} letters",
            f"at most {LONGEST}", "Write it shorter.",
        )
        for path, text in _texts(tables, ())
        if len(text) > LONGEST
    ]  # fmt: skip


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
