"""How large the copy of a machine may be that comes from a file: no more than an upload's is."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from tripmargin.ground.errors import Problem, shortened
from tripmargin.ground.languages import say
from tripmargin.machine.files import DEEPEST, LARGEST, Sheet, merged, tables_of
from tripmargin.records.keeping.sizes import too_deep, too_long, too_many

_KEYS = ("format", "file", "name", "sheets", "settings", "changed", "digest")
MOST_SETTINGS = 2000
"""Values of a what-if, all tables of it together: a file gives some 1,500 at most."""
LONGEST_FILE_NAME = 100
"""Letters of a file's name; an upload's is cut to 60 and an ending."""


def copy_troubles(copy: Any) -> list[Problem]:
    """What no upload would have brought into a copy; empty where there is nothing.

    To be looked at before the machine is read from it: a text can be made to take long to read.

    Parameters
    ----------
    copy : object
        As JSON gave it; whether a machine comes of it is for `machine_from_copy` to say.
    """
    if not isinstance(copy, Mapping):
        return []  # reading the machine says so
    found = [
        _problem("copy", shortened(str(key)), say("no such name in a copy"), ", ".join(_KEYS))
        for key in list(copy)[: len(_KEYS) + 1]
        if key not in _KEYS
    ]
    found += _name_troubles("file", copy.get("file", "machine"))
    settings = {"settings": copy.get("settings"), "changed": copy.get("changed")}
    if too_deep(settings) or _count(settings) > MOST_SETTINGS:
        allowed = say("at most {most} values", most=MOST_SETTINGS)
        found.append(_problem("settings", "", say("more settings than a machine has"), allowed))
    else:
        found += too_long(settings, "settings")
    sheets = copy.get("sheets")
    if found or not isinstance(sheets, list):
        return found
    if len(sheets) > DEEPEST:
        return [
            _problem(
                "sheets",
                say("{count} of them", count=len(sheets)),
                say("too many"),
                say("at most {most}", most=DEEPEST),
            )
        ]
    read = []
    for sheet in sheets:
        if not isinstance(sheet, Mapping) or not isinstance(sheet.get("text"), str):
            return []
        name, text = sheet.get("name"), sheet["text"]
        found += _name_troubles("name", name) or text_troubles(text, str(name))
        if not found:
            read.append(Sheet(str(name), b"", tables_of(text)))
    return found or too_many(merged(tuple(read)), str(copy.get("file", "")))


@lru_cache(maxsize=16)
def _text_troubles(text: str, name: str) -> tuple[Problem, ...]:
    # Remembered: every version of every machine of a type brings the same type sheet.
    size = len(text.encode("utf-8", "surrogatepass"))
    if size > LARGEST:
        return (
            _problem(
                name,
                say("{size:.1f} MB", size=size / 1e6),
                say("too large"),
                say("a text of at most 1 MB"),
            ),
        )
    try:
        tables = tables_of(text.removeprefix("\ufeff"))
    except (ValueError, RecursionError) as error:
        said = shortened(str(error).partition("\n")[0], 200) or say("nested too deeply")
        return (
            _problem(
                name, "", say("not TOML: {said}", said=said), say("a machine file, or a type sheet")
            ),
        )
    return (*too_long(tables, name), *too_many(tables, name))


def text_troubles(text: str, name: str) -> list[Problem]:
    """What keeps a text from being a machine file or a type sheet as an upload takes it."""
    return list(_text_troubles(text, name))


def _name_troubles(field: str, name: Any) -> list[Problem]:
    """A name with a folder in it would lead to a file of the server."""
    if isinstance(name, str) and len(name) <= LONGEST_FILE_NAME and not set(name) & set("/\\\0"):
        return []
    allowed = say(
        "the name of a file without its folder, at most {most} letters",
        most=LONGEST_FILE_NAME,
    )
    return [_problem(field, shortened(str(name)), say("not the name of a file"), allowed)]


def _count(value: Any) -> int:
    count, left = 0, [value]
    while left and count <= MOST_SETTINGS:
        held = left.pop()
        ones = list(held.values() if isinstance(held, Mapping) else held)
        count += len(ones)
        left += [one for one in ones if isinstance(one, Mapping | list)]
    return count


def _problem(field: str, value: str, problem: str, allowed: str) -> Problem:
    return Problem("", None, field, value, problem, allowed)
