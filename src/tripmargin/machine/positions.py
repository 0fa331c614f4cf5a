"""Where each key of a TOML text stands, for messages that a person can act on.

Read only when there is something to report: the standard library's reader gives no positions.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tree_sitter import Node

Path = tuple[str | int, ...]


def positions(text: bytes) -> dict[Path, int]:
    r"""The line (from 1) of every key, table and array item in a valid TOML document.

    Paths are keys and array numbers from 0, such as ("chain", "pawls", 0, "clearance").

    >>> positions(b'[feed]\nknives = 10\n')[("feed", "knives")]
    2
    """
    import tree_sitter
    import tree_sitter_toml

    parser = tree_sitter.Parser(tree_sitter.Language(tree_sitter_toml.language()))
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    for node in parser.parse(text).root_node.children:
        if node.type == "pair":
            _pair(node, (), found)
        elif node.type in ("table", "table_array_element"):
            key = _resolved(_key(_first_key(node)), counts)
            if node.type == "table_array_element":
                found.setdefault(key, _line(node))
                counts[key] = counts.get(key, -1) + 1
                key = (*key, counts[key])
            found.setdefault(key, _line(node))
            for child in node.children:
                if child.type == "pair":
                    _pair(child, key, found)
    return found


def _resolved(key: Path, counts: dict[Path, int]) -> Path:
    """The key with the running number of each array of tables above it put in."""
    path: Path = ()
    for index, part in enumerate(key):
        path = (*path, part)
        if path in counts and index < len(key) - 1:
            path = (*path, counts[path])
    return path


def _first_key(node: Node) -> Node:
    return next(c for c in node.children if c.type in ("bare_key", "quoted_key", "dotted_key"))


def _key(node: Node) -> Path:
    if node.type == "dotted_key":
        return tuple(part for child in node.children if child.type != "." for part in _key(child))
    text = (node.text or b"").decode("utf-8", "replace")
    return (text.strip("\"'"),)


def _pair(node: Node, above: Path, found: dict[Path, int]) -> None:
    path = (*above, *_key(_first_key(node)))
    found.setdefault(path, _line(node))
    value = [child for child in node.children if child.type != "comment"][-1]
    _value(value, path, found)


def _value(node: Node, path: Path, found: dict[Path, int]) -> None:
    if node.type == "inline_table":
        for child in node.children:
            if child.type == "pair":
                _pair(child, path, found)
    elif node.type == "array":
        items = [c for c in node.children if c.type not in ("[", "]", ",", "comment")]
        for index, item in enumerate(items):
            found.setdefault((*path, index), _line(item))
            _value(item, (*path, index), found)


def _line(node: Node) -> int:
    return int(node.start_point[0]) + 1
