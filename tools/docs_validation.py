"""docs/validation.md: what is checked against something outside the project, and against what.

The page is read off the tests: the sentence is a test's name, the source is its docstring or the
comment at the head of its body.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PAGE = "validation.md"
INTRODUCTION = """\
# What is checked, and against what

A result that a person relies on is checked against something made by another route: a standard, a
handbook's table, a worked example, open data, a reference library, or a plain calculation written
only for the test. Each row below is a test under `tests/outside/`; `make test` runs them all. What
stands above a table holds for all its rows. The source says *from memory* or *common practice, no
source* where that is so. Made by `make docs` from the tests themselves, so that this page cannot
promise a check that does not run.
"""


@dataclass(frozen=True)
class Check:
    """A test against an outside value: its file, its sentence, its source."""

    path: Path
    sentence: str
    source: str


def checks() -> list[Check]:
    """Return every test under tests/outside, in the order of files and lines."""
    return [
        check
        for path in sorted((ROOT / "tests" / "outside").rglob("test_*.py"))
        for check in _checks_of(path)
    ]


def _checks_of(path: Path) -> Iterator[Check]:
    text = path.read_text(encoding="utf-8")
    tree = ast.parse(text)
    of_module = _joined(ast.get_docstring(tree) or "")
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and node.name.startswith("test_"):
            sentence = node.name.removeprefix("test_").replace("_", " ")
            yield Check(path, sentence, _source(node, text.splitlines()) or of_module)


def _source(node: ast.FunctionDef, lines: list[str]) -> str:
    docstring = ast.get_docstring(node)
    if docstring:
        return _joined(docstring)
    above = _comments(reversed(lines[: _first_line(node) - 1]))
    head = lines[node.lineno : node.body[-1].end_lineno]
    start = next((i for i, line in enumerate(head) if line.strip().startswith("#")), len(head))
    return _joined(" ".join(_comments(head[start:]) or reversed(above)))


def _first_line(node: ast.FunctionDef) -> int:
    return min([node.lineno, *(each.lineno for each in node.decorator_list)])


def _comments(lines: object) -> list[str]:
    """Return the comment lines that a run of lines begins with, without their sign."""
    found: list[str] = []
    for line in lines:  # type: ignore[attr-defined]
        if not line.strip().startswith("#"):
            break
        found.append(line.strip().lstrip("# "))
    return found


def _joined(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip().replace("|", "\\|")


def text() -> str:
    parts = [INTRODUCTION]
    found = checks()
    for path in dict.fromkeys(check.path for check in found):
        of_file = _joined(ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or "")
        rows = [
            f"| {each.sentence} | {'as above' if each.source == of_file else each.source} |"
            for each in found
            if each.path == path
        ]
        title = path.stem.removeprefix("test_").replace("_", " ").capitalize()
        where = path.relative_to(ROOT).as_posix()
        parts.append(
            "\n".join(
                [
                    f"## {title}\n",
                    f"`{where}`: {of_file}\n",
                    "| check | against |",
                    "|---|---|",
                    *rows,
                    "",
                ]
            )
        )
    return "\n".join(parts)
