"""List what looks like words for people in the code and did not go through a catalogue.

A guess by the look of it: a text of two words or more, outside docstrings, comparisons, keys and
calls that only the program reads. `python tools/unsaid.py [room]` lists, room by room.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

SOURCE = Path(__file__).resolve().parents[1] / "src" / "tripmargin"
SAID_BY = {"say", "say_many", "say_as", "later", "Phrase", "OwnWords"}
# Calls whose texts the program reads, or that only a programmer meets.
READ_BY_THE_PROGRAM = {
    "compile", "match", "search", "sub", "fullmatch", "findall", "split", "getattr", "setattr",
    "open", "import_module", "execute", "LookupError", "AssertionError", "KeyError", "TypeError",
    "RuntimeError", "NotImplementedError", "startswith", "endswith", "removeprefix", "strftime",
    "option", "argument", "command", "group", "Later", "encode", "replace",
}  # fmt: skip
_WORDS = re.compile(r"[A-Za-z]{2,}[,;:]? [a-z(\"']|[A-Za-z]{3,}\. [A-Z]")


def unsaid(path: Path) -> Iterator[tuple[int, str]]:
    """Line and text of each."""
    tree = ast.parse(path.read_text("utf-8"))
    for parent in ast.walk(tree):
        for child in ast.iter_child_nodes(parent):
            child.parent = parent  # type: ignore[attr-defined]
    for node in ast.walk(tree):
        text = _text(node)
        if text and _WORDS.search(text) and not _is_read_by_the_program(node):
            yield node.lineno, text  # type: ignore[attr-defined]


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.JoinedStr):
        return "".join(
            each.value if isinstance(each, ast.Constant) else "X" for each in node.values
        )
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return "" if isinstance(node.parent, ast.JoinedStr) else node.value  # type: ignore[attr-defined]
    return ""


def _is_read_by_the_program(node: ast.AST) -> bool:
    above = node.parent  # type: ignore[attr-defined]
    if isinstance(above, (ast.Expr, ast.Compare, ast.Subscript, ast.MatchValue)):
        return True  # docstring, comparison, key
    if isinstance(above, ast.Dict) and node in above.keys:
        return True
    while not isinstance(above, (ast.stmt, ast.Module)):
        if isinstance(above, ast.Call):
            called = getattr(above.func, "attr", getattr(above.func, "id", ""))
            if called in SAID_BY or called in READ_BY_THE_PROGRAM:
                return True
        if isinstance(above, ast.FormattedValue):
            return False
        above = above.parent  # type: ignore[attr-defined]
    if isinstance(above, ast.Assign):
        names = [getattr(target, "id", "") for target in above.targets]
        return any(name in ("__all__", "__slots__") for name in names)
    return isinstance(above, (ast.Assert, ast.ClassDef))


def main() -> None:
    """Print them, and how many there are in each room."""
    rooms = sys.argv[1:] or sorted(path.name for path in SOURCE.iterdir() if path.is_dir())
    for room in rooms:
        found = [
            (path.relative_to(SOURCE), line, text)
            for path in sorted((SOURCE / room).rglob("*.py"))
            for line, text in unsaid(path)
        ]
        if len(sys.argv) > 1:
            for path, line, text in found:
                print(f"{path}:{line}: {text}")
        print(f"{room}: {len(found)}")


if __name__ == "__main__":
    main()
