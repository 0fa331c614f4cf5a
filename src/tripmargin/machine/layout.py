"""How a TOML text is laid out: where each value stands, and where another may be put in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from tripmargin.machine.copy_values import as_toml as _on_one_line
from tripmargin.machine.files import tables_of
from tripmargin.machine.positions import _first_key, _key, _resolved

if TYPE_CHECKING:
    from tree_sitter import Node

Path = tuple[str | int, ...]
Span = tuple[int, int]
_BARE = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(slots=True)
class Layout:
    """Where things stand in a TOML text, in bytes; an array's tables by their `name`.

    `values` and `pairs` are the spans of each value and of its whole "key = value"; `heads` says
    for each table with a heading where its next line goes; `inline` for each table in braces where
    its closing brace stands.
    """

    content: bytes
    values: dict[Path, Span] = field(default_factory=dict)
    pairs: dict[Path, Span] = field(default_factory=dict)
    heads: dict[Path, int] = field(default_factory=dict)
    inline: dict[Path, int] = field(default_factory=dict)

    @classmethod
    def of(cls, text: str) -> Layout:
        """The layout of a valid TOML text."""
        import tree_sitter
        import tree_sitter_toml

        content = text.encode()
        made = cls(content)
        parser = tree_sitter.Parser(tree_sitter.Language(tree_sitter_toml.language()))
        counts: dict[Path, int] = {}
        for node in parser.parse(content).root_node.children:
            if node.type == "pair":
                made._pair(node, ())
            elif node.type in ("table", "table_array_element"):
                made._table(node, counts)
        made._by_name(tables_of(text))
        return made

    def _table(self, node: Node, counts: dict[Path, int]) -> None:
        key = _resolved(_key(_first_key(node)), counts)
        if node.type == "table_array_element":
            counts[key] = counts.get(key, -1) + 1
            key = (*key, counts[key])
        last = next(child for child in node.children if child.type in ("]", "]]"))
        for child in node.children:
            if child.type == "pair":
                self._pair(child, key)
                last = child
        self.heads[key] = self._end_of_line(last.end_byte)

    def _pair(self, node: Node, above: Path) -> None:
        path = (*above, *_key(_first_key(node)))
        value = [child for child in node.children if child.type != "comment"][-1]
        self.pairs[path] = (node.start_byte, value.end_byte)
        self._value(value, path)

    def _value(self, node: Node, path: Path) -> None:
        self.values[path] = (node.start_byte, node.end_byte)
        if node.type == "inline_table":
            self.inline[path] = node.end_byte - 1
            for child in node.children:
                if child.type == "pair":
                    self._pair(child, path)
        elif node.type == "array":
            items = [c for c in node.children if c.type not in ("[", "]", ",", "comment")]
            for index, item in enumerate(items):
                self._value(item, (*path, index))

    def _end_of_line(self, at: int) -> int:
        found = self.content.find(b"\n", at)
        return len(self.content) if found < 0 else found + 1

    def _by_name(self, tables: dict[str, Any]) -> None:
        """Put names in the place of an array's numbers, where its tables have one."""

        def named(path: Path) -> Path:
            made: Path = ()
            found: Any = tables
            for part in path:
                try:
                    found = found[part]
                except (KeyError, IndexError, TypeError):
                    found = None
                name = found.get("name") if isinstance(found, dict) else None
                made = (*made, name if isinstance(part, int) and isinstance(name, str) else part)
            return made

        self.values = {named(path): place for path, place in self.values.items()}
        self.pairs = {named(path): place for path, place in self.pairs.items()}
        self.heads = {named(path): place for path, place in self.heads.items()}
        self.inline = {named(path): place for path, place in self.inline.items()}

    # --- ways to write a value -------------------------------------------------------------------

    def ways(self, path: tuple[str, ...], value: Any, name_at: int | None = None) -> Iterator[str]:
        """Texts that may say it, the most natural first; not all are sure to be right.

        `name_at` is the part of the path that is the name of an array's table.
        """
        if path in self.values:
            yield self._replaced(self.values[path], as_toml(value))
            return
        if isinstance(value, dict) and any(p[:-1] == path for p in self.pairs):
            yield self._line_by_line(path, value)
            return
        for length in range(len(path) - 1, 0, -1):
            if path[:length] in self.inline:
                yield self._into_braces(path[:length], path[length:], value)
                if name_at is not None and length < name_at:
                    inner: Any = value
                    for part in reversed(path[name_at + 1 :]):
                        inner = {part: inner}
                    item = [{"name": path[name_at], **inner}]
                    yield self._into_braces(path[:length], path[length:name_at], item)
        if path[:-1] in self.heads:
            yield self._into_table(path[:-1], path[-1:], value)
        if name_at is None:
            yield self._at_end(f"[{_dotted(path[:-1])}]", path[-1:], value)
        for length in range(len(path) - 2, 0, -1):
            if path[:length] in self.heads:
                yield self._into_table(path[:length], path[length:], value)
        if name_at is not None:  # this file does not have that table yet: its type sheet has
            heading = f"[[{_dotted(path[:name_at])}]]\nname = {as_toml(path[name_at])}"
            yield self._at_end(heading, path[name_at + 1 :], value)

    def _line_by_line(self, path: tuple[str, ...], value: dict[str, Any]) -> str:
        """A table written under a heading or with dotted keys: each line for itself."""
        text = self.content.decode()
        for pair in [p for p in self.pairs if p[:-1] == path and p[-1] not in value]:
            text = Layout.of(text)._without(pair)
        for key, item in value.items():
            now = Layout.of(text)
            place = (*path, key)
            if place in now.values:
                text = now._replaced(now.values[place], as_toml(item))
                continue
            head = next(n for n in range(len(path), -1, -1) if path[:n] in now.heads or not n)
            text = now._into_table(path[:head], place[head:], item)
        return text

    def _without(self, path: Path) -> str:
        start, end = self.pairs[path]
        start = self.content.rfind(b"\n", 0, start) + 1
        return self._replaced((start, self._end_of_line(end)), "")

    def _replaced(self, span: Span, new: str) -> str:
        """The text with another value; a comment behind it keeps its column where there is room."""
        start, end = span
        before, after = self.content[:start].decode(), self.content[end:].decode()
        longer = len(new) - len(self.content[start:end].decode())
        bare = after.lstrip(" ")
        room = len(after) - len(bare)
        if room > 1 and bare.startswith("#"):
            after = " " * max(room - longer, 1) + bare
        return before + new + after

    def _into_braces(self, table: Path, rest: tuple[str, ...], value: Any) -> str:
        start, at = self.values[table][0], self.inline[table]
        empty = not self.content[start + 1 : at].strip()
        line = f"{_dotted(rest)} = {as_toml(value)}"
        before = self.content[:at].rstrip(b" ").decode()
        return f"{before}{' ' if empty else ', '}{line} {self.content[at:].decode()}"

    def _into_table(self, table: Path, rest: tuple[str, ...], value: Any) -> str:
        at = self.heads.get(table, self._top())
        before, after = self.content[:at].decode(), self.content[at:].decode()
        line = f"{_dotted(rest)} = {as_toml(value)}{self._new_line}"
        return f"{self._closed(before)}{line}{after}"

    def _top(self) -> int:
        """Where a line goes that stands under no heading: behind the last such line."""
        ends = [self.pairs[p][1] for p in self.pairs if self.pairs[p][0] < self._first_heading()]
        return self._end_of_line(max(ends)) if ends else 0

    def _first_heading(self) -> int:
        return min(self.heads.values(), default=len(self.content))

    def _at_end(self, heading: str, rest: tuple[str, ...], value: Any) -> str:
        end = self._new_line
        lines = [*heading.split("\n"), f"{_dotted(rest)} = {as_toml(value)}"]
        before = self._closed(self.content.decode())
        return before + end + "".join(f"{line}{end}" for line in lines)

    @property
    def _new_line(self) -> str:
        return "\r\n" if b"\r\n" in self.content else "\n"

    def _closed(self, text: str) -> str:
        return text if not text or text.endswith("\n") else text + self._new_line


def as_toml(value: Any) -> str:
    """A value as a person writes it: the keys of a table in braces stand bare."""
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_dotted((k,))} = {as_toml(v)}" for k, v in value.items()) + " }"
    return _on_one_line(value)


def _dotted(path: tuple[str | int, ...]) -> str:
    """Keys as a heading writes them, with quotation marks where they need them."""
    return ".".join(p if _BARE.fullmatch(p) else _on_one_line(p) for p in map(str, path))
