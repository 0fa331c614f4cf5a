"""Machine files on disk: reading one and its type sheets, and merging them key by key."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from tripmargin.ground.errors import shortened
from tripmargin.ground.languages import later, say
from tripmargin.ground.os_words import os_words
from tripmargin.machine.file_errors import extends_error, file_error, toml_error

LARGEST = 1_000_000  # bytes; a machine file is a few kilobytes
DEEPEST = 8  # type sheets in a row
MOST_VALUES = 10_000  # keys and tables of one file; the demo machines have some 1,500
_SIZE = later("a text file of at most 1 MB")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One file as read: its shown name, its bytes and its tables."""

    name: str
    content: bytes
    tables: dict[str, Any]


def read_sheets(path: Path) -> tuple[Sheet, ...]:
    """The file and the type sheets it extends, the file itself first.

    Raises
    ------
    MachineFileError
        If a file is missing, too large, not text, not TOML, or extends itself.
    """
    sheets: list[Sheet] = []
    seen: list[Path] = []
    current: Path | None = path
    while current is not None:
        resolved = _resolved(current, sheets)
        if resolved in seen:
            raise extends_error(
                sheets[-1],
                say("extends goes round in a circle"),
                say("Take one of the extends lines out."),
                [p.name for p in seen] + [current.name],
            )
        if len(seen) == DEEPEST:
            raise extends_error(
                sheets[-1],
                say("more than {most} files in a row", most=DEEPEST),
                say("Merge some of the type sheets."),
                [],
            )
        if sheets and not _is_file(current):
            raise extends_error(
                sheets[-1],
                say("no such type sheet: {path}", path=shortened(str(current), 200)),
                say("Put the type sheet beside the machine file, or mend its name."),
                [],
            )
        seen.append(resolved)
        sheets.append(_read(current))
        above = sheets[-1].tables.get("extends")
        if above is not None and not isinstance(above, str):
            raise extends_error(
                sheets[-1], say("not a text"), say("Write the type sheet's file name."), []
            )
        current = current.parent / above if above else None
    return tuple(sheets)


def _resolved(path: Path, sheets: list[Sheet]) -> Path:
    """Where the file really lies; a name that no file can have is refused."""
    try:
        return path.resolve()
    except (OSError, RuntimeError, ValueError) as error:
        if not sheets:
            raise file_error(
                path.name, say("no file can have this name"), say("a machine file")
            ) from error
        raise extends_error(
            sheets[-1],
            say("no file can have this name"),
            say("Write the type sheet's file name."),
            [],
        ) from error


def merged(sheets: tuple[Sheet, ...]) -> dict[str, Any]:
    """The tables of all sheets, the first file's keys over the others'.

    Tables merge key by key, arrays of named tables table by table; any other value replaces, and
    so does a suppression of another kind, which takes none of the other's values.
    """
    tables: dict[str, Any] = {}
    for sheet in reversed(sheets):
        tables = _over(tables, sheet.tables)
    tables.pop("extends", None)
    return tables


def tables_of(text: str) -> dict[str, Any]:
    """The tables of a TOML text, where it is no more than a machine file can be.

    A text that was made to take long is refused before it does: the standard library's reader
    takes a time that grows with the square of a dotted key's parts, and with the depth of all.

    Raises
    ------
    ValueError, RecursionError
        If it is not TOML, holds more than a machine file does, or is nested too deeply.
    """
    if _DEEP_KEY.search(text):
        raise ValueError(say("a key of more than 30 parts"))
    if text.count("=") + text.count("[") > 2 * MOST_VALUES:
        raise ValueError(_too_many())
    tables = tomllib.loads(text)
    left: list[Any] = [tables]
    count = 0
    while left:
        found = left.pop()
        ones = found.values() if isinstance(found, dict) else found
        within = [one for one in ones if isinstance(one, dict | list)]
        # The numbers of a list are not counted: its own field says how many it may have.
        count += len(found) if isinstance(found, dict) else len(within)
        if count > MOST_VALUES:
            raise ValueError(_too_many())
        left += within
    return tables


def _too_many() -> str:
    return say("more than {most} keys and tables: no machine file has so many", most=MOST_VALUES)


_PART = r"""(?:"[^"\n]*+"|'[^'\n]*+'|[\w-]++)[ \t]*+"""
_DEEP_KEY = re.compile(rf"""(?<![\w."'-])(?:{_PART}\.[ \t]*+){{30}}""")


def line_of(sheets: tuple[Sheet, ...], path: tuple[str | int, ...]) -> tuple[str, int | None]:
    """The file and line that give a key: the first file that has it, else its nearest table."""
    known = [(s.name, _lines(s.content)) for s in sheets]
    path = tuple(map(str, path))
    for length in range(len(path), 0, -1):
        for name, lines in known:
            if path[:length] in lines:
                return name, lines[path[:length]]
    return sheets[0].name, None


@lru_cache(maxsize=16)
def _lines(content: bytes) -> dict[tuple[str | int, ...], int]:
    """Where each key of a file stands; remembered, for a file may have a thousand problems."""
    from tripmargin.machine.positions import positions

    return _as_texts(_named(positions(content), tables_of(content.decode())))


def _as_texts(lines: dict[tuple[str | int, ...], int]) -> dict[tuple[str | int, ...], int]:
    """The same lines with numbers as texts: a key may be a number too, such as terminal 86."""
    return {tuple(map(str, path)): line for path, line in lines.items()}


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name too long, a folder closed to us
        return False


def _read(path: Path) -> Sheet:
    name = path.name or str(path)
    if path.exists() and not path.is_file():
        raise file_error(
            name,
            say("not a file") if not path.is_dir() else say("a folder, not a file"),
            say("a machine file, or the name of a demo machine"),
        )
    try:
        size = path.stat().st_size
        if size > LARGEST:
            raise file_error(
                name,
                say("{size:.1f} MB is too large for a machine file", size=size / 1e6),
                say(_SIZE),
                say("Is this the right file?"),
            )
        content = path.read_bytes()
    except OSError as error:
        raise file_error(
            name,
            say("cannot be read: {reason}", reason=os_words(error)),
            say("a machine file, or the name of a demo machine"),
            say("Looked at: {path}", path=path),
        ) from error
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise file_error(
            name,
            say("not a text file in UTF-8"),
            say(_SIZE),
            say("Save it as UTF-8 text. Is this the right file?"),
            line,
        ) from error
    if "\0" in text:
        raise file_error(
            name,
            say("not a text file: it holds zero bytes"),
            say(_SIZE),
            say("Is this the right file?"),
        )
    try:
        tables = tables_of(text)
    except (ValueError, RecursionError) as error:  # ValueError too: a whole number of 5000 digits
        raise toml_error(name, text, error) from error
    return Sheet(name, text.encode(), tables)


def _named_tables(value: Any) -> bool:
    return (
        isinstance(value, list)
        and bool(value)
        and all(isinstance(item, dict) and isinstance(item.get("name"), str) for item in value)
    )


def _twice(tables: list[dict[str, Any]]) -> bool:
    """Whether a name stands twice; then nothing can be matched by it, and checking will say so."""
    return len({item["name"] for item in tables}) < len(tables)


def _over(below: Any, above: Any) -> Any:
    if isinstance(below, dict) and isinstance(above, dict):
        made = dict(below)
        for key, value in above.items():
            fresh = key not in below or (key == "suppression" and _other_kind(below[key], value))
            made[key] = value if fresh else _over(below[key], value)
        return made
    if _named_tables(below) and _named_tables(above) and not _twice(above):
        made_tables = {item["name"]: item for item in below}
        for item in above:
            made_tables[item["name"]] = _over(made_tables.get(item["name"], {}), item)
        return list(made_tables.values())
    return above


def _other_kind(below: Any, above: Any) -> bool:
    """Whether two tables say that different things are fitted."""
    kinds = [table.get("kind") if isinstance(table, dict) else None for table in (below, above)]
    return None not in kinds and kinds[0] != kinds[1]


def _named(
    lines: dict[tuple[str | int, ...], int], tables: dict[str, Any]
) -> dict[tuple[str | int, ...], int]:
    """The same lines with an array's number replaced by its table's name where it has one."""
    made: dict[tuple[str | int, ...], int] = {}
    for path, line in lines.items():
        named: tuple[str | int, ...] = ()
        value: Any = tables
        for part in path:
            try:
                value = value[part]
            except (KeyError, IndexError, TypeError):
                value = None
            has_name = isinstance(part, int) and isinstance(value, dict) and "name" in value
            named = (*named, str(value["name"]) if has_name else part)
        made[named] = line
    return made
